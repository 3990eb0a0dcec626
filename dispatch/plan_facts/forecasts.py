"""How cold it will be where a plan has work: the coldest wall foretold for its days."""

from collections.abc import Iterable, Mapping
from uuid import UUID

from dispatch.domain.plan_horizon import Horizon
from dispatch.models import WallForecast
from repairs.models import Repair


def walls_foretold(repairs: Iterable[Repair], horizon: Horizon) -> Mapping[UUID, float]:
    """Return by repair the coldest wall foretold for its site on the days of a plan, in degC.

    On which day a repair is done is what the plan decides: so it keeps the time that the
    coldest of them needs. A site nobody foretold is missing.
    """
    return {key: row.wall_c for key, row in coldest_foretold(repairs, horizon).items()}


def coldest_foretold(repairs: Iterable[Repair], horizon: Horizon) -> Mapping[UUID, WallForecast]:
    """Return the same with its day and who says so; of two as cold the earlier day."""
    those = list(repairs)
    rows = WallForecast.objects.select_related("site").filter(
        site__in={repair.run.site_id for repair in those},
        day__gte=horizon.starts_on,
        day__lt=horizon.date_of(horizon.days),
    )
    # The coldest is written last, so it is the one that stays.
    coldest = {row.site_id: row for row in rows.order_by("-wall_c", "-day")}
    return {
        repair.pk: coldest[repair.run.site_id] for repair in those if repair.run.site_id in coldest
    }
