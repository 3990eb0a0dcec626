"""Two dispatchers reach for the same hours of one crew at the same time: one gets them."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from threading import Barrier
from typing import Any

import pytest
import requests

from tests.live_server import TIMEOUT_S, Live

pytestmark = pytest.mark.slow


def reach(
    live: Live,
    session: requests.Session,
    repair: str,
    start: datetime,
    barrier: Barrier,
) -> Any:
    """Post an assignment in the very moment the other one does."""
    body = {
        "repair": repair,
        "crew": live.told["crew"],
        "starts_at": start.isoformat(),
        "ends_at": (start + timedelta(hours=4)).isoformat(),
    }
    barrier.wait()
    return session.post(f"{live.api}/assignments", json=body, timeout=TIMEOUT_S)


def both(
    live: Live,
    sessions: list[requests.Session],
    repairs: list[str],
    starts: list[datetime],
) -> list[Any]:
    """Let two dispatchers post at once, each in a thread, to a server of two processes."""
    barrier = Barrier(2)
    with ThreadPoolExecutor(2) as pool:
        jobs = [
            pool.submit(reach, live, session, repair, start, barrier)
            for session, repair, start in zip(sessions, repairs, starts, strict=True)
        ]
        return [job.result() for job in jobs]


def test_of_two_at_once_one_gets_the_crew(live: Live) -> None:
    """Round after round: one is stored, the other hears of the clash, and never a 500."""
    sessions = [live.sign_in("dispatcher") for _ in range(2)]
    spare = live.told["spare"]
    day = datetime.now(UTC) + timedelta(days=100)

    for turn, pair in enumerate(zip(spare[::2], spare[1::2], strict=True)):
        start = day + timedelta(days=turn)
        # The second one overlaps the first by an hour.
        answers = both(live, sessions, list(pair), [start, start + timedelta(hours=3)])

        assert sorted(answer.status_code for answer in answers) == [201, 409]
        refused = next(answer for answer in answers if answer.status_code == 409)
        assert [reason["code"] for reason in refused.json()["reasons"]] == ["double_booking"]


def test_of_two_at_once_one_gets_the_repair(live: Live) -> None:
    """The same repair given twice in one moment, hours apart, is given once."""
    sessions = [live.sign_in("dispatcher") for _ in range(2)]
    asked = {"stage": "ordered"}
    rows = sessions[0].get(f"{live.api}/repairs", params=asked, timeout=TIMEOUT_S).json()["results"]
    free = [row["id"] for row in rows if row["id"] in live.told["spare"]]
    day = datetime.now(UTC) + timedelta(days=150)

    for turn, repair in enumerate(free[:5]):
        start = day + timedelta(days=2 * turn)
        answers = both(live, sessions, [repair] * 2, [start, start + timedelta(hours=9)])

        assert sorted(answer.status_code for answer in answers) == [201, 409]
    assert len(free) >= 5


def test_of_two_who_ask_for_the_same_days_one_is_told_to_wait(live: Live) -> None:
    """Two plans of one week are not made at once, however close the two are."""
    sessions = [live.sign_in("dispatcher") for _ in range(2)]
    monday = datetime.now(UTC).date() + timedelta(days=200)

    for turn in range(4):
        bodies = [
            {"starts_on": f"{monday + timedelta(days=14 * turn + late)}", "days": 7, "search_s": 2}
            for late in range(2)
        ]
        barrier = Barrier(2)

        def ask(session: requests.Session, body: dict[str, Any], barrier: Barrier = barrier) -> Any:
            barrier.wait()
            return session.post(f"{live.api}/plans", json=body, timeout=TIMEOUT_S)

        with ThreadPoolExecutor(2) as pool:
            answers = list(pool.map(ask, sessions, bodies))

        assert sorted(answer.status_code for answer in answers) == [202, 409]
        refused = next(answer for answer in answers if answer.status_code == 409)
        made = next(answer for answer in answers if answer.status_code == 202)
        assert refused.json()["code"] == "plan_under_way"
        assert refused.json()["run"] == made.json()["id"]
