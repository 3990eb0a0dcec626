"""What may be decided about a nonconformance, and which of it begins the repair anew."""

from enum import StrEnum

from repairs.domain.progress import LIVE_STAGES, Stage


class Disposition(StrEnum):
    """What is done about something that was not as required."""

    REWORK = "rework"
    ACCEPT_AS_IS = "accept as is"
    REPAIR_AGAIN = "repair again"
    DIG_AND_REFER = "dig and refer"


TO_BE_DONE = (Disposition.REWORK, Disposition.REPAIR_AGAIN, Disposition.DIG_AND_REFER)
"""What somebody has to carry out before the repair may close."""

DONE_AGAIN = frozenset({Disposition.REWORK, Disposition.REPAIR_AGAIN})
"""What is done in the pipe a second time."""

_INSTALLED = LIVE_STAGES | {Stage.WITHDRAWN, Stage.FILMED, Stage.CLOSED, Stage.ACCEPTED}

SECOND_FAILURE = (
    "Another attempt went before. After a second failure the engineer or digging is asked for "
    "before anybody tries again (common practice, no source): think of 'dig and refer'."
)


def opens_next_attempt(disposition: str, stage: Stage) -> bool:
    """Tell whether a decision on the attempt under way begins the next one.

    Before resin is mixed nothing lies in the pipe: then the attempt under way does it right.
    """
    return disposition in DONE_AGAIN and stage in _INSTALLED


def why_not_done(disposition: str, *, mixed: bool, worked: bool, shown: bool) -> str:
    """Return what is missing before a decision counts as carried out; empty when nothing is.

    Parameters
    ----------
    mixed, worked : bool
        Since the decision resin was mixed; anything was reported or handed in.
    shown : bool
        A file that came in since the decision is named.
    """
    if disposition == Disposition.REPAIR_AGAIN and not mixed:
        return "no resin was mixed since it was decided; the crew's report of it shows that"
    if disposition == Disposition.REWORK and not worked:
        return (
            "nothing was reported or handed in since it was decided; the crew's steps, or a file "
            "of the rework, show that"
        )
    if disposition == Disposition.DIG_AND_REFER and not shown:
        return "name a file that came in since it was decided, such as a photo or a film of it"
    return ""


def advice(*, attempt: int) -> str:
    """Return what to think of before an attempt is followed by another; empty for the first."""
    return SECOND_FAILURE if attempt > 1 else ""
