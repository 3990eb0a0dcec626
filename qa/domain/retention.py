"""Until when a package and its proof are kept, and what stands in the way of disposing of it."""

from dataclasses import dataclass
from datetime import date

from dispatch.domain.terms import Terms, months_after

_MONTHS_A_YEAR = 12


@dataclass(frozen=True, slots=True)
class Kept:
    """How long something is kept.

    Parameters
    ----------
    until : date or None
        The last day of the contract's time; None while it has not begun.
    held : tuple of str
        The reasons of the legal holds that stand, whatever the day.
    """

    until: date | None
    held: tuple[str, ...]

    def may_go(self, today: date) -> bool:
        """Return whether it may be disposed of on a day: time over, and nobody holds it."""
        return self.until is not None and today > self.until and not self.held

    @property
    def words(self) -> str:
        """Say it in a line."""
        if self.held:
            held = f"held: {'; '.join(self.held)}"
            return held if self.until is None else f"{held}; by the contract {self._until}"
        if self.until is None:
            return "kept: the client has not accepted it"
        return f"kept {self._until}"

    @property
    def for_the_client(self) -> "Kept":
        """Return it without the reasons of its holds: why the contractor holds it is its own."""
        return Kept(self.until, ("legal hold",) if self.held else ())

    @property
    def _until(self) -> str:
        return "" if self.until is None else f"until {self.until.isoformat()}"


def kept(accepted_on: date | None, terms: Terms, holds: tuple[str, ...]) -> Kept:
    """Return how long a package is kept: the contract's years after the client accepted it."""
    if accepted_on is None:
        return Kept(None, holds)
    return Kept(months_after(accepted_on, terms.retention_years * _MONTHS_A_YEAR), holds)
