"""What can be said of a requirement: four answers, of which one lets a repair close."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

WAIT = "wait a moment"
"""What settles a verdict that only waits for a file to be read."""


class Outcome(StrEnum):
    """Met closes; not met needs rework or a waiver; the others go to a person."""

    MET = "met"
    NOT_MET = "not met"
    INCOMPLETE = "incomplete"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True)
class Verdict:
    """A rule's answer on one requirement.

    Parameters
    ----------
    reason : str
        Why, in the trade's words, with the numbers.
    settle : str
        What would settle it; empty when met.
    numbers : mapping
        The figures the verdict rests on, names with units.
    evidence : tuple of str
        Ids of the files that were used.
    """

    outcome: Outcome
    reason: str
    settle: str = ""
    numbers: Mapping[str, float | str] = field(default_factory=dict)
    evidence: tuple[str, ...] = ()

    @property
    def pending(self) -> bool:
        """Whether only time is missing, nothing from anybody."""
        return self.settle == WAIT


def met(reason: str, **given: object) -> Verdict:
    """Return 'met' for this reason."""
    return _verdict(Outcome.MET, reason, "", given)


def not_met(reason: str, settle: str, **given: object) -> Verdict:
    """Return 'not met': the facts are there and they are against it."""
    return _verdict(Outcome.NOT_MET, reason, settle, given)


def incomplete(reason: str, settle: str, **given: object) -> Verdict:
    """Return 'incomplete': something has not been handed in."""
    return _verdict(Outcome.INCOMPLETE, reason, settle, given)


def cannot_tell(reason: str, settle: str, **given: object) -> Verdict:
    """Return 'cannot tell': what was handed in does not decide it."""
    return _verdict(Outcome.CANNOT_TELL, reason, settle, given)


def _verdict(outcome: Outcome, reason: str, settle: str, given: dict[str, object]) -> Verdict:
    evidence = given.pop("evidence", ())
    numbers = {
        name: value if isinstance(value, float | int) else str(value)
        for name, value in given.items()
    }
    ids = tuple(str(each) for each in evidence) if isinstance(evidence, tuple | list) else ()
    return Verdict(outcome, reason, settle, numbers, ids)
