"""One row of an order: read into SI, or every cell that is wrong named."""

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.order_row import (
    TOO_MANY,
    OrderRow,
    columns_not_understood,
    read_order_row,
)
from tests.order_example import TODAY, order_row


def read(**changed: Any) -> OrderRow:
    """Return the row that is understood."""
    found = read_order_row(order_row(**changed), TODAY)
    assert isinstance(found, OrderRow), found
    return found


def wrong(**changed: Any) -> list[str]:
    """Return the names of the cells that are told as wrong."""
    found = read_order_row(order_row(**changed), TODAY)
    assert isinstance(found, tuple), found
    return [fault.field for fault in found]


def test_a_good_row_is_read() -> None:
    """Words, numbers, dates and yes or no come out as they were meant."""
    found = read()

    assert (found.diameter_mm, found.length_m, found.distance_m) == (300.0, 40.0, 14.2)
    assert (found.filmed_on, found.roots, found.deposits) == (date(2026, 10, 1), False, None)
    assert (found.upstream_latitude, found.upstream_longitude) == (10.0, 20.0)


@pytest.mark.parametrize(
    ("given_as", "field", "si"),
    [
        ({"diameter_mm": "", "diameter_in": "12"}, "diameter_mm", 304.8),  # exact: 25.4 mm an inch
        ({"length_m": "", "length_ft": "100"}, "length_m", 30.48),  # exact: 0.3048 m a foot
        ({"distance_m": "", "distance_ft": "10"}, "distance_m", 3.048),
        ({"host_limit_psi": "10"}, "host_limit_kpa", 68.94757),  # NIST SP 811, appendix B.8
        ({"host_limit_bar": "0.5"}, "host_limit_kpa", 50.0),
        ({"depth_ft": "10"}, "depth_m", 3.048),
    ],
)
def test_us_and_si_columns_mean_the_same(given_as: dict[str, str], field: str, si: float) -> None:
    """A quantity may come in the unit that its column names."""
    assert getattr(read(**given_as), field) == pytest.approx(si, rel=1e-6)


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({"work_order": ""}, ["work_order"]),
        ({"work_order": "x" * 61}, ["work_order"]),  # one letter more than the record holds
        ({"street": "x" * 201}, ["street"]),
        ({"defect_code": "x" * 11}, ["defect_code"]),
        ({"material": "con\x00crete"}, ["material"]),  # PostgreSQL cannot hold a NUL
        ({"note": "half \ud83d"}, ["note"]),
        ({"time_zone": "Mars/Base"}, ["time_zone"]),
        ({"time_zone": ""}, ["time_zone"]),
        ({"upstream_latitude": "90.1"}, ["upstream_latitude"]),
        ({"upstream_longitude": "-180.1"}, ["upstream_longitude"]),
        ({"downstream_latitude": "north"}, ["downstream_latitude"]),
        ({"downstream_longitude": ""}, ["downstream_longitude"]),
        ({"diameter_mm": "49.9"}, ["diameter_mm"]),  # too narrow for any packer
        ({"diameter_mm": "3000.1"}, ["diameter_mm"]),
        ({"diameter_mm": ""}, ["diameter_mm"]),
        ({"diameter_in": "12"}, ["diameter_mm"]),  # two columns filled: which one counts?
        ({"length_m": "NaN"}, ["length_m"]),
        ({"length_m": "inf"}, ["length_m"]),
        ({"length_m": "0"}, ["length_m"]),
        ({"length_m": "forty"}, ["length_m"]),
        ({"distance_m": "-0.1"}, ["distance_m"]),
        ({"distance_m": "40.1"}, ["distance_m"]),  # beyond the end of the run
        ({"datum": "AP-9"}, ["datum"]),  # no end of this run
        ({"downstream": "AP-1"}, ["downstream"]),  # a run has two ends
        ({"downstream_latitude": "10.00041"}, ["length_m"]),  # 46.9 m apart, a pipe of 40 m
        ({"upstream_latitude": "20", "upstream_longitude": "10"}, ["length_m"]),  # exchanged
        ({"filmed_on": "2026-11-26"}, ["filmed_on"]),  # tomorrow, wherever one is
        ({"not_before": "2026-12-01T08:00:00"}, ["not_before"]),  # no offset: whose eight?
        ({"not_after": "next week"}, ["not_after"]),
        (
            {"not_before": "2026-12-01T08:00:00Z", "not_after": "2026-12-01T08:00:00+01:00"},
            ["not_after"],  # an hour before it begins
        ),
        ({"clock_from": "0"}, ["clock_from"]),
        ({"clock_from": "13"}, ["clock_from"]),
        ({"clock_to": "1.5"}, ["clock_to"]),
        ({"filmed_on": "01.10.2026"}, ["filmed_on"]),
        ({"infiltration": "wet"}, ["infiltration"]),
        ({"roots": "maybe"}, ["roots"]),
        ({"deformation_percent": "101"}, ["deformation_percent"]),
        ({"too many cells": ["x"]}, ["row"]),  # a comma that was not quoted shifts all behind it
        ({"site": "", "repair": "", "roots": "?"}, ["site", "repair", "roots"]),  # all at once
    ],
)
def test_each_wrong_cell_is_named(changed: dict[str, Any], expected: list[str]) -> None:
    """A row that is not understood says which cells, what was found and what was expected."""
    assert wrong(**changed) == expected


