"""Changes what is known of a piece of gear: its test, its truck, what it serves."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from dispatch.models import Equipment
from dispatch.services.truck_changed import truck_changed
from repairs.domain.edition import edition_of, refuse_stale
from repairs.domain.problem import Fault, malformed
from repairs.models import Account
from repairs.services.keep_edition import keep_edition


def equipment_edition(row: Equipment) -> str:
    """Return which edition of the gear's particulars this is."""
    return edition_of({name: getattr(row, name) for name in Equipment.correctable})


@transaction.atomic
def correct_equipment(
    *,
    equipment: Equipment,
    changes: Mapping[str, Any],
    seen: frozenset[str],
    by: Account,
    now: datetime,
) -> Equipment:
    """Change gear, for example after its yearly test; `changes` is in SI, a crew as its row."""
    row = Equipment.objects.select_for_update().get(pk=equipment.pk)
    refuse_stale(equipment_edition(row), seen)
    for name, value in changes.items():
        setattr(row, name, value)
    low_mm, high_mm = row.diameter_min_mm, row.diameter_max_mm
    if low_mm is not None and high_mm is not None and low_mm > high_mm:
        expected = f"at least diameter_min, {low_mm:g} mm"
        raise malformed(Fault("diameter_max", f"{high_mm:g} mm", expected))
    before = Equipment.objects.values_list("crew_id", flat=True).get(pk=row.pk)
    row.save(update_fields=list(changes))
    keep_edition(row=row, by=by, now=now)
    for crew_id in {before, row.crew_id}:
        truck_changed(crew_id=crew_id, now=now)
    return row
