"""What a correction changed, in words; and a record's values as JSON holds them."""

import json
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.edition_words import changed_words
from repairs.domain.plain import plain, stamp

VALUES = st.none() | st.booleans() | st.integers(-5, 5) | st.text(max_size=5)
EDITIONS = st.dictionaries(st.sampled_from(["distance_m", "note", "datum_id", "roots"]), VALUES)


@pytest.mark.parametrize(
    ("name", "old", "new", "words"),
    [
        ("distance_m", 12.3, 13.2, "distance 12.3 m became 13.2 m"),
        ("diameter_mm", 200, 250, "diameter 200 mm became 250 mm"),
        ("host_limit_kpa", None, 60.0, "host limit (nothing) became 60 kPa"),
        ("datum_id", "MH-1", "MH-2", "datum MH-1 became MH-2"),
        ("roots", None, False, "roots (nothing) became no"),
        ("windows", [], [{}, {}], "windows (nothing) became 2 of them"),
        ("note", "steep", "", "note steep became (nothing)"),
    ],
)
def test_a_change_is_said_with_its_unit(name: str, old: object, new: object, words: str) -> None:
    """Nothing, yes and no are words; a number has the unit of its column."""
    assert changed_words({name: old}, {name: new}) == (words,)


@given(EDITIONS, EDITIONS)
def test_only_what_differs_is_said(before: dict[str, object], after: dict[str, object]) -> None:
    """The same edition twice says nothing; each value that differs is said once."""
    assert changed_words(after, after) == ()
    differing = [name for name in after if before.get(name) != after[name]]
    assert len(changed_words(before, after)) == len(differing)


def test_values_are_the_same_text_on_every_database() -> None:
    """Times in UTC to the microsecond, exact decimals with their digits, ids as text."""
    far_east = timezone(timedelta(hours=9))
    one = UUID("8c8f8a3e-4a0e-4a7e-9f6e-1b2c3d4e5f60")
    values = (datetime(2031, 3, 14, 9, tzinfo=far_east), date(2031, 3, 14), Decimal("1.50"), one)

    assert plain({"a": values}) == {
        "a": ["2031-03-14T00:00:00.000000Z", "2031-03-14", "1.50", str(one)]
    }
    assert json.loads(json.dumps(plain(values))) == plain(values)
    assert stamp(datetime(2031, 3, 14, tzinfo=UTC)) == "2031-03-14T00:00:00.000000Z"
    with pytest.raises(ValueError, match="no zone"):
        stamp(datetime(2031, 3, 14))  # noqa: DTZ001 - without a zone on purpose
