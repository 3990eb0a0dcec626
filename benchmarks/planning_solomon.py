"""Reads a public routing instance as if it were a day of repairs."""

from math import hypot
from pathlib import Path

from benchmarks.planning_cases import ORIGIN
from dispatch.domain.plan.problem import CrewDay, PackerRange, PlannedRepair, Problem, Window
from dispatch.domain.plan.travel import ESTIMATED, Travel
from dispatch.domain.plan.weights import Priority, Weights

TENTHS = 10
"""The instances' unit in tenths: each way is cut to one decimal, as the best known values are."""
CREWS = 25
KIT = "LOAD"


def read_problem(path: Path) -> Problem:
    """Return an instance with 25 crews that may carry its capacity, and everything to be served.

    A tenth of its unit stands for a second; what is left out costs far more than any way.
    """
    lines = [line.split() for line in path.read_text(encoding="utf-8").splitlines()]
    heads = {row[0]: row[-1] for row in lines if row[1:2] == [":"]}
    at = _section(lines, "NODE_COORD_SECTION")
    load = _section(lines, "DEMAND_SECTION")
    opens = _section(lines, "TIME_WINDOW_SECTION")
    service = round(float(heads["SERVICE_TIME"]) * TENTHS)
    order = sorted(at)
    seconds = tuple(tuple(_way(at[i], at[j]) for j in order) for i in order)
    word = tuple(ESTIMATED for _ in order)
    travel = Travel(seconds, seconds, tuple(word for _ in order))
    yard, *customers = order
    closes = round(opens[yard][1] * TENTHS)
    capacity = {KIT: int(heads["CAPACITY"])}
    any_packer = (PackerRange(0, 1),)
    crews = tuple(
        CrewDay(f"{n:02d}", f"{n:02d}", 0, 0, closes, 0, 0, 0, packers=any_packer, kits=capacity)
        for n in range(CREWS)
    )
    repairs = tuple(
        PlannedRepair(
            str(c),
            order.index(c),
            0,
            0,
            0,
            service,
            (Window(round(opens[c][0] * TENTHS), round(opens[c][1] * TENTHS) + service),),
            Priority.C,
            kit_code=KIT,
            kits_needed=int(load[c][0]),
        )
        for c in customers
    )
    return Problem(ORIGIN, 1, travel, crews, repairs, Weights(c_s=50_000, late_day_s=0))


def _section(lines: list[list[str]], name: str) -> dict[int, tuple[float, ...]]:
    start = lines.index([name]) + 1
    rows = {}
    for row in lines[start:]:
        if not row[1:] or not row[0].isdigit():
            break
        rows[int(row[0])] = tuple(float(cell) for cell in row[1:])
    return rows


def _way(a: tuple[float, ...], b: tuple[float, ...]) -> int:
    return int(hypot(a[0] - b[0], a[1] - b[1]) * TENTHS)
