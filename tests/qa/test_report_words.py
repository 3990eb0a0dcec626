"""How the report says quantities, times and figures."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.platypus import Paragraph

from qa.closeout.report import words

HERE = ZoneInfo("CST6CDT")


def plain(text: str) -> str:
    """Read a no-break space as a space."""
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (words.metres(0.3048), "0.30 m (1.0 ft)"),  # international foot, exact
        (words.metres(62.4, 1), "62.4 m (204.7 ft)"),
        (words.millimetres(254), "254 mm (10.0 in)"),  # inch, exact
        (words.kilograms(0.45359237), "0.45 kg (1.00 lb)"),  # avoirdupois pound, exact
        (words.celsius(0), "0.0 °C (32.0 °F)"),  # water freezes
        (words.celsius(-40), "-40.0 °C (-40.0 °F)"),  # the scales meet
        (
            words.pressure_span(6.894757, 101.325),
            "6.9 to 101.3 kPa (1.0 to 14.7 psi)",
        ),  # atmosphere
        (words.span(119.4), "119 min"),  # minutes while people say minutes
        (words.span(120), "2 h"),
        (words.span(134), "2 h 14 min"),
        (words.span(-14), "14 min"),  # a length; the words beside say before or after
    ],
)
def test_quantities_are_said_in_both_systems(said: str, expected: str) -> None:
    """SI first, US units beside, by the exact definitions."""
    assert plain(said) == expected


@pytest.mark.parametrize(
    ("at", "expected"),
    [
        (
            datetime(2031, 3, 11, 14, 2, tzinfo=UTC),
            "2031-03-11 09:02 UTC\N{MINUS SIGN}05:00",
        ),  # summer time
        (
            datetime(2031, 1, 11, 14, 2, tzinfo=UTC),
            "2031-01-11 08:02 UTC\N{MINUS SIGN}06:00",
        ),  # winter time
        (
            datetime(2031, 1, 1, 2, 0, tzinfo=UTC),
            "2030-12-31 20:00 UTC\N{MINUS SIGN}06:00",
        ),  # still last year
    ],
)
def test_an_instant_is_said_in_the_sites_time(at: datetime, expected: str) -> None:
    """Day, time and offset are those at the site at that instant."""
    assert words.moment(at, HERE) == expected


@pytest.mark.parametrize(
    ("name", "value", "expected"),
    [
        ("least_m", 0.35, "least 0.35 m"),
        ("limit_min", 62.0, "limit 62 min"),  # not metres, not 'in'
        ("diameter_mm", 200, "diameter 200 mm"),  # longest ending wins
        ("oxygen_percent", 20.8, "oxygen 20.8 %"),
        ("kit_lot", "K-1", "kit lot K-1"),  # a text has no unit
        ("upright", True, "upright yes"),
        ("drop_kpa", None, "drop not known"),  # absence is said
    ],
)
def test_a_named_figure_becomes_words(name: str, value: object, expected: str) -> None:
    """The unit in the name moves behind the number."""
    assert plain(words.number_words(name, value)) == expected


@given(st.text(max_size=60))
def test_any_text_can_be_set(text: str) -> None:
    """Whatever people write, a paragraph can be made of it."""
    Paragraph(words.xml(text)).wrap(200, 1000)


@given(st.text(max_size=800), st.integers(20, 400))
def test_a_shortened_text_says_so(text: str, most: int) -> None:
    """A cut text names the file that has the whole; an uncut one is unchanged."""
    short = words.shortened(text, most)

    assert short == text if len(text) <= most else short.endswith("(whole text in record.json)")
    assert len(short) <= max(len(text), most + 40)


@pytest.mark.parametrize(
    ("seconds", "said"), [(0, "0 s"), (61, "61 s"), (119, "119 s"), (120, "2 min"), (840, "14 min")]
)
def test_a_short_silence_is_said_in_seconds(seconds: float, said: str) -> None:
    """Half a minute between two readings is no '0 min'."""
    assert plain(words.gap(seconds)) == said
