"""Why something cannot be: a stable code, plain words with the numbers, and by how much."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Refusal:
    """One reason against a repair on a crew-day, in a route, or in the plan at all.

    Parameters
    ----------
    code : str
        Stable; the same as an assignment would be refused with, where there is one.
    repair : str
        The repair that meets it; empty when a route as a whole does.
    words : str
        Plain words with the numbers in them.
    short_s : int
        By how many seconds it fails; 0 where it is not a matter of time.
    """

    code: str
    repair: str
    words: str
    short_s: int = 0


def minutes(seconds: float) -> str:
    """Return seconds as whole minutes, the way a dispatcher says them."""
    return f"{seconds / 60:.0f} min"


def clock(seconds: int) -> str:
    """Return seconds from the origin as day and time of day."""
    day, rest = divmod(seconds, 86_400)
    return f"day {day} {rest // 3600:02d}:{rest % 3600 // 60:02d}"