@pytest.mark.parametrize(
    "changed",
    [
        {"work_order": "x" * 60},
        {"diameter_mm": "50"},
        {"diameter_mm": "3000"},
        {"length_m": "35", "distance_m": "35"},  # the defect lies just at the end
        {"distance_m": "0"},
        {"distance_m": "40"},
        {"datum": "AP-2"},  # measured from downstream
        {"clock_from": "12", "clock_to": "1"},  # over the crown
        {"downstream_latitude": "10.000398"},  # 45.6 m apart, a pipe of 40 m: 46 m is allowed
        {"filmed_on": "2026-11-25"},  # today
        {"not_before": "2026-12-01T08:00:00Z", "not_after": "2026-12-01T08:00:01Z"},
        {
            "upstream_latitude": "-90",
            "upstream_longitude": "180",
            "downstream_latitude": "-90",
            "downstream_longitude": "-180",
        },
        {"roots": "TRUE"},
        {"infiltration": "Running"},
        {"filmed_on": ""},
        {"street": ""},
    ],
)
def test_the_last_step_inside_each_limit_is_taken(changed: dict[str, Any]) -> None:
    """What is just allowed is understood."""
    read(**changed)


def test_a_geojson_number_is_as_good_as_a_csv_word() -> None:
    """JSON gives numbers and true where CSV gives text; both say the same."""
    spoken = order_row(diameter_mm=300, length_m=40.0, roots=False, upstream_latitude=10)

    assert read_order_row(spoken, TODAY) == read_order_row(order_row(), TODAY)


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({"diameter_mm": "3"}, "a value from 50 to 3000 mm"),
        ({"diameter_mm": "", "diameter_in": "1"}, "a value from 1.969 to 118.1 in"),
        ({"length_m": "9999"}, "a value from 0.1 to 5000 m"),
        ({"length_m": "", "length_ft": "0"}, "a value from 0.3281 to 16400 ft"),
        ({"host_limit_psi": "999"}, "a value from 0 to 145 psi"),
    ],
)
def test_a_range_is_told_in_the_unit_of_its_column(changed: dict[str, str], expected: str) -> None:
    """Nobody has to convert to find out what would be right."""
    found = read_order_row(order_row(**changed), TODAY)

    assert isinstance(found, tuple)
    assert expected in [fault.expected for fault in found]


def test_a_pipe_shorter_than_its_straight_line_names_both() -> None:
    """Length and distance stand side by side, so that one sees which is wrong."""
    found = read_order_row(order_row(downstream_latitude="10.0013"), TODAY)

    assert isinstance(found, tuple)
    assert found[0].found == (
        "40.00 m (131.234 ft), and 145 m (475.6 ft) in a straight line between the two positions"
    )


def test_columns_nobody_knows_are_named_as_they_are_written() -> None:
    """A known column counts in any case and with blanks around it; each other is named once."""
    rows = [
        {" Work_Order ": "WO-1", "Diametre_mm": "3", "length_ft": "1"},
        {"Diametre_mm": "", "Colour": "blue", TOO_MANY: ["x"]},
    ]

    assert columns_not_understood(rows) == ("Diametre_mm", "Colour")


def test_every_column_of_a_good_row_is_known() -> None:
    """The example has no column that says nothing."""
    assert columns_not_understood([order_row(not_before="", depth_ft="", host_limit_bar="")]) == ()


@given(
    st.dictionaries(
        st.sampled_from([*order_row(), "depth_ft", "clock_from", "offset_mm", "note", "not_after"]),
        st.none() | st.booleans() | st.floats() | st.text() | st.lists(st.text(), max_size=2),
    )
)
def test_whatever_stands_in_a_cell_is_answered(cells: dict[str, Any]) -> None:
    """No content makes reading fail: a row or its faults come out, each with its field."""
    found = read_order_row({**order_row(), **cells}, TODAY)

    assert isinstance(found, OrderRow) or all(fault.field and fault.expected for fault in found)


@given(mm=st.floats(50, 3000))
def test_inches_and_millimetres_agree(mm: float) -> None:
    """The same bore given in inches is the same bore, to a thousandth of a millimetre."""
    inches = read(diameter_mm="", diameter_in=repr(min(max(mm, 50.001), 2999.999) / 25.4))

    assert inches.diameter_mm == pytest.approx(min(max(mm, 50.001), 2999.999), abs=1e-3)


@pytest.mark.parametrize(
    ("changed", "field", "found"),
    [
        (  # 60 ft from the datum in a pipe of 52.5 ft; the foot is exact
            {"length_m": "", "length_ft": "52.5", "distance_m": "", "distance_ft": "60",
             "downstream_latitude": "10.0", "downstream_longitude": "20.0001"},
            "distance_ft", "18.29 m (60.000 ft)",
        ),
        (  # a pipe of 20 ft between ends that lie a kilometre apart
            {"length_m": "", "length_ft": "20", "distance_m": "", "distance_ft": "10",
             "downstream_latitude": "10.01"},
            "length_ft", "6.10 m (20.000 ft), and ",
        ),
        ({"diameter_in": "12", "diameter_mm": "", "diameter_cm": "30"},
         "diameter_in", "2 columns filled"),
    ],
)  # fmt: skip
def test_a_fault_names_the_column_that_was_sent(
    changed: dict[str, str], field: str, found: str
) -> None:
    """Whoever sent feet finds no column in metres in the file."""
    faults = read_order_row(order_row(**changed), TODAY)
    assert isinstance(faults, tuple), faults

    (fault,) = faults
    assert fault.field == field
    assert fault.found.startswith(found)
