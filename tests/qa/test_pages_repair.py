"""The page of a repair: what comes next and how long, for the crew; for others what is proved."""

from datetime import timedelta
from pathlib import Path

import pytest

from repairs.models import Account, FieldEvent
from tests.callers import post_batch, with_token
from tests.factories import RepairFactory, now
from tests.field_sequence import event
from tests.live_repair import a_live_repair
from tests.page_reader import client_of, look
from tests.proof_factories import (
    ClosingFactory,
    EvidenceFactory,
    FieldEventFactory,
    NonconformanceFactory,
)
from tests.proved_repair import a_planned_repair, a_proved_repair


def address(repair: object) -> str:
    """Return the page of a repair."""
    return f"/repairs/{repair.pk}"  # type: ignore[attr-defined]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("reported", "says"),
    [
        ("loaded_out", "Drive to the site"),
        ("arrived", "Make the site safe"),
        ("distance_marked", "Dry run"),
        ("film_changed", "Hold test of the packer"),
        ("hold_test_done", "Mix the resin"),
        ("wet_out_done", "Place the sleeve at the mark"),
        ("inflated", "Hold the pressure"),
        ("withdrawn", "Film the finished repair"),
        ("left", "Settle what is open"),
    ],
)
def test_the_crew_reads_what_comes_next(reported: str, says: str) -> None:
    """After each step the following one stands there in large type."""
    live = a_live_repair(until=reported, ago_min=1)

    assert f"Next step {says}" in look(live.lead, address(live.repair)).text


@pytest.mark.django_db
def test_hold_points_stand_before_their_step() -> None:
    """Before mixing the crew reads what must be in order, and what is not yet."""
    planned = a_live_repair(until="distance_marked", ago_min=1)
    kinds = ("dry_run_done", "film_changed")
    events = [event(planned.repair.pk, kind, now()) for kind in kinds]
    events[0]["data"] = {"reached_mark": True}
    post_batch(with_token(planned.lead), events)

    text = look(planned.lead, address(planned.repair)).text

    assert "Next step Hold test of the packer" in text
    assert "Before mixing" in text


@pytest.mark.django_db
def test_nothing_asks_to_report_the_deflation_during_the_cure() -> None:
    """While pressure must be kept, no line of the page invites to let it go."""
    live = a_live_repair(until="inflated", ago_min=20, wall_c=20)

    text = look(live.lead, address(live.repair)).text.lower()

    assert "report the deflation" not in text
    assert "keep the pressure until the clock says that the hold is over" in text
    assert "a computed time never shortens the maker's cure chart" in text


@pytest.mark.django_db
def test_working_time_is_told_in_large_type_until_inflation() -> None:
    """From mixing on: minutes left, and the time by which to inflate in the site's zone."""
    live = a_live_repair(until="mixing_started", ago_min=5)

    text = look(live.lead, address(live.repair)).text

    assert "min left" in text
    assert "Inflate before" in text
    assert "UTC+" in text


@pytest.mark.django_db
def test_a_working_time_that_is_over_says_what_not_to_do() -> None:
    """Gelled resin is not placed."""
    live = a_live_repair(until="wet_out_done", ago_min=90)

    text = look(live.lead, address(live.repair)).text

    assert "Working time over" in text
    assert "Do not place this sleeve" in text


@pytest.mark.django_db
def test_the_release_is_a_time_not_before() -> None:
    """Under pressure the page tells until when to hold, and that a best guess releases nothing."""
    live = a_live_repair(until="inflated", ago_min=30, wall_c=20)

    text = look(live.lead, address(live.repair)).text

    assert "Cure not before" in text
    assert "to go" in text
    assert "that releases nothing" in text


@pytest.mark.django_db
def test_a_deflation_that_came_too_early_is_said() -> None:
    """Whoever let the pressure go before the hold was over reads what to do now."""
    live = a_live_repair(until="inflated", ago_min=30, wall_c=20)
    let_go = event(live.repair.pk, "deflated", now() - timedelta(minutes=1), {"by_vacuum": True})
    post_batch(with_token(live.lead), [let_go], **{"Device-Time": now().isoformat()})

    text = look(live.lead, address(live.repair)).text

    assert "deflated too early" in text
    assert "keep the sample" in text


@pytest.mark.django_db
def test_a_proved_repair_says_so(tmp_path: Path) -> None:
    """With everything met the page leads to closing, and folds the met requirements away."""
    proved = a_proved_repair(tmp_path)

    text = look(proved.reviewer, address(proved.repair)).text

    assert "Every requirement is proved" in text
    assert "Hold test 5 min" in text
    assert text.count("/api/v1/evidence") == 0


@pytest.mark.django_db
def test_every_file_can_be_fetched_from_the_page(tmp_path: Path) -> None:
    """Each piece of evidence is a link that this session may follow."""
    proved = a_proved_repair(tmp_path)

    page = look(proved.reviewer, address(proved.repair))

    links = [link for link in page.links if link.startswith("/api/v1/evidence/")]
    files = [link for link in links if link.endswith("/file")]
    assert len(files) == len(proved.evidence)
    pictures = set(links) - set(files)
    assert len(pictures) == len(proved.evidence) - 1  # a pressure log has none
    for link in (files[0], *pictures):
        assert client_of(proved.reviewer).get(link).status_code == 200


@pytest.mark.django_db
def test_what_is_missing_says_what_would_settle_it(tmp_path: Path) -> None:
    """An unproved requirement stands open with its word, its reason and the way out."""
    proved = a_proved_repair(tmp_path, without=frozenset({"wet_out_photo"}))

    text = look(proved.reviewer, address(proved.repair)).text

    assert "incomplete Photo of the wet-out sleeve" in text
    assert "To settle it:" in text
    assert "1 requirement below is not proved yet." in text


