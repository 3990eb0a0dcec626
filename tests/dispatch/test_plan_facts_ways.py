"""Ways for a plan: entered, told by a service, or estimated; a bad service hurts nobody."""

import json
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.core.cache import cache

from dispatch.domain.plan.travel import ESTIMATED, ROAD, LatLon, Travel
from dispatch.models import KeptWays, KnownWay
from dispatch.plan_facts.ways import estimate, travel_between
from repairs.models import Account
from tests.dispatch.plan_rows import a_company, planned
from tests.dispatch.ways_service import WaysService, table, ways_service
from tests.factories import AccountFactory, now

pytestmark = pytest.mark.django_db
YARD, NEAR, FAR = LatLon(10.0, 20.0), LatLon(10.05, 20.0), LatLon(10.1, 20.1)
PLACES = [YARD, NEAR, FAR]


@pytest.fixture
def service(settings: Any) -> Iterator[WaysService]:
    """Return a service of ways that is set."""
    with ways_service() as told:
        settings.WAYS_URL, settings.WAYS_PRIVATE = told.url, True
        yield told


def ways() -> Travel:
    """Return the ways between the three places."""
    return travel_between(PLACES, now())


def test_without_a_service_ways_are_estimated_by_what_is_set(settings: Any) -> None:
    """Twice the straight 5,560 m at 10 m/s and a minute."""
    settings.TRAVEL_DETOUR_PERCENT, settings.TRAVEL_SPEED_KMH = 200, 36
    settings.TRAVEL_TRIP_S = 60

    found = ways()

    assert found.word == ESTIMATED
    assert found.seconds[0][1] == pytest.approx(1112 + 60, abs=1)


def test_a_service_tells_every_way(service: WaysService) -> None:
    """East is dearer than west in the invented town; the plan says 'road'."""
    found = ways()

    assert found.word == ROAD
    assert (found.seconds[0][2], found.seconds[2][0]) == (3000, 2000)
    assert (found.metres[0][2], found.seconds[1][1]) == (45_000, 0)
    assert service.asked[0]["sources"] == [[20.0, 10.0], [20.0, 10.05], [20.1, 10.1]]


def test_a_token_goes_with_the_question(service: WaysService, settings: Any) -> None:
    """As a bearer."""
    settings.WAYS_TOKEN = "invented"
    ways()

    assert service.headers[0]["authorization"] == "Bearer invented"


def test_what_was_told_is_not_asked_again(service: WaysService) -> None:
    """Nor for a place three metres beside; a newcomer costs his own ways alone."""
    ways()
    travel_between([LatLon(10.00003, 20.0), NEAR, FAR], now())
    assert len(service.asked) == 1

    found = travel_between([*PLACES, LatLon(10.2, 20.0)], now())

    assert found.word == ROAD
    assert [(len(q["sources"]), len(q["destinations"])) for q in service.asked[1:]] == [
        (1, 4),
        (3, 1),
    ]
    assert travel_between([*PLACES, LatLon(10.2, 20.0)], now()).word == ROAD
    assert len(service.asked) == 3


def test_after_its_days_a_way_is_asked_again(service: WaysService, settings: Any) -> None:
    """One day is kept, the next not; then the answers begin anew."""
    settings.WAYS_KEPT_DAYS = 1
    ways()
    travel_between(PLACES, now() + timedelta(hours=23))
    assert len(service.asked) == 1

    travel_between(PLACES[:2], now() + timedelta(hours=25))

    assert len(service.asked) == 2
    assert sorted(len(row.ways) for row in KeptWays.objects.all()) == [1, 1, 2]


def test_large_tables_are_asked_in_parts(service: WaysService, settings: Any) -> None:
    """Three ways at once: a row each."""
    settings.WAYS_CELLS = 3

    assert ways().word == ROAD
    assert [len(each["sources"]) for each in service.asked] == [1, 1, 1]


def without(change: Callable[[dict[str, Any]], None]) -> Callable[[dict[str, Any]], str]:
    """Return a good answer with something wrong in it."""

    def body(asked: dict[str, Any]) -> str:
        told = table(asked)
        change(told)
        return json.dumps(told)

    return body


def cell(value: Any) -> Callable[[dict[str, Any]], str]:
    """Return an answer in which the way from the yard to the near place is something else."""
    return without(lambda told: told["durations"][0].__setitem__(1, value))


