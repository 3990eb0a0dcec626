"""From a lot to the pipes it lies in and back, over repairs done through the API."""

import csv
import io
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from qa.domain.site_clock import on_site_clock
from qa.domain.trace import LetterLine, recall_csv, uses_in
from qa.models import CloseoutPackage
from qa.traces import uses_in_repair
from repairs.domain.event_order import moment_of
from repairs.domain.field_event import EventKind
from repairs.domain.progress import fold
from repairs.selectors import progress_of
from tests.callers import API, post_event, signed_in, with_token
from tests.factories import LotFactory, now
from tests.field_sequence import event, quantity
from tests.proof_factories import CloseoutPackageFactory, ClosingFactory, FieldEventFactory
from tests.proved_repair import ProvedRepair, a_planned_repair, do_due_work, report

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def done(module_rows: None) -> ProvedRepair:  # noqa: ARG001 - keeps the rows
    """Return a repair with everything reported."""
    planned = a_planned_repair()
    report(planned)
    return planned


def trace(done: ProvedRepair, number: str) -> dict[str, Any]:
    """Ask where a lot went."""
    return dict(signed_in(done.dispatcher).get(f"{API}/lot-traces?number={number}").json())


@pytest.mark.parametrize("which", ["number", "resin_lot_a", "resin_lot_b"])
def test_a_lot_is_followed_into_the_pipe(done: ProvedRepair, which: str) -> None:
    """By the number of the kits, or of either part of their resin."""
    told = trace(done, getattr(done.lot, which))

    (use,) = told["uses"]
    assert (use["repair"], use["run"]) == (done.repair.ref, done.repair.run.ref)
    assert (use["distance_m"], use["datum"]) == (14.2, done.repair.datum.ref)
    assert (use["state"], use["attempt"], use["sleeve"]) == ("in the pipe", 1, 1)
    assert [each["number"] for each in told["lots"]] == [done.lot.number]
    assert [each["crew"] for each in told["on_trucks"]] == [done.crew.code]


def test_a_repair_says_what_it_is_made_of(done: ProvedRepair) -> None:
    """Backward, by the same rows."""
    told = signed_in(done.dispatcher).get(f"{API}/repairs/{done.repair.id}/materials").json()

    assert [(each["kit_lot"], each["lot_a"], each["lot_b"]) for each in told] == [
        (done.lot.number, done.lot.resin_lot_a, done.lot.resin_lot_b)
    ]


def test_the_recall_list_has_what_a_letter_needs(done: ProvedRepair) -> None:
    """Owner, address, pipe, place and lots in one line."""
    answer = signed_in(done.dispatcher).get(f"{API}/recall-lists?number={done.lot.number}")

    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert answer["Content-Disposition"] == f'attachment; filename="recall-{done.lot.number}.csv"'
    (line,) = csv.DictReader(io.StringIO(answer.content.decode(), newline=""))
    customer = done.repair.work_order.customer
    assert (line["customer"], line["street"]) == (customer.name, done.repair.run.site.street)
    assert (line["run"], line["distance_m"], line["sleeve"]) == (
        done.repair.run.ref, "14.20", "1",
    )  # fmt: skip
    assert line["distance_ft"] == "46.6"  # 14.20 m / 0.3048 m
    assert line["mixed_at"].endswith("+00:00")
    assert line["mixed_at_site"] == on_site_clock(
        datetime.fromisoformat(line["mixed_at"]), done.repair.run.site.time_zone
    )


def test_the_moment_of_mixing_is_that_of_the_page_and_the_report(done: ProvedRepair) -> None:
    """A phone ten seconds fast: the corrected best estimate everywhere, not the phone's time."""
    mixing = progress_of(done.repair).event(EventKind.MIXING_STARTED)
    assert mixing is not None
    moved = replace(mixing, offset_low_s=-11.0, offset_high_s=-9.0)
    progress = fold([moved], attempt=1)

    (used,) = uses_in(progress)

    assert used.mixed_at == moment_of(moved).best == mixing.device_time - timedelta(seconds=10)


def test_a_sleeve_that_was_carried_on_names_the_newest_package(done: ProvedRepair) -> None:
    """Returned for its film, handed over again: attempt 2 tells of attempt 1's sleeve."""
    office = signed_in(done.dispatcher)
    for attempt, name in ((1, "first.zip"), (2, "second.zip")):
        closing = ClosingFactory(repair=done.repair, attempt=attempt)
        CloseoutPackageFactory(
            closing=closing, file_name=name, sha256=f"{attempt}" * 64, ready_at=now()
        )

    answer = office.get(f"{API}/recall-lists?number={done.lot.number}")
    (line,) = csv.DictReader(io.StringIO(answer.content.decode(), newline=""))
    (use,) = office.get(f"{API}/repairs/{done.repair.id}/materials").json()

    newest = CloseoutPackage.objects.get(file_name="second.zip")
    assert (line["package"], line["package_sha256"]) == ("second.zip", "2" * 64)
    assert (use["attempt"], use["package"]) == (1, str(newest.pk))


