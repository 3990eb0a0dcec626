"""Texts for programs, said on the clock of a site."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.as_sentence import as_sentence
from qa.domain.site_clock import on_site_clock, with_site_clock
from qa.pages.verdict_lines import verdict_line

QUARTERS = st.integers(-4 * 12, 4 * 14).map(lambda n: timezone(timedelta(minutes=15 * n)))
MINUTES = st.integers(0, 4_000_000_000 // 60).map(lambda n: datetime.fromtimestamp(60 * n, UTC))


@pytest.mark.parametrize(
    ("words", "zone", "said"),
    [
        (
            "Hold = max(late, chart time) = 151.9 min, until 2026-11-27T15:52:27+00:00.",
            "Etc/GMT+1",  # one hour west of Greenwich: tz's own sign is the other way
            "Hold = max(late, chart time) = 151.9 min, until 2026-11-27 14:52:27 (UTC-01:00).",
        ),
        (
            "permit 7 holds 2026-07-01T22:30+00:00 to 2026-07-02T04:00+00:00",
            "CET",  # summer time, and another day
            "permit 7 holds 2026-07-02 00:30 (UTC+02:00) to 2026-07-02 06:00 (UTC+02:00)",
        ),
        ("since 2026-11-27T13:20:04.250Z", "UTC", "since 2026-11-27 13:20:04 (UTC+00:00)"),
        ("lot 2026-11-27 is in date", "CET", "lot 2026-11-27 is in date"),  # a day, no instant
        ("at 2026-13-27T13:20:04Z", "CET", "at 2026-13-27T13:20:04Z"),  # no thirteenth month
        ("at 0001-01-01T00:00+00:00", "EST5EDT", "at 0001-01-01T00:00+00:00"),  # before all clocks
        ("at 2026-11-27T13:20:04", "CET", "at 2026-11-27T13:20:04"),  # without zone: no instant
    ],
)
def test_instants_in_a_text_are_said_on_the_sites_clock(words: str, zone: str, said: str) -> None:
    """Seconds stay where they were given; what is no instant stays as it is."""
    assert with_site_clock(words, zone) == said


@given(MINUTES, QUARTERS, st.sampled_from(["UTC", "CET", "EST5EDT", "Etc/GMT+1"]))
def test_any_offset_gives_the_same_clock(instant: datetime, offset: timezone, zone: str) -> None:
    """An instant is one instant, whichever offset it was written with."""
    there = instant.astimezone(offset).isoformat(timespec="minutes")

    assert with_site_clock(f"<{there}>", zone) == f"<{on_site_clock(instant, zone)}>"


@given(st.text())
def test_a_sentence_is_a_sentence_only_once(words: str) -> None:
    """Said twice it is the same; it ends with a stop unless there is nothing to say."""
    said = as_sentence(words)

    assert as_sentence(said) == said
    assert said == "" if not words.strip() else said.endswith((".", "!", "?"))


def test_a_page_says_a_verdict_on_the_sites_clock() -> None:
    """The stored reason is half a sentence in UTC."""
    row = {
        "code": "safe_entry",
        "title": "Entry on record",
        "outcome": "not met",
        "reason": "the crew left at 2026-11-27T15:52:27+00:00",
        "settle": "ask who was inside until 2026-11-27T15:52:27+00:00",
    }

    line = verdict_line(row, "Etc/GMT+1")

    assert line.reason == "The crew left at 2026-11-27 14:52:27 (UTC-01:00)."
    assert line.settle == "Ask who was inside until 2026-11-27 14:52:27 (UTC-01:00)."
