"""What each kind of field event carries, and how a value too few or too many is told."""

from datetime import datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.event_data import CARRIES, read_data
from repairs.domain.event_values import MOST_SLEEVES, Carried
from repairs.domain.field_event import EventKind
from repairs.domain.units import Dimension
from tests.field_sequence import quantity

K = EventKind
PSI_KPA = 6.894757
"""Source: NIST SP 811, appendix B.8 (kilopascals in one psi, seven digits)."""

SAMPLES: dict[Any, Any] = {
    Dimension.LENGTH: quantity(14.2, "m"),
    Dimension.PRESSURE: quantity(4.8, "psi"),
    Dimension.TEMPERATURE: quantity(15, "degC"),
    Dimension.MASS: quantity(1.6, "kg"),
    Dimension.DURATION: quantity(5, "min"),
    str: "words",
    bool: True,
    float: 20.9,
    list: ["gloves"],
    datetime: "2031-03-14T07:00:00+01:00",
    int: 1,
}


def sample(item: Carried) -> Any:
    """Return a value that is right for an item."""
    return item.what[0] if isinstance(item.what, tuple) else SAMPLES[item.what]


def full(kind: EventKind) -> dict[str, Any]:
    """Return everything an event of a kind may carry."""
    return {item.name: sample(item) for item in CARRIES[kind]}


@pytest.mark.parametrize("kind", EventKind)
def test_every_kind_is_in_the_table_and_can_be_read(kind: EventKind) -> None:
    """Whatever the table says a kind carries is read without a fault."""
    kept, faults, unknown = read_data(kind, full(kind))

    assert faults == ()
    assert unknown == ()
    assert len(kept) == len(CARRIES[kind])


@pytest.mark.parametrize(
    ("kind", "item"),
    [(kind, item) for kind, items in CARRIES.items() for item in items],
    ids=lambda value: getattr(value, "name", str(value)),
)
def test_only_what_is_required_may_not_be_missing(kind: EventKind, item: Carried) -> None:
    """Leaving a value out is a fault of that field exactly when it is required."""
    sent = full(kind)
    del sent[item.name]

    _, faults, _ = read_data(kind, sent)

    assert [fault.field for fault in faults] == ([f"data.{item.name}"] if item.required else [])


def test_a_quantity_is_kept_in_si_under_a_name_with_its_unit() -> None:
    """4.8 psi is kept as 33.09 kPa."""
    kept, _, _ = read_data(K.INFLATED, {"pressure": quantity(4.8, "psi")})

    assert kept["pressure_kpa"] == pytest.approx(4.8 * PSI_KPA, rel=1e-6)
    assert "pressure" not in kept


@pytest.mark.parametrize(
    ("kind", "name", "value"),
    [
        (K.INFLATED, "pressure", 4.8),  # a bare number has no unit
        (K.INFLATED, "pressure", {"value": 4.8}),  # likewise
        (K.INFLATED, "pressure", {"value": "4.8", "unit": "psi"}),  # text is no number
        (K.INFLATED, "pressure", {"value": True, "unit": "psi"}),  # nor is true
        (K.INFLATED, "pressure", quantity(4.8, "bananas")),
        (K.INFLATED, "pressure", quantity(4.8, "m")),  # a length is no pressure
        (K.INFLATED, "pressure", quantity(float("nan"), "psi")),
        (K.INFLATED, "pressure", quantity(float("inf"), "psi")),
        (K.TEMPERATURE_READ, "temperature", quantity(-274, "degC")),  # below absolute zero
        (K.TEMPERATURE_READ, "where", "the pipe"),  # not one of the words
        (K.TEMPERATURE_READ, "where", ["air"]),
        (K.INFLATED, "pressure", quantity(-0.1, "kPa")),  # a gauge shows nothing below none
        (K.PLACED, "distance", quantity(-0.01, "m")),
        (K.MIXING_STARTED, "mass_a", quantity(-1, "g")),
        (K.HOLD_TEST_DONE, "duration", quantity(0, "min")),  # a test takes time
        (K.HOLD_TEST_DONE, "gauge_resolution", quantity(0, "kPa")),  # every gauge has steps
        (K.INFLATED, "sleeve", 0),  # sleeves are counted from 1
        (K.INFLATED, "sleeve", MOST_SLEEVES + 1),
        (K.INFLATED, "sleeve", True),
        (K.INFLATED, "sleeve", 1.5),
        (K.INSPECTED, "clean", "yes"),  # a word is not yes or no
        (K.INSPECTED, "clean", 1),
        (K.LOADED_OUT, "packer", "  "),  # a blank name names nothing
        (K.LOADED_OUT, "packer", 7),
        (K.MADE_SAFE, "permit_from", "2031-03-14T07:00:00"),  # of which zone?
        (K.MADE_SAFE, "permit_until", "noon"),
        (K.MADE_SAFE, "permit_until", 7),
        (K.LOADED_OUT, "checked", "gloves"),  # a list was asked for
        (K.MADE_SAFE, "oxygen_percent", "20.9"),
        (K.MADE_SAFE, "oxygen_percent", float("nan")),
    ],
)
def test_a_value_of_another_form_is_a_fault_of_its_field(
    kind: EventKind, name: str, value: Any
) -> None:
    """The fault names the field, what was found and what is expected."""
    _, faults, _ = read_data(kind, {**full(kind), name: value})

    assert [fault.field for fault in faults] == [f"data.{name}"]
    assert faults[0].expected
    assert faults[0].found


