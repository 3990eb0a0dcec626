"""What durations rest on: class by class, with how many observations."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from dispatch.domain.plan.durations import Step
from dispatch.pages.plans.plan_words import long_words
from dispatch.plan_facts.learned_table import ClassLine, LearnedTable, learned_table
from repairs.pages.doors import BOARD, DoorPage, PageDoors, show


@dataclass(frozen=True, slots=True)
class LearnedLine:
    """A class: whose, how many, and its two quantiles; with too few, how many are wanted."""

    alike: str
    count: int
    percent: int
    expected: str
    bound: str


@dataclass(frozen=True, slots=True)
class StepTable:
    """The classes of one step."""

    step: str
    over_the_chart: bool
    lines: tuple[LearnedLine, ...]


class LearnedTimesPage(DoorPage):
    """The learned durations."""

    doors: PageDoors = {"GET": BOARD}

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show every class anything was observed of."""
        table = learned_table(now=timezone.now())
        context = {"table": table, "steps": step_tables(table), "fit": table.travel_fit}
        return show(request, "dispatch/plans/learned.html", context)


def step_tables(table: LearnedTable) -> tuple[StepTable, ...]:
    """Return the classes step by step; steps of which nothing was seen are not there."""
    found = []
    for step in Step:
        lines = [line for line in table.lines if line.step is step]
        if lines:
            most = max(line.count for line in lines)
            told = tuple(_line(line, most) for line in lines)
            found.append(StepTable(step.value, lines[0].over_the_chart, told))
    return tuple(found)


def _line(line: ClassLine, most: int) -> LearnedLine:
    named = [line.crew and f"crew {line.crew}", line.diameter, line.temperature]
    return LearnedLine(
        alike=", ".join(each for each in named if each) or "all",
        count=line.count,
        percent=round(100 * line.count / most),
        expected="" if line.expected_s is None else long_words(line.expected_s),
        bound="" if line.bound_s is None else long_words(line.bound_s),
    )
