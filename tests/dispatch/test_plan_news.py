"""A crew hears what is different for it, and nothing else."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.plan_news import WORTH_TELLING, Visit, news_for

START = datetime(2026, 11, 30, 6, tzinfo=UTC)
visits = st.dictionaries(
    st.sampled_from(["R-1", "R-2", "R-3", "R-4"]), st.integers(0, 2880), max_size=4
).map(lambda rows: [Visit(key, key, START + timedelta(minutes=at)) for key, at in rows.items()])


@given(visits, visits)
def test_each_change_is_one_line_and_the_rest_is_silent(
    before: list[Visit], after: list[Visit]
) -> None:
    """New, moved by a quarter of an hour or more, no longer theirs."""
    was = {each.key: each.starts_at for each in before}
    now = {each.key: each.starts_at for each in after}
    changed = {
        key
        for key in was.keys() | now.keys()
        if key not in was or key not in now or abs(now[key] - was[key]) >= WORTH_TELLING
    }

    lines = news_for(before, after, "CET").splitlines()

    assert len(lines) == len(changed)
    assert {line.split(": ")[1].split(",")[0] for line in lines} == changed


def test_times_are_those_of_the_crews_clock() -> None:
    """Six in the morning UTC is seven for them."""
    told = news_for([], [Visit("1", "R-1", START)], "CET")

    assert told == "New: R-1, Mon 30 Nov 07:00."


@given(visits)
def test_the_same_plan_again_tells_nothing(same: list[Visit]) -> None:
    """Not a word."""
    assert news_for(same, same, "CET") == ""


def test_a_set_up_beside_a_cure_is_told() -> None:
    """Which repair cures meanwhile, that it takes two packers, and where it is."""
    inner = Visit("2", "R-11", START, "Invented Street 5", beside="R-10")

    assert news_for([], [inner], "CET") == (
        "New: R-11, Invented Street 5, Mon 30 Nov 07:00, set up while R-10 cures: "
        "two packers, and somebody stays with R-10."
    )


@given(
    st.tuples(st.sampled_from(["", "R-8", "R-9"]), st.sampled_from(["", "R-8", "R-9"])),
    st.integers(0, 60),
)
def test_another_cure_is_news_though_the_hour_is_the_same(
    outers: tuple[str, str], minutes: int
) -> None:
    """Beside another, beside none any more, or for the first time: each is one line."""
    before = Visit("1", "R-1", START, beside=outers[0])
    after = Visit("1", "R-1", START + timedelta(minutes=minutes), beside=outers[1])

    told = news_for([before], [after], "CET")

    moved = timedelta(minutes=minutes) >= WORTH_TELLING
    assert bool(told) is (moved or outers[0] != outers[1])
    assert (f"set up while {outers[1]} cures" in told) is bool(told and outers[1])
    assert (f"no longer while {outers[0]} cures" in told) is bool(
        told and outers[0] and not outers[1]
    )