def test_a_sleeve_that_was_given_up_keeps_its_own_package(done: ProvedRepair) -> None:
    """Attempt 2 mixed anew: its package tells of its own sleeve only, in its own line."""
    FieldEventFactory(
        repair=done.repair, attempt=2, kind="mixing_started",
        data={"kit_lot": "OTHER", "lot_a": "OA", "lot_b": "OB"},
    )  # fmt: skip
    done.repair.attempt = 2
    done.repair.save()
    for attempt in (1, 2):
        CloseoutPackageFactory(
            closing=ClosingFactory(repair=done.repair, attempt=attempt),
            file_name=f"{attempt}.zip",
            ready_at=now(),
        )

    packages = [
        (use.used.attempt, use.package.file_name if use.package else "")
        for use in uses_in_repair(done.repair)
    ]

    assert packages == [(1, "1.zip"), (2, "2.zip")]


def test_a_misread_lot_moves_with_its_correction(done: ProvedRepair) -> None:
    """The crew corrects the number: the sleeve is found under the right one only."""
    right = LotFactory()
    row = done.repair.field_events.get(kind="mixing_started")
    data = {
        "resin_temperature": quantity(20, "degC"),
        "kit_lot": right.number,
        "lot_a": right.resin_lot_a,
        "lot_b": right.resin_lot_b,
    }
    corrected = event(done.repair.id, "mixing_started", row.device_time, data, corrects=str(row.pk))
    post_event(with_token(done.lead), corrected, **{"Device-Time": now().isoformat()})
    do_due_work()

    assert trace(done, done.lot.number)["uses"] == []
    assert len(trace(done, right.number)["uses"]) == 1


def test_a_batch_that_was_thrown_away_is_not_in_the_pipe(done: ProvedRepair) -> None:
    """Mixed, thrown away, mixed anew from another lot: each batch is told as what it is."""
    other = LotFactory()
    data = {
        "resin_temperature": quantity(20, "degC"),
        "kit_lot": other.number,
        "lot_a": other.resin_lot_a,
        "lot_b": other.resin_lot_b,
        "new_batch": True,
    }
    soon_after = done.at("mixing_started") + timedelta(seconds=20)
    again = event(done.repair.id, "mixing_started", soon_after, data)
    post_event(with_token(done.lead), again, **{"Device-Time": now().isoformat()})
    do_due_work()

    assert [each["state"] for each in trace(done, done.lot.number)["uses"]] == ["thrown away"]
    assert [each["state"] for each in trace(done, other.number)["uses"]] == ["in the pipe"]


@pytest.mark.parametrize("asked", ["", "?number=", "?number=" + "9" * 61, "?lot=7"])
@pytest.mark.parametrize("route", ["lot-traces", "recall-lists"])
def test_a_number_must_be_named(done: ProvedRepair, route: str, asked: str) -> None:
    """Which parameter, and what would be right."""
    assert signed_in(done.dispatcher).get(f"{API}/{route}{asked}").status_code == 422


def test_a_lot_nobody_used_went_nowhere(done: ProvedRepair) -> None:
    """An empty answer, not an error."""
    assert trace(done, "LOT-NEVER-SEEN") == {
        "number": "LOT-NEVER-SEEN", "lots": [], "on_trucks": [], "uses": [],
    }  # fmt: skip


def test_a_recall_of_a_number_nobody_knows_is_refused(done: ProvedRepair) -> None:
    """An empty table would read as nothing to recall; a lot on no pipe yet has one."""
    office = signed_in(done.dispatcher)
    unknown = office.get(f"{API}/recall-lists?number=LOT-NEVER-SEEN")
    unused = office.get(f"{API}/recall-lists?number={LotFactory().number}")

    assert (unknown.status_code, unknown.json()["code"]) == (404, "not_found")
    assert "LOT-NEVER-SEEN" in unknown.json()["detail"]
    assert (unused.status_code, len(unused.content.splitlines())) == (200, 1)


@pytest.mark.parametrize("which", ["number", "resin_lot_a", "resin_lot_b"])
def test_large_and_small_letters_are_the_same_number(done: ProvedRepair, which: str) -> None:
    """A label read aloud and typed in small letters finds its lot."""
    typed = getattr(done.lot, which).swapcase()
    told = trace(done, typed)
    answer = signed_in(done.dispatcher).get(f"{API}/recall-lists?number={typed}")

    assert typed != getattr(done.lot, which)
    assert [each["kit_lot"] for each in told["uses"]] == [done.lot.number]
    assert [each["number"] for each in told["lots"]] == [done.lot.number]
    assert len(answer.content.splitlines()) == 2


def test_a_number_is_no_pattern(done: ProvedRepair) -> None:
    """What stands for any letter in a database stands for itself here."""
    assert trace(done, done.lot.number[:-1] + "_")["uses"] == []


def test_a_spreadsheet_runs_nothing_of_the_list(tmp_path: Path) -> None:
    """A text that begins like a formula gets an apostrophe; owners stand together."""
    del tmp_path
    texts = ["B town", "", "S", "=1+1", "RUN", "R-2", "WO"]
    there = "2031-03-14 08:00 (UTC+01:00)"
    mixed = ["2031-03-14T07:00+00:00", there]
    rest = ["AP", "1.00", "3.3", "L", "A", "B", *mixed, "crew", "in the pipe", "", ""]
    line = LetterLine(*texts, 1, 1, *rest)  # type: ignore[arg-type]
    other = LetterLine(*["A town", *texts[1:]], 1, 1, *rest)  # type: ignore[arg-type]

    rows = list(csv.DictReader(io.StringIO(recall_csv([line, other]).decode(), newline="")))

    assert [row["customer"] for row in rows] == ["A town", "B town"]
    assert rows[0]["street"] == "'=1+1"
