"""What was decided about the repairs of a plan after it was made, and by whom."""

from datetime import datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from dispatch.domain.plan.refusal import Refusal
from dispatch.models import Assignment, Plan
from dispatch.selectors import live_assignment

ASSIGNED_MEANWHILE = "assigned_meanwhile"
_ONE_ACT = timedelta(microseconds=1)
"""A plan takes back just before it gives: both are of the one act of publishing it."""


def decided_meanwhile(plan: Plan) -> tuple[Refusal, ...]:
    """Return the repairs that another assignment has now than when it was planned.

    Where another plan that was published is the cause, the words say when, and by whom.
    """
    known = {UUID(key): UUID(value) for key, value in plan.told.items()}
    live = Assignment.objects.filter(pk__in=list(known.values()), cancelled_at__isnull=True)
    gone = set(known.values()) - set(live.values_list("pk", flat=True))
    taken = Assignment.objects.filter(pk__in=list(gone)).select_related("repair", "crew")
    found = [
        Refusal(
            ASSIGNED_MEANWHILE,
            row.repair.ref,
            f"was taken back from {row.crew}{_by_another_plan(plan, row.cancelled_at)}",
        )
        for row in taken
    ]
    for stop in plan.stops.select_related("repair"):
        stands = live_assignment(stop.repair)
        if stands is not None and known.get(stop.repair_id) not in {stands.pk, *gone}:
            words = f"was given to {stands.crew} after it was planned"
            words += _by_another_plan(plan, stands.created_at)
            found.append(Refusal(ASSIGNED_MEANWHILE, stop.name, words))
    return tuple(found)


def _by_another_plan(plan: Plan, at: datetime | None) -> str:
    """Return words about the plan that was published at that instant, if there is one."""
    if at is None:
        return ""
    others = Plan.objects.filter(published_at__gte=at, published_at__lte=at + _ONE_ACT)
    other = others.exclude(pk=plan.pk).defer("problem").select_related("published_by").first()
    if other is None or other.published_at is None or other.published_by is None:
        return ""
    when = other.published_at.astimezone(ZoneInfo(plan.zone))
    return (
        f": another plan was published on {when:%a} {when.day} {when:%b} at {when:%H:%M} "
        f"by {other.published_by.display_name}"
    )
