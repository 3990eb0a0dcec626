"""The table of learned durations, and the ways that are known better."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from dispatch.domain.plan.durations import Step
from dispatch.domain.plan.travel import Estimate
from dispatch.models import KnownWay
from dispatch.pages.plans.learned import step_tables
from dispatch.plan_facts.learned_table import ClassLine, LearnedTable
from repairs.models import Account
from tests.page_reader import client_of, look, page_of
from tests.proof_factories import KnownWayFactory

pytestmark = pytest.mark.django_db
HEAD = "from_latitude,from_longitude,to_latitude,to_longitude,minutes,distance_km,both_ways,note\n"
WAY = "10.0,20.0,10.1,20.1,25,18,yes,<b>bridge</b>\n"


def sheet(text: str) -> SimpleUploadedFile:
    """Return a file as a browser sends it."""
    return SimpleUploadedFile("ways.csv", text.encode())


@pytest.mark.parametrize("who", ["dispatcher", "reviewer", "administrator"])
def test_the_office_sees_what_durations_rest_on(who: str, request: pytest.FixtureRequest) -> None:
    """Without an observation it says what counts instead."""
    page = look(request.getfixturevalue(who), "/learned-times")

    assert "Nothing was observed yet: plans use the contract's own numbers." in page.text
    assert "times 1.35 at 42.0 km/h, and 120 s for each trip" in page.text


def test_each_class_says_how_many_and_its_two_quantiles() -> None:
    """Twelve of a crew with both, three of another without; a cure is on top of the chart."""
    lines = (
        ClassLine(Step.SET_UP, "NORTH", "over 200 to 300 mm", "", 12, 2400, 4500),
        ClassLine(Step.SET_UP, "SOUTH", "", "", 3, None, None),
        ClassLine(Step.CURE, "", "", "10 to below 15 °C", 20, 0, 720),
    )
    table = LearnedTable(180, 10, 50, 90, lines, (), 0, Estimate(), None)

    up, cure = step_tables(table)

    assert [(line.alike, line.count, line.percent) for line in up.lines] == [
        ("crew NORTH, over 200 to 300 mm", 12, 100),
        ("crew SOUTH", 3, 25),
    ]
    assert [(line.expected, line.bound) for line in up.lines] == [
        ("40 min", "1 h 15 min"),
        ("", ""),
    ]
    assert (up.over_the_chart, cure.over_the_chart) == (False, True)
    assert (cure.lines[0].expected, cure.lines[0].bound) == ("0 min", "12 min")


@pytest.mark.parametrize("who", ["crew_lead", "client_user", "service_account"])
def test_nobody_else_does(who: str, request: pytest.FixtureRequest) -> None:
    """Crews, clients and programs are turned away."""
    account = request.getfixturevalue(who)

    look(account, "/learned-times", status=403)
    look(account, "/known-ways", status=403)


def test_a_file_of_ways_is_taken(dispatcher: Account) -> None:
    """Both directions, each with its minutes, in kilometres and miles; notes are only text."""
    answer = client_of(dispatcher).post("/known-ways", {"file": sheet(HEAD + WAY)})

    assert answer["Location"] == "/known-ways"
    page = look(dispatcher, "/known-ways")
    assert "Known ways (2)" in page.text
    assert page.text.count("25 min 18.0 km (11.2 mi) <b>bridge</b>") == 2
    assert dispatcher.display_name in page.text


def test_each_line_that_is_wrong_is_named_and_the_others_count(dispatcher: Account) -> None:
    """Line 3 has no minutes: it is told, line 2 is stored."""
    bad = "10.0,20.0,10.2,20.1,,18,,\n"

    answer = client_of(dispatcher).post("/known-ways", {"file": sheet(HEAD + WAY + bad)})

    page = page_of(answer, status=422)
    assert "2 stored" not in page.text
    assert "1 stored; 1 line not." in page.text
    assert "Line 3, minutes: found nothing" in page.text
    assert KnownWay.objects.count() == 2


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ({}, "Choose a file first."),
        ({"file": SimpleUploadedFile("x.csv", b"\xff\xfe\x00")}, "no UTF-8 text"),
        ({"file": SimpleUploadedFile("x.csv", b"nothing,known\n1,2\n")}, "from_latitude"),
    ],
)
def test_a_file_that_is_none_says_what_would_be(
    dispatcher: Account, body: dict[str, object], words: str
) -> None:
    """Nothing is stored."""
    page = page_of(client_of(dispatcher).post("/known-ways", body), status=422)

    assert words in page.text
    assert not KnownWay.objects.exists()


def test_a_way_is_taken_away(administrator: Account) -> None:
    """Once; a second time it is not found."""
    way = KnownWayFactory()
    browser = client_of(administrator)

    first = browser.post("/known-ways", {"remove": str(way.pk)})
    second = browser.post("/known-ways", {"remove": str(way.pk)})
    tampered = browser.post("/known-ways", {"remove": "x"})

    assert [first.status_code, second.status_code, tampered.status_code] == [302, 404, 404]
    assert not KnownWay.objects.exists()


def test_a_reviewer_reads_ways_and_changes_none(reviewer: Account) -> None:
    """No button, and a closed door."""
    way = KnownWayFactory()

    page = look(reviewer, "/known-ways")

    assert "Take away" not in page.text
    assert client_of(reviewer).post("/known-ways", {"remove": str(way.pk)}).status_code == 403
    assert KnownWay.objects.exists()
