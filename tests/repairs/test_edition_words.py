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
        ("distance_m", 12.3, 13.2, "distance 12.30 m (40.354 ft) became 13.20 m (43.307 ft)"),
        ("diameter_mm", 200, 250, "diameter 200 mm (7.9 in) became 250 mm (9.8 in)"),
        ("host_limit_kpa", None, 60.0, "host limit (nothing) became 60.0 kPa (8.70 psi)"),
        # 52 ft as an order file has them, exact: 15.8496 m is not said with all its digits
        ("distance_m", 9.144, 15.8496, "distance 9.14 m (30.000 ft) became 15.85 m (52.000 ft)"),
        (
            "distance_m",
            12.301,
            12.304,
            "distance 12.301 m (40.3576 ft) became 12.304 m (40.3675 ft)",
        ),
        ("deformation_percent", 4.0, 5.5, "deformation 4 % became 5.5 %"),
        ("datum_id", "MH-1", "MH-2", "datum MH-1 became MH-2"),
        ("roots", None, False, "roots (nothing) became no"),
        ("windows", [], [{}, {}], "windows (nothing) became 2 of them"),
        ("note", "steep", "", "note steep became (nothing)"),
    ],
)
def test_a_change_is_said_with_its_unit(name: str, old: object, new: object, words: str) -> None:
    """Nothing, yes and no are words; a measure is said in both systems, to usual digits."""
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