@pytest.mark.parametrize(
    ("kind", "name", "value"),
    [
        (K.INFLATED, "pressure", quantity(0, "psi")),
        (K.PLACED, "distance", quantity(0, "m")),
        (K.HOLD_TEST_DONE, "duration", quantity(0.1, "s")),
        (K.INFLATED, "sleeve", 1),
        (K.INFLATED, "sleeve", MOST_SLEEVES),
        (K.TEMPERATURE_READ, "temperature", quantity(-5, "degC")),  # frost is a temperature
    ],
)
def test_the_last_step_inside_each_limit_is_taken(kind: EventKind, name: str, value: Any) -> None:
    """What is just allowed is read."""
    _, faults, _ = read_data(kind, {**full(kind), name: value})

    assert faults == ()


@pytest.mark.parametrize("word", ["yes", 1, None, []])
def test_taking_back_is_a_clear_yes_or_no(word: Any) -> None:
    """Anything else is a fault: an event must not vanish for a word somebody misread."""
    _, faults, _ = read_data(K.ARRIVED, {"taken_back": word})

    assert [fault.field for fault in faults] == ["data.taken_back"]


def test_all_faults_are_told_at_once() -> None:
    """A mixing without anything lists each of its required values."""
    _, faults, _ = read_data(K.MIXING_STARTED, {})

    assert [fault.field for fault in faults] == [
        f"data.{name}" for name in ("resin_temperature", "kit_lot", "lot_a", "lot_b")
    ]


def test_a_word_too_many_is_kept_and_named() -> None:
    """A fact is not refused for what nobody understands: it is kept as it came."""
    kept, faults, unknown = read_data(K.ARRIVED, {"weather": "rain", "note": "late"})

    assert kept == {"not_understood": {"weather": "rain"}, "note": "late"}
    assert faults == ()
    assert unknown == ("weather",)


def test_taking_back_needs_nothing_else() -> None:
    """An event that only takes another one back carries no values."""
    kept, faults, unknown = read_data(K.MIXING_STARTED, {"taken_back": True})

    assert (kept, faults, unknown) == ({"taken_back": True}, (), ())


json_values = st.recursive(
    st.none() | st.booleans() | st.integers(-9, 9) | st.floats() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=2)
        | st.dictionaries(st.sampled_from(["value", "unit", ""]), inner, max_size=3)
    ),
    max_leaves=4,
)


@given(
    kind=st.sampled_from(EventKind),
    sent=st.dictionaries(
        st.sampled_from(sorted({i.name for items in CARRIES.values() for i in items})),
        json_values,
        max_size=6,
    ),
)
def test_whatever_is_sent_is_kept_or_told(kind: EventKind, sent: dict[str, Any]) -> None:
    """Reading never fails, and nothing that was sent vanishes without a word."""
    kept, faults, _ = read_data(kind, sent)

    told = {fault.field.removeprefix("data.") for fault in faults}
    gone = {
        name
        for name, value in sent.items()
        if value is not None
        and name not in told
        and not any(k.startswith(name) for k in (*kept, *kept.get("not_understood", {})))
    }
    assert gone == set()


def test_a_word_too_many_cannot_pass_for_a_value() -> None:
    """A name that only an SI value has is kept apart from the value that was understood."""
    kept, faults, unknown = read_data(
        K.TEMPERATURE_READ,
        {"temperature": quantity(12, "degC"), "where": "pipe_wall", "temperature_c": "abc"},
    )

    assert faults == ()
    assert kept["temperature_c"] == 12.0
    assert unknown == ("temperature_c",)


def test_a_time_is_kept_in_utc() -> None:
    """The permit's hours come in the zone of the site."""
    kept, _, _ = read_data(K.MADE_SAFE, {"permit_from": "2031-03-14T07:00:00+01:00"})

    assert kept == {"permit_from": "2031-03-14T06:00:00+00:00"}
