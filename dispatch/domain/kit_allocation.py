"""Which kits on a truck are still free: each planned repair takes the earliest in date."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from dispatch.domain.clash import Stock


@dataclass(frozen=True, slots=True)
class Loaded:
    """Kits of one lot on the truck, as counted at a time."""

    lot: str
    kit_code: str
    expires_on: date
    quantity: int
    counted_at: datetime


@dataclass(frozen=True, slots=True)
class Need:
    """Kits that an assignment takes: on which day, and when they were mixed, if they were."""

    kit_code: str
    count: int
    on: date
    starts_at: datetime
    mixed_at: datetime | None


def free_kits(loaded: Sequence[Loaded], needs: Sequence[Need]) -> tuple[Stock, ...]:
    """Return what is left of each lot when every need has taken its kits.

    A need takes from the lots in date on its day, the earliest expiry first. Kits
    that were mixed before the truck was counted are gone from the count already
    and are not taken off again.
    """
    left = {each.lot: each.quantity for each in loaded}
    by_expiry = sorted(loaded, key=lambda each: (each.expires_on, each.lot))
    for need in sorted(needs, key=lambda each: each.starts_at):
        wanted = need.count
        for each in by_expiry:
            serves = each.kit_code == need.kit_code and each.expires_on >= need.on
            gone_before_the_count = need.mixed_at is not None and need.mixed_at <= each.counted_at
            if not serves or gone_before_the_count:
                continue
            taken = min(wanted, left[each.lot])
            left[each.lot] -= taken
            wanted -= taken
    return tuple(
        Stock(each.lot, each.kit_code, each.expires_on, left[each.lot]) for each in by_expiry
    )
