"""What is drawn and compared on pages of plans, against numbers worked out by hand."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest

from dispatch.models import Plan
from dispatch.pages.plans.beside import rows_of
from dispatch.pages.plans.plan_words import long_words, price_words
from dispatch.pages.plans.route_map import HIGH, MARGIN, WIDE, route_map
from dispatch.plan_facts.plan_reading import PlanFigures, read_plan
from repairs.models import Account, Repair
from tests.dispatch.plan_rows import a_company, planned
from tests.page_reader import client_of

BASE = PlanFigures(8, 3, 4, 7, 2, 2, 10_440, 0, 0, 118_440)
OTHER = PlanFigures(6, 5, 4, 6, 2, 2, 9_000, 2_340, 3, 193_680)


def test_figures_are_held_against_the_first() -> None:
    """Served 2 less; driving 24 min less and best; overtime 39 min more; equal says nothing."""
    rows = {row.name: row.cells for row in rows_of([BASE, OTHER])}

    assert [cell.words for cell in rows["Repairs served"]] == ["8", "6"]
    assert [cell.apart for cell in rows["Repairs served"]] == ["", "2 less"]
    assert [cell.percent for cell in rows["Repairs served"]] == [100, 75]
    assert [cell.best for cell in rows["Repairs served"]] == [True, False]
    assert rows["Driving"][1].apart == "24 min less"
    assert rows["Driving"][1].best
    assert rows["Overtime"][1].apart == "39 min more"
    assert [cell.best for cell in rows["Priority A served"]] == [False, False]
    assert rows["Promises broken"][1].words == "3"
    assert rows["Cost, in driving"][1].apart == "20.9 h more"


def test_priority_a_is_best_only_where_as_many_were_wanted() -> None:
    """3 of 3 is not worse than 4 of 5; of the same five, four are better than three."""
    few, many = replace(BASE, served_a=3, wanted_a=3), replace(BASE, served_a=4, wanted_a=5)
    less = replace(many, served_a=3)

    apart = {row.name: row.cells for row in rows_of([few, many])}["Priority A served"]
    alike = {row.name: row.cells for row in rows_of([less, many])}["Priority A served"]

    assert [(cell.words, cell.best) for cell in apart] == [("3 of 3", False), ("4 of 5", False)]
    assert [(cell.words, cell.best) for cell in alike] == [("3 of 5", False), ("4 of 5", True)]


@pytest.mark.parametrize(
    ("seconds", "long", "price"),
    [
        (0, "0 min", "0 min of driving"),
        (59, "1 min", "1 min of driving"),
        (2100, "35 min", "35 min of driving"),
        (3600, "1 h 00 min", "1.0 h of driving"),
        (7500, "2 h 05 min", "2.1 h of driving"),
        (-2100, "35 min", "-35 min of driving"),
        (1_800_000, "500 h 00 min", "500.0 h of driving"),
    ],
)
def test_lengths_and_prices_are_said_to_the_minute(seconds: int, long: str, price: str) -> None:
    """An hour and five minutes, not 3900 s."""
    assert long_words(seconds) == long
    assert price_words(seconds) == price


@pytest.mark.django_db
def test_a_plan_counts_what_is_on_time_and_of_priority_a(dispatcher: Account) -> None:
    """Two served of three, one of them due yesterday; the one left out is the only A less."""
    company = a_company(dispatcher, crews=1, repairs=3)
    first, second, third = company.repairs
    yesterday = company.tomorrow - timedelta(days=2)
    Repair.objects.filter(pk=first.pk).update(priority="A", due_on=yesterday)
    Repair.objects.filter(pk=second.pk).update(priority="A")
    Repair.objects.filter(pk=third.pk).update(priority="C")

    figures = read_plan(planned(company)).figures()

    assert (figures.served, figures.left_out, figures.on_time) == (2, 1, 1)
    assert (figures.served_a, figures.wanted_a) == (2, 2)


@pytest.mark.django_db
def test_the_sketch_lies_on_its_paper_with_north_up(dispatcher: Account) -> None:
    """Each stop is above the yard, as it lies north of it; nothing lies off the paper."""
    company = a_company(dispatcher, crews=1, repairs=2)
    reading = read_plan(planned(company))

    found = route_map(reading.crew_days, {company.crews[0].code: company.crews[0]})

    assert found is not None
    assert [yard.words for yard in found.yards] == [company.yard.name]
    line = found.lines[0]
    points = [tuple(float(n) for n in pair.split(",")) for pair in line.points.split()]
    assert points[0] == points[-1] == (found.yards[0].x, found.yards[0].y)
    assert all(MARGIN / 2 <= x <= WIDE and MARGIN / 2 <= y <= HIGH for x, y in points)
    ordered = sorted(reading.stops, key=lambda stop: stop.repair.datum.latitude)
    by_name = dict(zip([stop.name for stop in reading.stops], points[1:-1], strict=True))
    heights = [by_name[stop.name][1] for stop in ordered]
    assert heights == sorted(heights, reverse=True)


@pytest.mark.django_db
def test_a_crew_that_goes_on_from_a_site_is_not_drawn_from_its_yard(dispatcher: Account) -> None:
    """It is at work somewhere: its line begins at its first stop, and still ends in the yard."""
    company = a_company(dispatcher, crews=1, repairs=2)
    day, stops = read_plan(planned(company)).crew_days[0]
    at_work = replace(day, start_place=day.end_place + 1)

    found = route_map([(at_work, stops)], {company.crews[0].code: company.crews[0]})

    assert found is not None
    points = found.lines[0].points.split()
    yard = f"{found.yards[0].x},{found.yards[0].y}"
    assert len(points) == len(stops) + 1
    assert (points[0] == yard, points[-1] == yard) == (False, True)


@pytest.mark.django_db
def test_every_bar_lies_inside_its_strip(dispatcher: Account) -> None:
    """No bar begins below 0 or ends beyond 100 percent of the hours that are drawn."""
    plan: Plan = planned(a_company(dispatcher))

    html = client_of(dispatcher).get(f"/plans/{plan.pk}").content.decode()

    bars = re.findall(r'<rect class="part[^>]* x="([\d.]+)%"[^>]*? width="([\d.]+)%"', html)
    assert len(bars) == 3 * plan.stops.count()
    assert all(float(x) >= 0 and float(x) + float(wide) <= 100.01 for x, wide in bars)
