"""The reference client against a running server: written down without a signal, sent once."""

import hashlib
import random
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import requests

from docs.field_client import FieldClient, NoSignalError, main
from tests.live_server import TIMEOUT_S, Live

pytestmark = pytest.mark.slow
NOWHERE = "http://127.0.0.1:9"
"""The port of discard: nobody listens there."""


@pytest.fixture
def phone(live: Live, tmp_path: Path) -> FieldClient:
    """Return a phone of the crew that has no signal yet."""
    client = FieldClient(tmp_path / "phone.sqlite3")
    client.set_up(url=NOWHERE, token=live.told["crew_token"], device="invented phone")
    return client


def _signal(phone: FieldClient, live: Live) -> None:
    phone.set_up(url=live.base_url, token=live.told["crew_token"], device="invented phone")


def test_a_day_without_signal_arrives_whole(live: Live, phone: FieldClient, tmp_path: Path) -> None:
    """Thirty events and a film wait; with a signal they are sent; again sends nothing."""
    repair, began = live.told["repair"], datetime.now(UTC) - timedelta(hours=5)
    film = tmp_path / "film.mp4"
    film.write_bytes(random.randbytes(2_500_000))
    for n in range(30):
        data = {"temperature": {"value": 14 + n / 10, "unit": "degC"}, "where": "pipe_wall"}
        phone.report("temperature_read", repair, data, at=began + timedelta(minutes=n))
    phone.hand_in(film, "post_repair_film", repair, at=began + timedelta(hours=1))
    with pytest.raises(NoSignalError):
        phone.sync()
    assert phone.waiting() == (30, 1)

    _signal(phone, live)
    done = phone.sync()
    again = phone.sync()

    assert (done.events, done.files, done.kept_aside, done.refused_files) == (30, 1, 0, 0)
    assert (again.events, again.files, phone.waiting()) == (0, 0, (0, 0))
    assert _hashes(live, repair) >= {hashlib.sha256(film.read_bytes()).hexdigest()}
    assert repair in {state["id"] for state in phone.repairs()}


def test_an_answer_that_was_lost_is_asked_for_again(live: Live, phone: FieldClient) -> None:
    """Sent, stored, and the phone died before it heard: the repeat is 'already there'."""
    _signal(phone, live)
    phone.report("arrived", live.told["repair"])
    phone.sync()
    phone.db.execute("UPDATE events SET state = 'waiting'")

    assert phone.sync().events == 1
    assert phone.refused() == []


def test_a_file_goes_on_where_the_line_broke(
    live: Live, phone: FieldClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The line breaks after two of four pieces; the next sync sends the other two."""
    film = tmp_path / "film.mp4"
    film.write_bytes(random.randbytes(3_900_000))
    _signal(phone, live)
    phone.hand_in(film, "pre_repair_film", live.told["repair"])
    sent: list[int] = []
    send = FieldClient._send_piece  # noqa: SLF001 - the line breaks here

    def breaking(self: FieldClient, file: object, address: str, offset: int) -> object:
        if len(sent) == 2:
            raise NoSignalError("broken")
        sent.append(offset)
        return send(self, file, address, offset)  # type: ignore[arg-type]

    monkeypatch.setattr(FieldClient, "_send_piece", breaking)
    with pytest.raises(NoSignalError):
        phone.sync()
    monkeypatch.setattr(FieldClient, "_send_piece", lambda *a: (sent.append(a[3]), send(*a))[1])
    done = phone.sync()

    assert done.files == 1
    assert sent == [0, 1_000_000, 2_000_000, 3_000_000]


def test_a_mistyped_report_is_not_lost_and_does_not_block(live: Live, phone: FieldClient) -> None:
    """It is kept aside on the server, the phone shows why, the rest is sent."""
    _signal(phone, live)
    phone.report("inflated", live.told["repair"], {"pressure": {"value": 4.8, "unit": "pis"}})
    phone.report("arrived", live.told["repair"])

    done = phone.sync()

    assert (done.events, done.kept_aside) == (1, 1)
    assert "pis" in phone.refused()[0][0]
    assert "set_aside" in phone.refused()[0][1]


def test_the_command_says_what_it_did(
    live: Live, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As a crew's programmer tries it first."""
    store = ["--store", str(tmp_path / "p.sqlite3")]
    token = live.told["crew_token"]
    main([*store, "set-up", "--url", NOWHERE, "--token", token, "--device", "invented"])
    main([*store, "report", "arrived", live.told["repair"]])

    assert main([*store, "sync"]) == 1
    assert "1 events and 0 files wait here" in capsys.readouterr().out
    main([*store, "set-up", "--url", live.base_url, "--token", token, "--device", "invented"])
    assert main([*store, "sync"]) == 0
    assert "sent 1 events and 0 files" in capsys.readouterr().out
    assert main([*store, "show"]) == 0
    assert "missing:" in capsys.readouterr().out


def test_what_is_written_down_survives_an_empty_battery(phone: FieldClient, live: Live) -> None:
    """Each event is on disk, numbered, before `report` returns."""
    event_id = phone.report("arrived", live.told["repair"])
    path = phone.db.execute("PRAGMA database_list").fetchone()[2]

    body = sqlite3.connect(path).execute("SELECT body FROM events").fetchone()[0]
    assert event_id in body
    assert '"sequence": 1' in body


def _hashes(live: Live, repair: str) -> set[str]:
    answer = requests.get(
        f"{live.api}/evidence",
        {"repair": repair},
        headers={"Authorization": f"Bearer {live.told['crew_token']}"},
        timeout=TIMEOUT_S,
    )
    return {row["sha256"] for row in answer.json()}


def test_a_phone_that_was_locked_out_is_told_so(
    live: Live, phone: FieldClient, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No signal comes back by itself, a revoked token never: the crew reads the server's words."""
    phone.set_up(url=live.base_url, token="0" * 64, device="invented phone")
    phone.report("arrived", live.told["repair"])

    assert main(["--store", str(tmp_path / "phone.sqlite3"), "sync"]) == 1

    said = capsys.readouterr().out
    assert "this phone is locked out" in said
    assert "ask the dispatcher; 1 events and 0 files wait here" in said
