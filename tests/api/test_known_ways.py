"""Known ways and learned durations over the API."""

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command

from dispatch.domain.plan.travel import LatLon
from dispatch.models import KnownWay
from dispatch.plan_facts.ways import travel_between
from repairs.models import Account
from tests.callers import API, signed_in
from tests.dispatch.test_plan_facts_durations import a_visit
from tests.factories import AccessPointFactory, CrewFactory, now

pytestmark = pytest.mark.django_db
HEAD = "from_latitude;from_longitude;to_latitude;to_longitude;minutes;distance_mi;both_ways;note"


def send(dispatcher: Account, *lines: str) -> Any:
    """Send a file as a spreadsheet saves it."""
    file = SimpleUploadedFile("ways.csv", "\n".join([HEAD, *lines]).encode("utf-8-sig"))
    return signed_in(dispatcher).post(f"{API}/known-way-files", {"file": file}, format="multipart")


def test_a_file_is_stored_line_by_line_and_a_plan_goes_by_it(dispatcher: Account) -> None:
    """One good line for both ways; one without minutes, which is told."""
    found = send(dispatcher, "10;20;10.05;20;40;18;yes;bridge", "10;20;10.1;20;;1;;").json()

    assert (found["stored"], found["not_stored"]) == (1, 1)
    assert [(each["line"], each["outcome"]) for each in found["lines"]] == [
        (2, "stored"),
        (3, "not stored"),
    ]
    assert found["lines"][1]["faults"][0]["field"] == "minutes"
    ways = travel_between([LatLon(10.0, 20.0), LatLon(10.05, 20.0)], now())
    assert (ways.word, ways.seconds[0][1], ways.metres[1][0]) == ("road", 2400, 28_968)


def test_a_way_sent_again_gets_the_new_figures(dispatcher: Account) -> None:
    """The bridge is open again; of two lines in one file the later counts."""
    send(dispatcher, "10;20;10.05;20;40;18;;closed")
    send(dispatcher, "10;20;10.05;20;9;4;;", "10;20;10.05;20;8;4;;open")

    assert list(KnownWay.objects.values_list("seconds", "note")) == [(480, "open")]


def test_known_ways_are_listed_and_taken_away(dispatcher: Account) -> None:
    """What is taken away is estimated again."""
    send(dispatcher, "10;20;10.05;20;40;18;;closed")
    office = signed_in(dispatcher)
    (row,) = office.get(f"{API}/known-ways").json()["results"]
    assert (row["seconds"], row["metres"], row["note"]) == (2400, 28_968, "closed")

    assert office.delete(f"{API}/known-ways/{row['id']}").status_code == 204
    assert office.get(f"{API}/known-ways").json()["results"] == []


def test_a_file_without_a_heading_is_told_its_columns(dispatcher: Account) -> None:
    """Nothing of it is stored."""
    file = SimpleUploadedFile("ways.csv", b"hello")
    answer = signed_in(dispatcher).post(
        f"{API}/known-way-files", {"file": file}, format="multipart"
    )

    assert answer.status_code == 422
    assert "from_latitude" in answer.json()["errors"][0]["expected"]


def test_learned_durations_say_what_they_rest_on(dispatcher: Account) -> None:
    """Ten visits of one crew, one cure of which broke the chart; and nine are too few to tell."""
    crew = CrewFactory(code="NORTH")
    for day in range(1, 10):
        a_visit(crew, day, cure=122)
    a_visit(crew, 20, cure=60)

    found = signed_in(dispatcher).get(f"{API}/duration-forecasts").json()
    lines = {
        (each["step"], each["crew"], each["diameter"]): each
        for each in found["lines"]
        if not each["temperature"]
    }

    set_up = lines["set-up", "NORTH", "over 200 to 300 mm"]
    assert (set_up["count"], set_up["expected_s"], set_up["bound_s"]) == (10, 2400, 2400)
    cure = lines["cure", "", ""]
    assert (cure["count"], cure["expected_s"], cure["over_the_chart"]) == (9, None, True)
    assert found["uncounted"] == [
        {"step": "cure", "reason": "shorter than the maker's chart", "count": 1}
    ]
    assert (found["least"], found["expected_percent"], found["bound_percent"]) == (10, 50, 90)
    assert found["travel_fit"] is None


def test_a_forecast_asks_nothing(dispatcher: Account) -> None:
    """A parameter nobody knows is refused."""
    answer = signed_in(dispatcher).get(f"{API}/duration-forecasts", {"crew": "NORTH"})

    assert answer.status_code == 422


def drives(count: int) -> None:
    """Store pairs of visits with a drive of 5 min and 1 min a kilometre by the great circle."""
    crew = CrewFactory()
    for day in range(1, count + 1):
        km = 2 + day
        a_visit(crew, day)
        place = AccessPointFactory(latitude=10 + km / 111.195)
        a_visit(crew, day, start_min=200 + 5 + km, place=place)


def test_drives_suggest_a_speed_and_set_nothing(
    dispatcher: Account, capsys: pytest.CaptureFixture[str], settings: Any
) -> None:
    """60 km/h by the great circle is 81 km/h at a detour of 1.35."""
    drives(20)

    found = signed_in(dispatcher).get(f"{API}/duration-forecasts").json()
    call_command("travel_fit")

    assert found["travel_fit"]["trips"] == 20
    assert found["travel_fit"]["speed_kmh"] == pytest.approx(81, abs=0.5)
    assert found["travel_fit"]["trip_s"] == pytest.approx(300, abs=5)
    assert found["travel_set"] == {"detour": 1.35, "speed_kmh": 42.0, "trip_s": 120}
    assert settings.TRAVEL_SPEED_KMH == 42
    assert "20 drives suggest, at that detour: 81 km/h, 300 s a trip." in capsys.readouterr().out


def test_few_drives_suggest_nothing(db: None, capsys: pytest.CaptureFixture[str]) -> None:  # noqa: ARG001 - rows
    """None was observed."""
    call_command("travel_fit")

    told = capsys.readouterr().out
    assert "0 drives observed in 180 days: fewer than 20" in told
