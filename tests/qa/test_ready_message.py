"""The letter that says a package is ready, and the same for programs."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.ready_message import (
    ReadyCollection,
    ReadyMessage,
    ReadyRepair,
    data_of,
    kind_of,
    letter_of,
    subject_of,
)
from qa.domain.site_clock import on_site_clock

FIRST = datetime(1975, 1, 1)  # noqa: DTZ001 - hypothesis wants it without its zone
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
REPAIR = ReadyRepair(
    order="WO-7",
    ref="REP-1",
    attempt=2,
    run="RUN-3",
    street="Invented Lane",
    answer_by=NOON + timedelta(days=14),
)
READY = ReadyMessage(
    of=REPAIR,
    id="p-1",
    file_name="WO-7-REP-1-attempt-2.zip",
    sha256="ab" * 32,
    size_bytes=123_456,
    ready_at=NOON,
    link="https://repairs.example/shared/token",
    link_ends_at=NOON + timedelta(days=7),
    page="https://repairs.example/packages/p-1",
    contractor="Invented Pipe Repairs",
    zone="CET",
)


def test_the_letter_says_all_of_it_in_plain_words() -> None:
    """Which repair, how to fetch it and until when, what to compare, and when to answer."""
    letter = letter_of(READY)

    for words in (
        "The closeout package of repair REP-1 is ready, from Invented Pipe Repairs.",
        "Order    WO-7",
        "Repair   REP-1, attempt 2",
        "Run      RUN-3, Invented Lane",
        "File     WO-7-REP-1-attempt-2.zip",
        "Size     123456 bytes",
        f"SHA-256  {'ab' * 32}",
        "until 2026-12-02 13:00 (UTC+01:00):\nhttps://repairs.example/shared/token\n",
        "signed in:\nhttps://repairs.example/packages/p-1\n",
        "python3 KEPT/verify_package.py FOLDER --key ID",
        "Your answer is expected by 2026-12-09 13:00 (UTC+01:00)",
    ):
        assert words in letter
    assert "invented data" not in letter
    assert "invented data" in letter_of(replace(READY, invented=True))
    assert subject_of(READY) == "WO-7, REP-1: the closeout package is ready"


def test_a_program_reads_the_same() -> None:
    """Instants with their zone, the size as a number; it is JSON."""
    data = json.loads(json.dumps(data_of(READY)))

    assert kind_of(READY) == "curewright.package.ready"
    assert data == {
        "id": "p-1",
        "work_order": "WO-7",
        "repair": "REP-1",
        "attempt": 2,
        "run": "RUN-3",
        "street": "Invented Lane",
        "answer_by": "2026-12-09T12:00:00+00:00",
        "file_name": "WO-7-REP-1-attempt-2.zip",
        "sha256": "ab" * 32,
        "size_bytes": 123_456,
        "ready_at": "2026-11-25T12:00:00+00:00",
        "link": "https://repairs.example/shared/token",
        "link_ends_at": "2026-12-02T12:00:00+00:00",
        "page": "https://repairs.example/packages/p-1",
    }


@pytest.mark.parametrize(
    ("packages", "open_ones", "holds"),
    [
        (1, (), "Holds    1 package\nFile"),
        (3, ("REP-4", "REP-5"), "Holds    3 packages\nNot yet  REP-4, REP-5 (not closed"),
    ],
)
def test_a_collected_package_says_what_it_holds_and_asks_for_no_answer(
    packages: int, open_ones: tuple[str, ...], holds: str
) -> None:
    """Its packages are answered one by one."""
    collected = replace(READY, of=ReadyCollection("2026-11", packages, open_ones), zone="UTC")
    letter, data = letter_of(collected), data_of(collected)

    assert holds in letter
    assert "The collected package of 2026-11 is ready" in letter
    assert "answer is expected" not in letter
    assert kind_of(collected) == "curewright.collection.ready"
    assert "answer_by" not in data
    assert (data["packages"], data["not_closed"]) == (packages, list(open_ones))
    assert subject_of(collected) == "2026-11: the collected package is ready"


@given(
    at=st.datetimes(timezones=st.just(UTC), min_value=FIRST),
    zone=st.sampled_from(["UTC", "CET", "Asia/Kolkata", "America/St_Johns", "Pacific/Apia"]),
)
def test_an_instant_on_a_sites_clock_is_that_instant(at: datetime, zone: str) -> None:
    """Python's own reader of ISO 8601 takes it back, to the minute."""
    day, clock, apart = on_site_clock(at, zone).replace("(UTC", "").rstrip(")").split()

    read = datetime.fromisoformat(f"{day}T{clock}{apart}")
    assert read == at.replace(second=0, microsecond=0)
    assert read.utcoffset() == at.astimezone(ZoneInfo(zone)).utcoffset()
