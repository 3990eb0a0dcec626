"""What it begins when something is decided to be done again, said before it is decided."""

from dataclasses import dataclass

from qa.domain.disposition import Disposition, opens_next_attempt
from qa.models import Closing, Nonconformance
from repairs.domain.field_event import EventKind
from repairs.domain.progress import LIVE_STAGES, Stage
from repairs.models import FieldEvent, Repair


@dataclass(frozen=True, slots=True)
class DoingAgain:
    """Which attempt rework and "repair again" open, or why they open none.

    Parameters
    ----------
    number : int or None
        The attempt, None where none is opened.
    why_none : str
        Why none is opened; empty where one is.
    """

    number: int | None
    why_none: str


def opened_by_doing_again(row: Nonconformance, repair: Repair) -> DoingAgain:
    """Tell what doing it again would open now; whether it may, the service decides."""
    stage = Stage(repair.stage)
    if row.attempt != repair.attempt:
        return DoingAgain(None, f"they open none: attempt {repair.attempt} is under way already")
    if not opens_next_attempt(Disposition.REWORK, stage):
        return DoingAgain(
            None,
            f"they open none: no resin was mixed in attempt {repair.attempt} yet, so that one does "
            "it right",
        )
    if stage in LIVE_STAGES:
        return DoingAgain(
            None, "neither while resin is live: decide on them when the packer is out"
        )
    if Closing.objects.filter(repair=repair, attempt=row.attempt).exists():
        return DoingAgain(None, "neither of a closed attempt: the client returns its package then")
    return DoingAgain(repair.attempt + 1, "")


def out_of_date(repair: Repair, shown: str) -> str:
    """Say that a page showed another attempt, which one is under way and what opened it."""
    showed = f"attempt {shown}" if shown.isdecimal() else "no attempt"
    opened = _opened(repair)
    why = f", opened by this: {opened}" if opened else ""
    return (
        f"This page showed {showed}, and attempt {repair.attempt} is under way{why}. Nothing is "
        "taken over into it: look at this page anew, then send what still holds."
    )


def _opened(repair: Repair) -> str:
    """Return what opened the attempt under way; empty for the first."""
    ordered = FieldEvent.objects.filter(
        repair=repair, attempt=repair.attempt, kind=EventKind.REWORK_ORDERED
    ).first()
    if ordered is not None:
        return str(ordered.data.get("words", "")).rstrip(".")
    returned = FieldEvent.objects.filter(
        repair=repair, attempt=repair.attempt - 1, kind=EventKind.RETURNED
    )
    return f"the client returned attempt {repair.attempt - 1}" if returned.exists() else ""
