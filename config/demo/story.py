"""The story of the invented day, act by act."""

from config.demo.day import Day
from config.demo.in_the_end import hand_over, review
from config.demo.in_the_office import (
    assign,
    come_in,
    enter_contract,
    prescribe,
    set_up_crews,
    take_orders,
)
from config.demo.in_the_street import post_from_the_street, work_in_the_street
from config.demo.somebody_is_told import tell_somebody
from config.demo.tomorrow import plan_tomorrow

ACTS = (
    come_in,
    enter_contract,
    take_orders,
    set_up_crews,
    prescribe,
    assign,
    work_in_the_street,
    post_from_the_street,
    tell_somebody,
    review,
    hand_over,
    plan_tomorrow,
)


def play(day: Day) -> None:
    """Play all acts in order."""
    with day.account.bar:
        for act in ACTS:
            act(day)