def test_what_was_judged_at_closing_stands(reviewer: Account) -> None:
    """After closing the page shows the verdicts of then, and who gave them."""
    waiver = {"name": "Invented Person", "role": "engineer", "reason": "seen on the film"}
    row = {"code": "hold_test", "outcome": "not met", "reason": "it leaked", "waiver": waiver}
    closing = ClosingFactory(verdicts=[row])

    text = look(reviewer, address(closing.repair)).text

    assert f"As judged by {closing.closed_by.display_name}" in text
    assert "waived Hold test of the packer It leaked." in text
    assert "Let go by Invented Person, engineer: seen on the film" in text
    assert "Next step" not in text


def test_an_earlier_attempt_stays_readable(dispatcher: Account) -> None:
    """The page opens at the attempt under way; the earlier one is a link away."""
    repair = RepairFactory(attempt=2)
    FieldEventFactory(repair=repair, attempt=1, data={"note": "first time"})
    FieldEventFactory(repair=repair, attempt=2, data={"note": "second time"})

    now_page = look(dispatcher, address(repair))

    assert "?attempt=1" in now_page.links
    assert "second time" in now_page.text
    assert "first time" in look(dispatcher, f"{address(repair)}?attempt=1").text


@pytest.mark.parametrize("asked", ["0", "3", "-1", "one", "²", "1' or 1=1"])
def test_an_attempt_that_never_was_shows_the_one_under_way(dispatcher: Account, asked: str) -> None:
    """A mistyped attempt is no error."""
    repair = RepairFactory(attempt=2)

    page = look(dispatcher, f"{address(repair)}?attempt={asked}")

    assert "Attempt 2" in page.text
    assert "?attempt=2" not in page.links


@pytest.mark.django_db
def test_the_prescription_is_read_in_both_units_with_its_working() -> None:
    """Masses, pressures and lengths stand in SI and US units, and every line of the working."""
    planned = a_planned_repair()
    row = planned.repair.prescriptions.get()

    text = look(planned.lead, address(planned.repair)).text

    assert "kPa (" in text
    assert "psi)" in text
    assert "lb)" in text
    assert all(" ".join(line.split()) in text for line in row.result["lines"])


def test_hostile_words_stay_words(dispatcher: Account) -> None:
    """Markup in whatever people wrote is shown, not obeyed."""
    hostile = "<script>alert(1)</script>"
    repair = RepairFactory(ref=hostile, note=hostile)
    repair.run.site.street = hostile
    repair.run.site.save()
    FieldEventFactory(repair=repair, kind="held", data={"reason": hostile, "note": hostile})
    NonconformanceFactory(repair=repair, words=hostile)
    EvidenceFactory(repair=repair, title=hostile, file_name=hostile, problem=hostile)

    assert look(dispatcher, address(repair)).text.count(hostile) >= 9


def test_a_file_that_was_taken_back_says_so(dispatcher: Account) -> None:
    """The file stays, with who took it back and why."""
    repair = RepairFactory()
    EvidenceFactory(
        repair=repair,
        title="Wrong photo",
        taken_back_at=now(),
        taken_back_by=dispatcher,
        taken_back_reason="of another street",
    )

    text = look(dispatcher, address(repair)).text

    assert f"taken back by {dispatcher.display_name}: of another street" in text


@pytest.mark.django_db
def test_what_is_not_in_order_keeps_the_crew_from_the_next_step() -> None:
    """A hold test that failed: not 'mix the resin' in large type, but what to put right first."""
    live = a_live_repair(until="film_changed", ago_min=5)
    failed = event(
        live.repair.id,
        "hold_test_done",
        now() - timedelta(minutes=1),
        {
            "start_pressure": {"value": 5.0, "unit": "psi"},
            "end_pressure": {"value": 3.0, "unit": "psi"},
            "duration": {"value": 5, "unit": "min"},
            "gauge_resolution": {"value": 0.1, "unit": "psi"},
            "fully_round": True,
        },
    )
    answer = post_batch(with_token(live.lead), [failed])
    assert answer.json()[0]["status"] == "stored", answer.json()

    text = look(live.lead, address(live.repair)).text

    assert "Next step Do not go on: put right first what is not met below" in text
    assert "Only then: mix the resin." in text


@pytest.mark.django_db
def test_a_repair_on_hold_says_not_to_go_on() -> None:
    """However ready the packer is."""
    live = a_live_repair(until="hold_test_done", ago_min=5)
    held = event(live.repair.id, "held", now() - timedelta(minutes=1), {"reason": "rain"})
    post_batch(with_token(live.lead), [held])

    assert "Next step On hold: do not go on" in look(live.lead, address(live.repair)).text


@pytest.mark.django_db
def test_nothing_is_asked_for_that_is_too_late() -> None:
    """Under pressure nobody tests the packer any more: it was done, or the office must know."""
    live = a_live_repair(until="inflated", ago_min=5)
    for kind in ("distance_marked", "dry_run_done"):
        row = FieldEvent.objects.get(repair=live.repair, kind=kind)
        taken_back = event(live.repair.id, kind, now(), {"taken_back": True})
        post_batch(with_token(live.lead), [taken_back | {"corrects": str(row.pk)}])

    text = look(live.lead, address(live.repair)).text

    assert "If it was done, report it with its time; otherwise tell the office." in text
