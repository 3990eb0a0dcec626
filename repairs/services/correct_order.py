"""Corrects and completes what was ordered, as long as no work has begun on it."""

import logging
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django.db import models, transaction

from repairs.domain.edition import edition_of, refuse_stale
from repairs.domain.order_checks import (
    datum_fault,
    distance_fault,
    filmed_fault,
    length_fault,
    told,
    window_fault,
)
from repairs.domain.problem import Fault, Refused, malformed
from repairs.domain.progress import NOT_BEGUN
from repairs.domain.straight_line import straight_line_m
from repairs.domain.work_windows import window_table_faults
from repairs.models import Account, Repair, Run
from repairs.services.keep_edition import keep_edition
from repairs.services.order_changed import order_changed

logger = logging.getLogger(__name__)

REPAIR_FIELDS = tuple(name.removesuffix("_id") for name in Repair.correctable)
"""As the rows are written: the datum is an access point, not its id."""
PLANNING_FIELDS = frozenset({"windows", "priority", "due_on"})
"""When work is done, not how: a prescription from before the change stays what it is."""
_EASTERNMOST = timedelta(hours=14)


def repair_edition(repair: Repair) -> str:
    """Return which edition of the repair's order this is."""
    return edition_of({name: _plain(getattr(repair, name)) for name in REPAIR_FIELDS})


def run_edition(run: Run) -> str:
    """Return which edition of the run this is."""
    return edition_of({name: getattr(run, name) for name in Run.correctable})


@transaction.atomic
def correct_repair(
    *, repair: Repair, changes: Mapping[str, Any], seen: frozenset[str], by: Account, now: datetime
) -> Repair:
    """Change what was ordered of a repair; a prescription made before is older than its order.

    `changes` holds values of REPAIR_FIELDS in SI, the datum by its ref.
    """
    # The run before its repairs, as `correct_run` does, so that two never wait for each other.
    run = Run.objects.select_for_update().get(pk=repair.run_id)
    locked = Repair.objects.select_for_update().get(pk=repair.pk)
    refuse_stale(repair_edition(locked), seen)
    _refuse_begun([locked])
    after = {name: getattr(locked, name) for name in REPAIR_FIELDS}
    after |= dict(changes)
    _refuse(_repair_faults(after, changes, run, now))
    if "datum" in changes:
        ends = (run.upstream, run.downstream)
        after["datum"] = next(end for end in ends if end.ref == changes["datum"])
    _save(locked, after, by, now)
    if {"not_before", "not_after"} & set(changes):
        order_changed(repair_id=locked.pk, now=now)
    return locked


@transaction.atomic
def correct_run(
    *, run: Run, changes: Mapping[str, Any], seen: frozenset[str], by: Account, now: datetime
) -> Run:
    """Change what is known of a run on which no work has begun; `changes` is in SI."""
    locked = Run.objects.select_for_update().get(pk=run.pk)
    repairs = list(Repair.objects.select_for_update().filter(run=locked).order_by("pk"))
    refuse_stale(run_edition(locked), seen)
    _refuse_begun(repairs)
    after = {name: getattr(locked, name) for name in Run.correctable} | dict(changes)
    if "length_m" in changes:
        _refuse(_length_faults(after["length_m"], locked, repairs))
    _save(locked, after, by, now)
    return locked


def _repair_faults(
    after: Mapping[str, Any], changes: Mapping[str, Any], run: Run, now: datetime
) -> tuple[Fault, ...]:
    ends = (run.upstream.ref, run.downstream.ref)
    windows = window_table_faults(after["windows"]) if "windows" in changes else ()
    return told(
        (
            *windows,
            datum_fault("datum", changes["datum"], ends) if "datum" in changes else None,
            distance_fault("distance", after["distance_m"], run.length_m),
            window_fault(after["not_before"], after["not_after"]),
            filmed_fault(
                "inspection_filmed_on",
                after["inspection_filmed_on"],
                (now + _EASTERNMOST).date(),
            ),
        )
    )


def _length_faults(length_m: float, run: Run, repairs: list[Repair]) -> tuple[Fault, ...]:
    positions = [(end.latitude, end.longitude) for end in (run.upstream, run.downstream)]
    faults = [length_fault("length", length_m, straight_line_m(*positions[0], *positions[1]))]
    for repair in repairs:
        if repair.distance_m > length_m:
            expected = f"at least {repair.distance_m:g} m, where {repair.ref} lies"
            faults.append(Fault("length", f"{length_m:g} m", expected))
    return told(faults)


def _refuse_begun(repairs: list[Repair]) -> None:
    begun = [repair for repair in repairs if repair.stage not in NOT_BEGUN]
    if begun:
        names = ", ".join(f"{repair.ref} is {repair.stage}" for repair in begun)
        raise Refused(
            "work_has_begun",
            f"Work has begun ({names}), and what it was begun with stays on record.",
        )


def _refuse(faults: tuple[Fault, ...]) -> None:
    if faults:
        raise malformed(*faults)


def _save(row: Repair | Run, after: Mapping[str, Any], by: Account, now: datetime) -> None:
    """Store what differs; what was sent unchanged is no change."""
    changed = [name for name, value in after.items() if getattr(row, name) != value]
    if not changed:
        return
    for name in changed:
        setattr(row, name, after[name])
    if set(changed) - PLANNING_FIELDS:
        row.changed_at = now
    row.save(update_fields=[*changed, "changed_at"])
    keep_edition(row=row, by=by, now=now)
    what = row._meta.model_name  # noqa: SLF001 - Django documents it
    logger.info("%s %s corrected by %s: %s", what, row.pk, by.username, ", ".join(changed))


def _plain(value: Any) -> Any:
    return str(value.pk) if isinstance(value, models.Model) else value
