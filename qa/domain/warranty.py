"""When the warranty of an accepted repair ends, and when it is to be looked at again before."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from dispatch.domain.terms import Terms, months_after

State = Literal["ahead", "due", "over"]


@dataclass(frozen=True, slots=True)
class Warranty:
    """The days of a warranty where the pipe is.

    Parameters
    ----------
    ends_on : date
        The day it ends: at the beginning of that day, as the reminder counts.
    inspect_from : date
        From that day on it is time to film the repair again; never before it was accepted.
    """

    accepted_on: date
    ends_on: date
    inspect_from: date

    def state(self, today: date) -> State:
        """Return how it stands on a day there."""
        if today >= self.ends_on:
            return "over"
        return "due" if today >= self.inspect_from else "ahead"


def warranty(accepted_on: date, terms: Terms) -> Warranty | None:
    """Return the warranty of what was accepted on a day; None if the contract has none."""
    if not terms.warranty_months:
        return None
    ends_on = months_after(accepted_on, terms.warranty_months)
    inspect_from = ends_on - timedelta(days=terms.warranty_lead_days)
    return Warranty(accepted_on, ends_on, max(inspect_from, accepted_on))
