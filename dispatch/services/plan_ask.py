"""Asks for a plan, and calls one off."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from django.conf import settings
from django.db import transaction

from dispatch.domain.what_if import WhatIf, as_table
from dispatch.models import Crew, Plan, PlanRun
from duework.models import WorkItem
from duework.services import cancel, schedule
from repairs.domain.problem import Fault, Refused, malformed
from repairs.models import Account

MAKE_PLAN = "make-plan"
MOST_DAYS = 14
FURTHEST_DAYS = 366
"""How far ahead a plan may begin: nobody knows charts, kits and crews further than that."""
_ALIVE = (WorkItem.State.DUE, WorkItem.State.LEASED)


@transaction.atomic
def ask_for_plan(
    *,
    starts_on: date,
    days: int,
    by: Account,
    now: datetime,
    label: str = "",
    changes: Sequence[WhatIf] = (),
    derived_from: Plan | None = None,
    seed: int = 1,
    search_s: int | None = None,
    iterations: int | None = None,
) -> PlanRun:
    """Have a plan made by due work; refused while another of the same days is being made.

    Parameters
    ----------
    search_s : int, optional
        How long the search may take; the setting where it is not given.
    iterations : int, optional
        Steps of the search instead: the same rows and seed give the same plan.
    """
    _refuse_other_days(starts_on, days, now)
    # Whoever asks at the same moment waits here, and then finds this one.
    list(Crew.objects.select_for_update().order_by("pk").values_list("pk"))
    _refuse_two_at_once(starts_on, days, now)
    run = PlanRun.objects.create(
        starts_on=starts_on,
        days=days,
        label=label,
        changes=as_table(changes),
        derived_from=derived_from,
        seed=seed,
        search_s=settings.PLAN_SEARCH_S if search_s is None else search_s,
        iterations=iterations,
        asked_by=by,
        asked_at=now,
    )
    schedule(
        kind=MAKE_PLAN,
        subject_type="plan run",
        subject_id=run.pk,
        dedupe_key=_key(run),
        due_at=now,
    )
    return run


@transaction.atomic
def cancel_run(*, run: PlanRun, now: datetime) -> PlanRun:
    """Call a run off: one that waits is over, one that searches ends with its best so far."""
    row = PlanRun.objects.select_for_update().get(pk=run.pk)
    if row.state == PlanRun.WAITING and cancel(dedupe_key=_key(row), now=now):
        row.state, row.finished_at = PlanRun.CANCELLED, now
        row.said = "called off before it began"
    if row.state in (*PlanRun.OPEN, PlanRun.CANCELLED) and row.cancel_asked_at is None:
        row.cancel_asked_at = now
    row.save(update_fields=["state", "finished_at", "said", "cancel_asked_at"])
    return row


def _refuse_other_days(starts_on: date, days: int, now: datetime) -> None:
    """Refuse days that are over everywhere, and days nobody knows anything of yet."""
    yesterday = now.date() - timedelta(days=1)
    furthest = now.date() + timedelta(days=FURTHEST_DAYS)
    if starts_on > furthest or starts_on.toordinal() + days - 1 < yesterday.toordinal():
        expected = f"days that are not over, the first of them by {furthest}"
        raise malformed(Fault("starts_on", starts_on.isoformat(), expected))


def _refuse_two_at_once(starts_on: date, days: int, now: datetime) -> None:
    ends_on = starts_on + timedelta(days=days)
    for run in PlanRun.objects.filter(state__in=PlanRun.OPEN, starts_on__lt=ends_on):
        if run.starts_on + timedelta(days=run.days) <= starts_on or _given_up(run, now):
            continue
        last = run.starts_on + timedelta(days=run.days - 1)
        raise Refused(
            "plan_under_way",
            f"A plan from {run.starts_on} to {last} is being made ({run.percent} %), asked for by "
            f"{run.asked_by.display_name}. Wait for it, or cancel it.",
            more={"run": str(run.pk), "percent": run.percent},
        )


def _given_up(run: PlanRun, now: datetime) -> bool:
    """Return whether nobody will ever finish a run, and write that down."""
    item = WorkItem.objects.filter(dedupe_key=_key(run)).first()
    if item is not None and item.state in _ALIVE:
        return False
    run.state, run.finished_at = PlanRun.FAILED, now
    run.said = (item.last_error if item else "") or "nobody finished it"
    run.save(update_fields=["state", "finished_at", "said"])
    return True


def _key(run: PlanRun) -> str:
    return f"{MAKE_PLAN}:{run.pk}"
