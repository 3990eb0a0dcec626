"""Why something was refused, in a form every door can answer with."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

_LONGEST_SHOWN = 80


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong: which field, what was found, what would be right."""

    field: str
    found: str
    expected: str

    def __str__(self) -> str:
        """Return the fault as a sentence says it."""
        return f"{self.field}: found {self.found}, expected {self.expected}"


def shown(value: Any) -> str:
    """Return what was sent as a fault shows it, and not longer than a line.

    A text stands in quotes; anything else as JSON has it, as it was sent. What cannot be printed
    is escaped.

    >>> shown("lunch"), shown({"value": True})
    ("'lunch'", '{"value": true}')
    """
    if value is None:
        return "nothing"
    text = repr(value) if isinstance(value, str) else _json(value)
    return text if len(text) <= _LONGEST_SHOWN else f"{text[: _LONGEST_SHOWN - 1]}…"


def _json(value: Any) -> str:
    """Write a value as JSON, whatever it is; a number, list or object as somebody sent it."""
    text = json.dumps(value, ensure_ascii=False, default=str)
    return "".join(each if each.isprintable() else json.dumps(each)[1:-1] for each in text)


def refuse(faults: Sequence[Fault]) -> None:
    """Raise ValueError with the first fault, if there is one.

    Raises
    ------
    ValueError
        Naming field, found and expected.
    """
    if faults:
        raise ValueError(str(faults[0]))


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
    more : mapping
        Further members of the answer, such as how far something has come.
    """

    def __init__(
        self,
        code: str,
        detail: str,
        *,
        status: int = 409,
        faults: Sequence[Fault] = (),
        reasons: Sequence[dict[str, object]] = (),
        more: Mapping[str, object] | None = None,
    ) -> None:
        super().__init__(detail)
        self.code = code
        self.detail = detail
        self.status = status
        self.faults = tuple(faults)
        self.reasons = tuple(reasons)
        self.more = dict(more or {})


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
