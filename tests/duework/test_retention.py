"""Which rows go, and what stays of them."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from duework import retention, runner, sight
from duework.domain.work import Item
from duework.models import Effect, Tally, WorkItem
from tests.duework.due_moments import NOW

pytestmark = pytest.mark.django_db
Due = Callable[..., WorkItem]


@pytest.fixture(autouse=True)
def thirty_days(settings: Any) -> None:
    """Keep finished rows for thirty days."""
    settings.DUEWORK_KEEP_DAYS = 30


@pytest.mark.parametrize(
    ("state", "days_ago", "gone"),
    [
        ("done", 30.01, 1),
        ("done", 29.99, 0),  # not yet
        ("cancelled", 31, 1),
        ("expired", 31, 1),  # it was shown for a month
        ("dead", 400, 0),  # a person must rule on it first
    ],
)
def test_finished_rows_go_after_their_time(
    due: Due, state: str, days_ago: float, gone: int
) -> None:
    """What still asks for a person stays."""
    due()
    WorkItem.objects.update(state=state, finished_at=NOW - timedelta(days=days_ago), late_s=0.0)

    assert retention.purge(now=NOW) == gone
    assert WorkItem.objects.count() == 1 - gone


def test_what_waits_is_never_taken_away(due: Due) -> None:
    """However old it is."""
    due(after_s=-400 * 86_400)

    assert retention.purge(now=NOW) == 0


def test_the_effect_outlives_the_row(due: Due, calls: list[Item]) -> None:
    """The same key, written again after the purge, is not done again."""
    due("a")
    runner.run_due(now=NOW)

    assert retention.purge(now=NOW + timedelta(days=31)) == 1
    due("a")
    runner.run_due(now=NOW)

    assert len(calls) == 1
    assert Effect.objects.count() == 1


def test_the_figures_outlive_the_rows(due: Due, calls: list[Item]) -> None:
    """What was done, how late and in how many attempts reads the same before and after."""
    for number, late_s in enumerate((0.2, 0.4, 4.0, 4_000.0)):
        due(str(number), after_s=-late_s)
    runner.run_due(now=NOW)
    before = sight.finished()

    assert retention.purge(now=NOW + timedelta(days=31)) == len(calls) == 4

    after = sight.finished()
    assert [each.within for each in after] == [each.within for each in before]
    assert (after[0].done, after[0].attempts) == (4, 4)
    assert after[0].late_s == pytest.approx(4_004.6)
    assert Tally.objects.count() == 3


def test_tallies_add_up_over_purges(due: Due) -> None:
    """The second purge adds to the first."""
    for day in range(3):
        due(str(day), after_s=-1)
        runner.run_due(now=NOW)
        assert retention.purge(now=NOW + timedelta(days=31)) == 1

    assert (Tally.objects.get().done, Tally.objects.get().late_s) == (3, 3.0)


def test_a_purge_takes_no_more_than_it_was_allowed(
    due: Due, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In small transactions, so that nobody waits for it."""
    monkeypatch.setattr(retention, "AT_ONCE", 2)
    for number in range(7):
        due(str(number))
    WorkItem.objects.update(state="cancelled", finished_at=NOW - timedelta(days=40))

    assert retention.purge(now=NOW, at_most=5) == 5
    assert retention.purge(now=NOW, at_most=5) == 2
