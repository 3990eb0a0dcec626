"""An order file is cut into rows, or refused as a whole with one reason."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.order_file import (
    MAX_ROWS,
    CutRow,
    NotAnOrderFile,
    cut_csv,
    cut_geojson,
)
from repairs.domain.order_row import TOO_MANY, OrderRow, read_order_row
from tests.order_example import TODAY, order_row


def feature(**changed: Any) -> dict[str, Any]:
    """Return a run as a GeoJSON feature: its ends come from the line, not from columns."""
    row = order_row(**changed)
    ends = [
        [float(row.pop(f"{end}_longitude")), float(row.pop(f"{end}_latitude"))]
        for end in ("upstream", "downstream")
    ]
    line = {"type": "LineString", "coordinates": [ends[0], [20.00005, 10.0002], ends[1]]}
    return {"type": "Feature", "geometry": line, "properties": row}


def collection(*features: Any) -> str:
    """Return a FeatureCollection as text."""
    return json.dumps({"type": "FeatureCollection", "features": list(features)})


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_the_heading_decides_the_separator(separator: str) -> None:
    """Comma, semicolon and tab all make a CSV."""
    text = f"work_order{separator}site\nWO-1{separator}S-1\n"

    assert cut_csv(text) == [CutRow({"work_order": "WO-1", "site": "S-1"}, line=2)]


def test_a_byte_order_mark_is_no_part_of_the_first_name() -> None:
    """Spreadsheets put a mark before the first column; it is taken off."""
    assert cut_csv("\ufeffwork_order,site\nWO-1,S-1\n")[0].cells["work_order"] == "WO-1"


def test_a_quoted_cell_may_hold_the_separator_and_a_line_end() -> None:
    """As RFC 4180 says."""
    rows = cut_csv('work_order,note\nWO-1,"one, two\nthree"\n')

    assert [row.cells for row in rows] == [{"work_order": "WO-1", "note": "one, two\nthree"}]


def test_cells_beyond_the_heading_are_kept_to_be_told() -> None:
    """A comma too many never vanishes silently."""
    assert cut_csv("work_order,site\nWO-1,S-1,extra\n")[0].cells[TOO_MANY] == ["extra"]


def test_a_row_knows_the_line_it_begins_on() -> None:
    """As a text editor counts, heading first; empty lines and cells with line ends count too."""
    rows = cut_csv('work_order,note\nA,"one\ntwo"\n\nB,x\n,\nC,y\n')

    assert [(row.cells["work_order"], row.line) for row in rows] == [("A", 2), ("B", 5), ("C", 7)]


@pytest.mark.parametrize("empty", ["", ",,", ", ,", "   "])
def test_a_row_without_content_is_no_row(empty: str) -> None:
    """What a spreadsheet keeps of an emptied line is skipped, wherever it stands."""
    rows = cut_csv(f"a,b,c\n{empty}\n1,2,3\n{empty}\n")

    assert [row.cells for row in rows] == [{"a": "1", "b": "2", "c": "3"}]


def test_a_file_of_empty_rows_is_no_order_file() -> None:
    """Nothing but commas orders nothing."""
    with pytest.raises(NotAnOrderFile):
        cut_csv("a,b,c\n,,\n,,\n")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "   \n",
        "just words\nmore\n",  # no separator anywhere
        "work_order,site\n",  # a heading without a row
        "work_order,site\n" + "a,b\n" * (MAX_ROWS + 1),  # one row too many
        'a,b\n"' + "x" * 200_000 + '",1\n',  # a cell beyond all measure
    ],
)
def test_what_is_no_csv_is_refused_as_a_whole(text: str) -> None:
    """The refusal names the field, what was found and what was expected."""
    with pytest.raises(NotAnOrderFile) as refused:
        cut_csv(text)

    assert refused.value.fault.field == "file"


def test_as_many_rows_as_allowed_are_taken() -> None:
    """The largest file is still a file."""
    assert len(cut_csv("work_order,site\n" + "a,b\n" * MAX_ROWS)) == MAX_ROWS


def test_the_ends_of_a_line_are_the_access_points() -> None:
    """First position upstream, last downstream, longitude before latitude (RFC 7946)."""
    row = cut_geojson(collection(feature()))[0].cells

    assert (row["upstream_longitude"], row["upstream_latitude"]) == (20.0, 10.0)
    assert (row["downstream_longitude"], row["downstream_latitude"]) == (20.0001, 10.0003)


def test_csv_and_geojson_say_the_same() -> None:
    """A row means the same in both files."""
    names = list(order_row())
    line = ",".join(order_row().values())

    from_csv = read_order_row(cut_csv(",".join(names) + "\n" + line + "\n")[0].cells, TODAY)
    from_geojson = read_order_row(cut_geojson(collection(feature()))[0].cells, TODAY)

    assert isinstance(from_csv, OrderRow)
    assert from_csv == from_geojson


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("{", "file"),
        ("[]", "type"),
        ('{"type": "Feature"}', "type"),
        ('{"type": "FeatureCollection"}', "features"),
        ('{"type": "FeatureCollection", "features": {}}', "features"),
        ('{"type": "FeatureCollection", "features": []}', "file"),
        ("[" * 100_000, "file"),  # nesting that would break a careless reader
    ],
)
def test_what_is_no_feature_collection_is_refused(text: str, field: str) -> None:
    """The refusal names the field."""
    with pytest.raises(NotAnOrderFile) as refused:
        cut_geojson(text)

    assert refused.value.fault.field == field


@pytest.mark.parametrize(
    "broken",
    [
        None,
        {"type": "Feature", "geometry": None, "properties": None},
        {"type": "Feature", "geometry": {"type": "Point", "coordinates": [1, 2]}},
        {"type": "Feature", "geometry": {"type": "LineString", "coordinates": [[1, 2]]}},
        {"type": "Feature", "geometry": {"type": "LineString", "coordinates": [7, 8]}},
    ],
)
def test_a_broken_feature_costs_only_itself(broken: Any) -> None:
    """It becomes a row without positions, which is answered by itself."""
    rows = cut_geojson(collection(broken, feature()))

    assert len(rows) == 2
    assert isinstance(read_order_row(rows[0].cells, TODAY), tuple)
    assert isinstance(read_order_row(rows[1].cells, TODAY), OrderRow)


def rows_or_fault(cut: Callable[[str], Any], text: str) -> Any:
    """Return the rows of a file, or why it is none."""
    try:
        return cut(text)
    except NotAnOrderFile as refused:
        return refused.fault


@given(st.text())
def test_any_text_is_cut_or_refused(text: str) -> None:
    """No file makes the cutting fail in another way."""
    for cut in (cut_csv, cut_geojson):
        assert rows_or_fault(cut, text)
