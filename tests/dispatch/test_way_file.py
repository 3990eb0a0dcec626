"""Known ways as a file: a line a way, each told what is wrong with it."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.plan.travel import LatLon, Way
from dispatch.domain.way_file import read_ways
from repairs.domain.order_file import CutRow

GOOD = {
    "from_latitude": "10",
    "from_longitude": "20",
    "to_latitude": "10.05",
    "to_longitude": "20",
    "minutes": "40",
    "distance_km": "30",
}
THERE = (LatLon(10.0, 20.0), LatLon(10.05, 20.0))


def read(*changes: dict[str, Any]) -> Any:
    """Read a good line for each change, from line 2."""
    rows = [CutRow(GOOD | change, number) for number, change in enumerate(changes, start=2)]
    return read_ways(rows)


@pytest.mark.parametrize(
    ("distance", "metres"),
    [
        ({"distance_km": "30"}, 30_000),
        ({"distance_km": "", "distance_m": "900"}, 900),
        ({"distance_km": "", "distance_mi": "10"}, 16_093),
    ],
)
def test_a_way_in_whichever_unit(distance: dict[str, str], metres: int) -> None:
    """The international mile is 1609.344 m."""
    (found,) = read(distance)

    assert found.ways == ((THERE, Way(2400, metres)),)


def test_a_line_for_both_ways() -> None:
    """There and back alike."""
    (found,) = read({"both_ways": "yes", "note": "invented bridge"})

    assert dict(found.ways) == {THERE: Way(2400, 30_000), THERE[::-1]: Way(2400, 30_000)}
    assert found.note == "invented bridge"


WRONG: list[tuple[dict[str, Any], str]] = [
    ({"from_latitude": "95"}, "from_latitude"),
    ({"to_longitude": "nan"}, "to_longitude"),
    ({"minutes": ""}, "minutes"),
    ({"minutes": "0"}, "minutes"),
    ({"minutes": "16667"}, "minutes"),
    ({"distance_km": ""}, "distance_m"),
    ({"distance_mi": "3"}, "distance_m"),
    ({"distance_km": "-1"}, "distance_km"),
    ({"distance_km": "10001"}, "distance_km"),
    ({"both_ways": "perhaps"}, "both_ways"),
    ({"note": "x" * 201}, "note"),
    ({"to_latitude": "10.00004"}, "to_latitude"),
]


@pytest.mark.parametrize(("change", "field"), WRONG)
def test_what_is_wrong_is_named(change: dict[str, Any], field: str) -> None:
    """The line beside it is read all the same."""
    bad, good = read(change, {})

    assert (bad.ways, [fault.field for fault in bad.faults]) == ((), [field])
    assert good.ways
    assert not good.faults


def test_a_way_five_times_its_way_back_is_a_slip_of_one_of_them() -> None:
    """Both lines are told, since nobody can say which it is."""
    back = {"from_latitude": "10.05", "to_latitude": "10", "minutes": "7"}

    found = read({}, back)

    assert [each.faults[0].found for each in found] == ["40, and 7 back", "7, and 40 back"]
    assert [each.faults for each in read({}, back | {"minutes": "8"})] == [(), ()]


cells = st.sampled_from(["10", "20", "40", "yes", ""]) | st.text(max_size=9)
lines = st.dictionaries(st.sampled_from([*GOOD, "note", "both_ways"]), cells)


@given(st.lists(lines.map(lambda line: GOOD | line), max_size=4))
def test_any_line_is_read_or_told(rows: list[dict[str, str]]) -> None:
    """Never both, and never neither."""
    found = read_ways([CutRow(row, number) for number, row in enumerate(rows)])

    assert [each.line for each in found] == list(range(len(rows)))
    assert all(bool(each.ways) != bool(each.faults) for each in found)
