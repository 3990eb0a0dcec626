"""Why something was refused, in a form every door can answer with."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong: which field, what was found, what would be right."""

    field: str
    found: str
    expected: str


class Refused(Exception):  # noqa: N818 - it reads as the trade says it: "assignment refused"
    """A use case that was not carried out; nothing was written.

    Parameters
    ----------
    code : str
        Stable, listed in docs/errors.md.
    detail : str
        What happened and what to do, in plain words.
    status : int
        The HTTP status a door answers with.
    faults : sequence of Fault
        Each field that is wrong; may be empty.
    reasons : sequence of dict
        Further machine-readable reasons, such as every clash of an assignment.
    """

    def __init__(
        self,
        code: str,
        detail: str,
        *,
        status: int = 409,
        faults: Sequence[Fault] = (),
        reasons: Sequence[dict[str, object]] = (),
    ) -> None:
        super().__init__(detail)
        self.code = code
        self.detail = detail
        self.status = status
        self.faults = tuple(faults)
        self.reasons = tuple(reasons)


def malformed(*faults: Fault) -> Refused:
    """Return the refusal for input that cannot be understood."""
    first = faults[0]
    more = f" ({len(faults) - 1} more below)" if len(faults) > 1 else ""
    return Refused(
        "malformed",
        f"{first.field}: found {first.found}, expected {first.expected}{more}.",
        status=422,
        faults=faults,
    )
