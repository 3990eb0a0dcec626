"""Several plans beside each other: each figure against the first, and each difference's cause."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect

from dispatch.models import Plan
from dispatch.pages.plans.doors import READERS
from dispatch.pages.plans.plan_page import PlanHead, plan_head
from dispatch.pages.plans.plan_words import clock_words, long_words, price_words
from dispatch.pages.plans.promise import cause_words, where_words
from dispatch.plan_facts.plan_reading import PlanFigures, read_plan
from dispatch.plan_facts.side_by_side import Beside, side_by_side
from repairs.pages.doors import DoorPage, PageDoors, show

MOST_BESIDE = 6
KINDS: Mapping[str, tuple[str, str]] = {
    "new": ("circle", "new in it"),
    "left_out": ("cross", "left out"),
    "gone": ("dots", "no longer to be planned"),
    "moved": ("back", "elsewhere"),
    "other_time": ("glass", "other hour"),
}
"""The shape and the words of each kind of difference."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A figure of one plan; `percent` of the largest in its row, `apart` from the first plan."""

    words: str
    percent: int
    apart: str
    best: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One figure of all plans."""

    name: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """One difference from the first plan."""

    repair: str
    mark: str
    kind: str
    where: str
    cause: str


@dataclass(frozen=True, slots=True)
class Column:
    """A plan with its differences from the first."""

    letter: str
    head: PlanHead
    changes: tuple[ChangeLine, ...]


class BesidePage(DoorPage):
    """Plans side by side."""

    doors: PageDoors = {"GET": READERS}

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show the plans that were picked; without one, where they are picked."""
        plans = _picked(request.GET.getlist("plan"))
        if not plans:
            return redirect("/plans")
        found = side_by_side(plans[:MOST_BESIDE])
        context = {
            "columns": [
                Column(chr(ord("A") + n), plan_head(each.plan, self.account), changes_of(each))
                for n, each in enumerate(found)
            ],
            "rows": rows_of([read_plan(each.plan).figures() for each in found]),
            "mixed": len({(each.plan.starts_on, each.plan.days) for each in found}) > 1,
            "more": len(plans) > MOST_BESIDE,
            "most": MOST_BESIDE,
            "others": _others(plans),
        }
        return show(request, "dispatch/plans/beside.html", context)


def rows_of(found: Sequence[PlanFigures]) -> tuple[Row, ...]:
    """Return each figure of all plans; more served is better, less of all the rest."""
    return (
        _row("Repairs served", [each.served for each in found], str, more=True),
        _row("Left out", [each.left_out for each in found], str),
        _row("On time", [each.on_time for each in found], str, more=True),
        _urgent_row(found),
        _row("Driving", [each.driving_s for each in found], long_words),
        _row("Overtime", [each.overtime_s for each in found], long_words),
        _row("Promises broken", [each.promises for each in found], str),
        _row("Cost, in driving", [each.cost_s for each in found], _cost),
    )


def changes_of(each: Beside) -> tuple[ChangeLine, ...]:
    """Return what is different in a plan, line by line."""
    return tuple(_change(change, each.plan.zone) for change in each.differences)


def _change(change: Mapping[str, Any], zone: str) -> ChangeLine:
    mark, kind = KINDS[change["kind"]]
    was, now = change.get("was"), change.get("now")
    where = where_words(now, zone) if now else f"was {where_words(was, zone)}"
    if was and now:
        same = was["crew_day"] == now["crew_day"]
        there = clock_words(datetime.fromisoformat(now["starts_at"]), zone)
        where = f"{where_words(was, zone)} → {there if same else where_words(now, zone)}"
    return ChangeLine(change["repair"], mark, kind, where, cause_words(change))


def _row(
    name: str, values: Sequence[int], said: Callable[[int], str], *, more: bool = False
) -> Row:
    largest, first = max([*values, 1]), values[0]
    best = max(values) if more else min(values)
    apart = len(set(values)) > 1
    return Row(
        name,
        tuple(
            Cell(
                said(value),
                round(100 * value / largest),
                _apart(value - first, said),
                apart and value == best,
            )
            for value in values
        ),
    )


def _urgent_row(found: Sequence[PlanFigures]) -> Row:
    """Return how much of priority A each plan serves; of other totals none is the best."""
    plain = _row("Priority A served", [each.served_a for each in found], str, more=True)
    same = len({each.wanted_a for each in found}) == 1
    cells = (
        replace(cell, words=f"{each.served_a} of {each.wanted_a}", best=cell.best and same)
        for cell, each in zip(plain.cells, found, strict=True)
    )
    return replace(plain, cells=tuple(cells))


def _apart(by: int, said: Callable[[int], str]) -> str:
    if not by:
        return ""
    words = said(abs(by))
    return f"{words} more" if by > 0 else f"{words} less"


def _cost(seconds: int) -> str:
    return price_words(seconds).removesuffix(" of driving")


def _picked(asked: Sequence[str]) -> list[Plan]:
    """Return the plans in the order they were picked, none twice; 404 for what is no plan."""
    try:
        keys = list(dict.fromkeys(UUID(each) for each in asked))
    except ValueError as error:
        raise Http404 from error
    found = Plan.objects.in_bulk(keys)
    if len(found) < len(keys):
        raise Http404
    return [found[key] for key in keys]


def _others(plans: Sequence[Plan]) -> QuerySet[Plan]:
    """Return further plans made from the first, to be put beside it as well."""
    shown = [plan.pk for plan in plans]
    return plans[0].derived.defer("problem").exclude(pk__in=shown).order_by("-planned_at")[:6]