@pytest.mark.parametrize("value", [float("nan"), -1, None, 10**6 + 1, "fast"])
def test_a_cell_that_is_no_way_is_estimated_and_marked(service: WaysService, value: Any) -> None:
    """The others stay by road; the plan as a whole says 'estimated'."""
    service.body = cell(value)

    found = ways()

    assert found.seconds[0][1] == estimate().travel(PLACES).seconds[0][1]
    assert (found.source[0][1], found.source[1][0], found.word) == (ESTIMATED, ROAD, ESTIMATED)
    assert ways() == found
    assert len(service.asked) == 1


def test_of_an_uneven_pair_neither_is_believed(service: WaysService) -> None:
    """500 s back, 2501 s there: a slip in one of them."""
    service.body = cell(2501)

    found = ways()

    assert (found.source[0][1], found.source[1][0], found.source[0][2]) == (
        ESTIMATED,
        ESTIMATED,
        ROAD,
    )


BAD_BODIES: dict[str, Callable[[dict[str, Any]], str]] = {
    "garbage": lambda _asked: "<html>busy</html>",
    "nothing": lambda _asked: "",
    "nested without end": lambda _asked: "[" * 100_000,
    "a short table": without(lambda told: told["durations"].pop()),
    "a short row": without(lambda told: told["distances"][1].pop()),
    "no distances": without(lambda told: told.pop("distances")),
}


@pytest.mark.parametrize("body", BAD_BODIES.values(), ids=BAD_BODIES)
def test_an_answer_that_is_no_table_is_thrown_away(
    service: WaysService, body: Callable[[dict[str, Any]], str]
) -> None:
    """Everything is estimated, and nothing of it is kept."""
    service.body = body

    assert ways() == estimate().travel(PLACES)
    assert not KeptWays.objects.exists()


@pytest.mark.parametrize("status", [204, 301, 404, 429, 500])
def test_another_status_is_no_answer(service: WaysService, status: int) -> None:
    """Estimated; and the service is left alone for a while."""
    service.status = status

    assert ways() == estimate().travel(PLACES)
    assert ways().word == ESTIMATED
    assert len(service.asked) == 1


def test_a_slow_service_is_not_waited_for(service: WaysService, settings: Any) -> None:
    """Byte by byte, each within the time allowed, but not all together."""
    settings.WAYS_TIMEOUT_S, service.drip_s = 1, 0.05

    assert ways() == estimate().travel(PLACES)


def test_a_service_that_is_down_is_no_error(settings: Any) -> None:
    """Its port is closed."""
    with ways_service() as told:
        settings.WAYS_URL, settings.WAYS_PRIVATE = told.url, True

    assert ways() == estimate().travel(PLACES)


def test_an_old_answer_is_better_than_an_estimate(service: WaysService) -> None:
    """The service went down after two months: what it told stands in."""
    ways()
    service.status = 500

    assert travel_between(PLACES, now() + timedelta(days=60)).word == ROAD


def test_what_was_told_before_a_failure_is_kept(service: WaysService, settings: Any) -> None:
    """The second of three parts fails: the first is known, the rest estimated, until later."""
    settings.WAYS_CELLS = 3
    good = service.body
    service.body = lambda asked: good(asked) if len(service.asked) == 1 else "busy"
    found = ways()
    assert [row[1 - bool(i)] for i, row in enumerate(found.source)] == [ROAD, ESTIMATED, ESTIMATED]

    service.body = good
    cache.clear()

    assert ways().word == ROAD


def test_a_private_address_is_not_asked_unless_it_is_set(
    service: WaysService, settings: Any
) -> None:
    """Plain HTTP inside the house needs the word of whoever runs it."""
    settings.WAYS_PRIVATE = False

    assert ways().word == ESTIMATED
    assert service.asked == []


@pytest.mark.parametrize(("status", "word"), [(200, ROAD), (500, ESTIMATED)])
def test_a_plan_says_how_its_ways_are_known(
    dispatcher: Account, service: WaysService, status: int, word: str
) -> None:
    """Asked for, searched and stored: by road, or, where the service failed, estimated."""
    service.status = status

    plan = planned(a_company(dispatcher))

    assert (plan.travel_source, plan.stops.count()) == (word, 4)


def test_what_a_dispatcher_entered_counts_first(service: WaysService) -> None:
    """The bridge is closed: 40 minutes round, whatever the service says."""
    KnownWay.objects.create(
        from_latitude=10.0,
        from_longitude=20.0,
        to_latitude=10.05,
        to_longitude=20.0,
        seconds=2400,
        metres=30_000,
        entered_by=AccountFactory(),
        entered_at=now(),
    )

    found = ways()

    assert (found.seconds[0][1], found.seconds[1][0], found.word) == (2400, 500, ROAD)
    assert service.asked
