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
