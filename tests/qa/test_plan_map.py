"""The map of the run: north up, to scale, where the positions say."""

import math
from dataclasses import replace
from pathlib import Path

import pytest
from reportlab.graphics.shapes import Circle, Drawing, Line, Rect

from qa.closeout.report.plan_map import HEIGHT, plan_map
from qa.domain.closeout import AccessPointFact, CloseoutFacts
from tests.qa.closeout_example import example

METRES_A_DEGREE = math.pi * 6_371_008.8 / 180
"""Length of one degree of a meridian on the mean sphere (IUGG mean radius, from memory)."""


def _moved(
    facts: CloseoutFacts, up: tuple[float, float], down: tuple[float, float]
) -> CloseoutFacts:
    run = replace(
        facts.run,
        upstream=AccessPointFact(facts.run.upstream.ref, *up),
        downstream=AccessPointFact(facts.run.downstream.ref, *down),
    )
    return replace(facts, run=run)


def _run_line(drawing: Drawing) -> Line:
    return next(each for each in drawing.contents if isinstance(each, Line))


@pytest.mark.parametrize(
    ("down", "dx", "dy"),
    [
        ((47.001, 12.0), 0, 1),  # north is up
        ((46.999, 12.0), 0, -1),  # south is down
        ((47.0, 12.001), 1, 0),  # east is right
        ((47.0, 11.999), -1, 0),  # west is left
    ],
)
def test_north_is_up_and_east_is_right(
    tmp_path: Path, down: tuple[float, float], dx: int, dy: int
) -> None:
    """The run points the way its positions say."""
    drawing = plan_map(_moved(example(tmp_path).facts, (47.0, 12.0), down), 480)

    assert drawing is not None
    line = _run_line(drawing)
    found = (line.x2 - line.x1, line.y2 - line.y1)
    assert math.copysign(1, found[0]) == dx or (abs(found[0]) < 0.01 and dx == 0)
    assert math.copysign(1, found[1]) == dy or (abs(found[1]) < 0.01 and dy == 0)


def test_the_scale_bar_is_true(tmp_path: Path) -> None:
    """The bar is as long on paper as its metres are along the drawn run."""
    facts = _moved(example(tmp_path).facts, (47.0, 12.0), (47.0006, 12.0))
    drawing = plan_map(facts, 480)

    assert drawing is not None
    line = _run_line(drawing)
    points_a_metre = (line.y2 - line.y1) / (0.0006 * METRES_A_DEGREE)
    bar = [each for each in drawing.contents if isinstance(each, Rect)][-1]
    metres = bar.width / points_a_metre
    assert metres == pytest.approx(round(metres), rel=1e-6)
    assert round(metres) in {1, 2, 5, 10, 20, 50, 100}


def test_everything_lies_inside_the_frame(tmp_path: Path) -> None:
    """No circle leaves the map, however long the run."""
    facts = _moved(example(tmp_path).facts, (47.0, 12.0), (47.05, 12.3))
    drawing = plan_map(facts, 480)

    assert drawing is not None
    circles = [each for each in drawing.contents if isinstance(each, Circle)]
    assert len(circles) == 3
    assert all(0 < each.cx < 480 and 0 < each.cy < HEIGHT for each in circles)


def test_without_positions_there_is_no_map(tmp_path: Path) -> None:
    """A run whose access points were never surveyed gets no invented map."""
    assert plan_map(example(tmp_path, located=False).facts, 480) is None
