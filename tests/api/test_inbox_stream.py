"""The inbox as server-sent events: read as the standard reads them, resumed where it ended."""

import json
import threading
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.core.signals import request_finished
from django.db import close_old_connections
from hypothesis import given
from hypothesis import strategies as st

from dispatch.api import stream
from dispatch.api.stream import event_id, seen_until
from dispatch.models import Crew
from dispatch.services.escalate import acknowledge, settle
from repairs.models import Account
from tests.callers import API, signed_in, with_token
from tests.factories import now
from tests.proof_factories import NoticeFactory

ADDRESS = f"{API}/notices/stream"


def read_events(text: str) -> list[dict[str, str]]:
    """Read a stream as the HTML standard, section 9.2.6, says: lines, fields, empty lines."""
    events, fields = [], dict[str, str]()
    for line in text.splitlines():
        if line == "":
            if "data" in fields:
                events.append(fields)
            fields = {}
        elif not line.startswith(":"):
            name, _, value = line.partition(":")
            fields[name] = value.removeprefix(" ")
    return events


def asked(account: Account, **headers: str) -> list[dict[str, Any]]:
    """Ask once as a browser does; return id and data of each event."""
    answer = signed_in(account).get(ADDRESS, headers={"Accept": "text/event-stream", **headers})
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/event-stream"
    assert answer["Cache-Control"] == "no-store"
    return [
        {"event_id": each["id"], **json.loads(each["data"])}
        for each in read_events(answer.content.decode())
        if each["event"] == "notice"
    ]


def test_at_first_it_tells_what_waits(crew: Crew, crew_lead: Account) -> None:
    """Open ones only; how soon to ask again stands on top."""
    waits = NoticeFactory(crew=crew, words="Invented\nin two lines.")
    NoticeFactory(crew=crew, settled_at=now())

    (event,) = asked(crew_lead)

    assert (event["id"], event["state"]) == (str(waits.id), "open")
    assert event["words"] == "Invented\nin two lines."
    assert signed_in(crew_lead).get(ADDRESS).content.startswith(b"retry: 5000\n")


def test_it_goes_on_after_the_last_event(crew: Crew, crew_lead: Account) -> None:
    """What changed since then; what changed within half a minute before is sent again."""
    long_ago = NoticeFactory(crew=crew, changed_at=now() - timedelta(minutes=5))
    just_before = NoticeFactory(crew=crew, changed_at=now() - timedelta(seconds=10))
    last = str(event_id(now()))
    after = NoticeFactory(crew=crew)

    found = [event["id"] for event in asked(crew_lead, **{"Last-Event-ID": last})]

    assert found == [str(just_before.id), str(after.id)]
    assert str(long_ago.id) not in found


def test_what_others_did_to_it_comes_too(
    crew: Crew, crew_lead: Account, dispatcher: Account
) -> None:
    """Acknowledged at the office, or settled by the facts: the phone hears of it."""
    one, two = NoticeFactory.create_batch(2, crew=crew, changed_at=now() - timedelta(hours=1))
    last = str(event_id(now()))
    acknowledge(notice=one, by=dispatcher, now=now())
    settle(notice=two, now=now())

    found = {event["id"]: event["state"] for event in asked(crew_lead, **{"Last-Event-ID": last})}

    assert found == {str(one.id): "acknowledged", str(two.id): "settled"}


@pytest.mark.parametrize("hostile", ["yesterday", "-1", "9" * 40, "1.5", ""])
def test_an_id_nobody_was_given_is_as_none(crew: Crew, crew_lead: Account, hostile: str) -> None:
    """It starts from what waits."""
    waits = NoticeFactory(crew=crew, changed_at=now() - timedelta(hours=1))

    found = asked(crew_lead, **{"Last-Event-ID": hostile})

    assert [event["id"] for event in found] == [str(waits.id)]


@given(st.datetimes(datetime(1971, 1, 1), datetime(2200, 1, 1)))  # noqa: DTZ001 - made aware below
def test_an_event_id_leads_back_to_its_instant(at: datetime) -> None:
    """To the microsecond, which is how fine both databases keep it."""
    aware = at.replace(tzinfo=UTC)

    assert seen_until(str(event_id(aware))) == aware


def test_a_parameter_it_does_not_know_is_refused(crew_lead: Account) -> None:
    """As everywhere."""
    answer = with_token(crew_lead).get(ADDRESS, {"since": "now"})

    assert answer.status_code == 422
    assert answer["Content-Type"] == "application/problem+json"


def test_kept_open_it_tells_what_comes_and_ends(
    crew: Crew, crew_lead: Account, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With threads enough a stream stays for its time; each change is told once."""
    settings.STREAM_S = 2
    monkeypatch.setattr(stream, "LOOK_EVERY_S", 0.5)
    answer = signed_in(crew_lead).get(ADDRESS)
    parts = iter(answer.streaming_content)
    assert next(parts).startswith(b"retry:")
    notice = NoticeFactory(crew=crew)

    told = b"".join(parts).decode()
    answer.close()

    assert [json.loads(each["data"])["id"] for each in read_events(told)] == [str(notice.id)]


def test_only_so_many_stay_open(
    crew_lead: Account, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One place: the second is answered at once; when the first is closed there is room again."""
    settings.STREAM_S = 60
    monkeypatch.setattr(stream, "_open", threading.BoundedSemaphore(1))
    client = signed_in(crew_lead)

    first, second = client.get(ADDRESS), client.get(ADDRESS)
    # As the test client itself does: the end of a request closes no connection of the test's.
    request_finished.disconnect(close_old_connections)
    try:
        first.close()
        third = client.get(ADDRESS)
        request_finished.disconnect(close_old_connections)
        third.close()
    finally:
        request_finished.connect(close_old_connections)

    assert (first.streaming, second.streaming, third.streaming) == (True, False, True)
