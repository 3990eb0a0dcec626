"""The places of a plan, numbered as they are met."""

from dispatch.domain.plan.travel import LatLon
from dispatch.models import Yard
from repairs.models import Repair


class Places:
    """Gives each place on the ground one number, however often it is asked for."""

    def __init__(self) -> None:
        self._numbers: dict[LatLon, int] = {}

    def number(self, place: LatLon) -> int:
        """Return the number of a place."""
        return self._numbers.setdefault(place, len(self._numbers))

    def all(self) -> tuple[LatLon, ...]:
        """Return the places in the order of their numbers."""
        return tuple(self._numbers)


def place_of_yard(yard: Yard) -> LatLon:
    """Return where a yard lies."""
    return LatLon(yard.latitude, yard.longitude)


def place_of_repair(repair: Repair) -> LatLon:
    """Return where a crew parks: at the access point that the defect is measured from."""
    return LatLon(repair.datum.latitude, repair.datum.longitude)
