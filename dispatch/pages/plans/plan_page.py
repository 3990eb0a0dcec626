"""A plan: whose day is full of what, why something is left out, and what to do about it."""

from dataclasses import dataclass
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from dispatch.domain.what_if import supposed_from
from dispatch.models import Crew, Plan
from dispatch.pages.plans.doors import PLANNERS, READERS
from dispatch.pages.plans.outside import left_out_lines, refused_lines
from dispatch.pages.plans.plan_words import (
    STATE_MARKS,
    days_words,
    long_words,
    price_words,
    reason_words,
    supposed_words,
)
from dispatch.pages.plans.sheet import day_sheets
from dispatch.plan_facts.plan_reading import PlanFigures, PlanReading, read_plan
from repairs.models import Account
from repairs.pages.clock_words import moment
from repairs.pages.doors import DoorPage, PageDoors, show

MOST_RELATED = 12


@dataclass(frozen=True, slots=True)
class Tile:
    """A figure to be seen from the door."""

    name: str
    big: str
    small: str = ""
    wrong: bool = False


@dataclass(frozen=True, slots=True)
class PlanHead:
    """What stands above every page of a plan."""

    id: str
    title: str
    label: str
    state: str
    mark: str
    made: str
    supposed: tuple[str, ...]
    may_change: bool
    may_publish: bool


class PlanPage(DoorPage):
    """One plan."""

    doors: PageDoors = {"GET": READERS}

    def get(self, request: HttpRequest, plan_id: UUID) -> HttpResponse:
        """Show it."""
        plan = get_object_or_404(Plan, pk=plan_id)
        reading = read_plan(plan)
        context = {
            "head": plan_head(plan, self.account),
            "tiles": tiles(reading.figures()),
            "days": day_sheets(reading),
            "left_out": left_out_lines(reading),
            "refused": refused_lines(reading),
            "crews_left_out": crews_left_out(reading),
            "plan": plan,
            "travel": reading.plan.travel_source,
            "related": related(plan),
        }
        return show(request, "dispatch/plans/plan.html", context)


def plan_head(plan: Plan, account: Account) -> PlanHead:
    """Return the name of a plan, its state, and what the account may do with it."""
    planner = account.role in PLANNERS
    return PlanHead(
        id=str(plan.pk),
        title=days_words(plan.starts_on, plan.days),
        label=plan.label,
        state=plan.state,
        mark=STATE_MARKS[plan.state],
        made=f"{moment(plan.planned_at, plan.zone)} by {plan.planned_by.display_name}",
        supposed=tuple(supposed_words(each) for each in supposed_from(plan.changes).those),
        may_change=planner,
        may_publish=planner and plan.state == Plan.DRAFT,
    )


def tiles(found: PlanFigures) -> tuple[Tile, ...]:
    """Return the figures of a plan; what should make one look closer is marked."""
    late = found.served - found.on_time
    missed_a = found.wanted_a - found.served_a
    outside = found.left_out + found.refused
    return (
        Tile("Repairs served", str(found.served), f"{outside} not" if outside else "all of them"),
        Tile("On time", str(found.on_time), f"{late} late" if late else "none late", bool(late)),
        Tile(
            "Priority A",
            f"{found.served_a} of {found.wanted_a}",
            f"{missed_a} left out" if missed_a else "",
            bool(missed_a),
        ),
        Tile("Driving", long_words(found.driving_s)),
        Tile("Overtime", long_words(found.overtime_s), "", found.overtime_s > 0),
        Tile("Promises broken", str(found.promises), "", found.promises > 0),
        Tile("Cost", price_words(found.cost_s).removesuffix(" of driving"), "of driving, all in"),
    )


def crews_left_out(reading: PlanReading) -> tuple[tuple[str, str], ...]:
    """Return each crew that stays at home with the reason."""
    names = {crew.code: crew.name for crew in Crew.objects.all()}
    return tuple(
        (names.get(each["crew"], each["crew"]), each["words"] or reason_words(each["code"]))
        for each in reading.plan.crews_left_out
    )


@dataclass(frozen=True, slots=True)
class Related:
    """Another plan of the same thought: where this one came from, or what came of it."""

    id: str
    words: str
    mark: str


def related(plan: Plan) -> tuple[Related, ...]:
    """Return the plan it came from and those made from it, the newest first."""
    rows = list(plan.derived.defer("problem").order_by("-planned_at")[:MOST_RELATED])
    before = plan.derived_from
    return tuple(_related(row) for row in ([before, *rows] if before else rows))


def _related(row: Plan) -> Related:
    those = supposed_from(row.changes).those
    said = "; ".join(supposed_words(each) for each in those)
    how = "by hand" if row.method == "by hand" else said or "planned from the orders as they stood"
    named = f"{row.label}: {how}" if row.label else how
    words = f"{named} ({moment(row.planned_at, row.zone)}, {row.state})"
    return Related(str(row.pk), words, STATE_MARKS[row.state])
