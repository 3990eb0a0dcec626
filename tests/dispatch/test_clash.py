"""Why a repair, a crew and a time do not go together: every reason at once."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.clash import Held, Packer, Proposal, Span, Stock, find_clashes

EIGHT = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
NOON = EIGHT + timedelta(hours=4)
TODAY = date(2026, 11, 25)
DAY = timedelta(days=1)
SECOND = timedelta(seconds=1)

PACKER = Packer("PK-1", 200.0, 320.0, length_m=1.6, limit_kpa=60.0, test_due_on=TODAY)
HELD = Held("Invented Person", "sectional repair", expires_on=TODAY)
STOCK = Stock("LOT-1", "KIT-300", expires_on=TODAY, free=2)

GOOD = Proposal(
    starts_at=EIGHT,
    ends_at=NOON,
    work_date=TODAY,
    needed_min=240.0,
    not_before=EIGHT,
    not_after=NOON,
    diameter_mm=300.0,
    sleeve_length_m=1.0,
    pressure_kpa=33.0,
    kit_code="KIT-300",
    kits_needed=2,
    qualifications=("sectional repair",),
    others=(),
    held=(HELD,),
    packers=(PACKER,),
    stock=(STOCK,),
)
"""Just enough of everything: each limit is reached and none is passed."""


def _at(begin: datetime, end: datetime) -> tuple[Span, ...]:
    return (Span(begin, end, "REP-9"),)


def _packer(**changed: object) -> tuple[Packer, ...]:
    return (replace(PACKER, **changed),)


def codes(proposal: Proposal) -> list[str]:
    """Return the codes of the reasons found."""
    return [clash.code for clash in find_clashes(proposal)]


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({}, []),  # every limit is just reached: that is allowed
        ({"needed_min": 240.1}, ["span_too_short"]),  # six seconds more than the span
        ({"not_before": EIGHT + SECOND}, ["window_missed"]),  # begins a second too soon
        ({"not_after": NOON - SECOND}, ["window_missed"]),  # ends a second too late
        ({"not_before": None, "not_after": None}, []),  # no window, no missing it
        ({"others": _at(EIGHT - DAY, EIGHT)}, []),  # the other ends exactly when this starts
        ({"others": _at(NOON, NOON + DAY)}, []),  # the other starts exactly when this ends
        ({"others": _at(EIGHT - DAY, EIGHT + SECOND)}, ["double_booking"]),  # a second too long
        ({"others": _at(NOON - SECOND, NOON + DAY)}, ["double_booking"]),  # a second too soon
        ({"others": _at(EIGHT + SECOND, NOON - SECOND)}, ["double_booking"]),  # lies inside
        ({"others": _at(EIGHT - DAY, NOON + DAY)}, ["double_booking"]),  # lies around it
        ({"held": (replace(HELD, expires_on=TODAY - DAY),)}, ["qualification_expired"]),
        ({"held": ()}, ["qualification_missing"]),  # nobody ever held it
        ({"held": (replace(HELD, kind="first aid"),)}, ["qualification_missing"]),
        ({"held": (replace(HELD, expires_on=TODAY - DAY), HELD)}, []),  # one of two is enough
        ({"qualifications": ()}, []),  # the contract asks for none
        ({"packers": ()}, ["packer_missing"]),
        ({"packers": _packer(test_due_on=TODAY - DAY)}, ["packer_test_overdue"]),
        ({"packers": _packer(diameter_max_mm=300.0)}, []),  # the pipe is just its largest
        ({"packers": _packer(diameter_max_mm=299.9)}, ["packer_does_not_fit"]),
        ({"packers": _packer(diameter_min_mm=300.0)}, []),  # the pipe is just its smallest
        ({"packers": _packer(diameter_min_mm=300.1)}, ["packer_does_not_fit"]),
        ({"packers": _packer(length_m=1.0)}, []),  # as long as the sleeve
        ({"packers": _packer(length_m=0.99)}, ["packer_too_short"]),
        ({"packers": _packer(length_m=None, limit_kpa=None)}, []),  # not stated, not judged
        ({"packers": _packer(limit_kpa=33.0)}, []),  # may take just what is prescribed
        ({"packers": _packer(limit_kpa=32.9)}, ["packer_too_weak"]),
        ({"packers": (*_packer(limit_kpa=1.0), PACKER)}, []),  # one that serves is enough
        ({"stock": ()}, ["kit_missing"]),
        ({"kits_needed": 3}, ["kit_missing"]),  # one short
        ({"stock": (replace(STOCK, kit_code="KIT-200"),)}, ["kit_missing"]),  # another size
        ({"stock": (replace(STOCK, expires_on=TODAY - DAY),)}, ["kit_expired", "kit_missing"]),
        ({"stock": (replace(STOCK, free=1), replace(STOCK, lot="LOT-2", free=1))}, []),
        ({"stock": (replace(STOCK, free=0, expires_on=TODAY - DAY),)}, ["kit_missing"]),
    ],
)
def test_each_limit_is_kept_to_its_last_step(
    changed: dict[str, object], expected: list[str]
) -> None:
    """At a limit a proposal stands, one step beyond it falls, and the code says why."""
    assert codes(replace(GOOD, **changed)) == expected


def test_all_reasons_come_at_once() -> None:
    """The dispatcher hears everything in one answer, each code once for each matter."""
    bad = replace(
        GOOD,
        needed_min=500.0,
        not_before=NOON,
        others=_at(EIGHT, NOON) + _at(EIGHT, NOON),
        held=(),
        packers=(),
        stock=(),
    )

    assert codes(bad) == [
        "span_too_short",
        "window_missed",
        "double_booking",
        "double_booking",
        "qualification_missing",
        "packer_missing",
        "kit_missing",
    ]


def test_a_reason_names_what_it_is_about() -> None:
    """The words of a clash hold the lot, the dates and the numbers."""
    expired = replace(GOOD, stock=(replace(STOCK, expires_on=TODAY - DAY),))

    words = " ".join(clash.words for clash in find_clashes(expired))

    for said in ("LOT-1", "2026-11-24", "2026-11-25", "2 of KIT-300 needed, 0 in date"):
        assert said in words


def test_every_fault_of_a_packer_that_does_not_serve_is_told() -> None:
    """A packer wrong in three ways says all three."""
    words = find_clashes(
        replace(GOOD, packers=_packer(length_m=0.5, limit_kpa=10.0, test_due_on=TODAY - DAY))
    )[0].words

    assert "0.5 m long" in words
    assert "10.0 kPa" in words
    assert "2026-11-24" in words


@given(
    begin=st.integers(-600, 600),
    lasting=st.integers(1, 600),
)
def test_two_spans_clash_exactly_when_they_share_a_minute(begin: int, lasting: int) -> None:
    """Counted minute by minute, the crew is double booked if and only if a minute is shared."""
    other = _at(EIGHT + timedelta(minutes=begin), EIGHT + timedelta(minutes=begin + lasting))
    shared = set(range(240)) & set(range(begin, begin + lasting))

    assert ("double_booking" in codes(replace(GOOD, others=other))) is bool(shared)


@given(order=st.permutations([PACKER, *_packer(serial="PK-2", limit_kpa=1.0)]), extra=st.booleans())
def test_another_packer_on_the_truck_never_makes_it_worse(order: list[Packer], extra: bool) -> None:
    """One packer that serves settles the matter, whatever lies beside it."""
    packers = (*order, *_packer(serial="PK-3", diameter_max_mm=100.0)) if extra else tuple(order)

    assert codes(replace(GOOD, packers=packers)) == []


@given(free=st.lists(st.integers(0, 4), max_size=4), needed=st.integers(1, 6))
def test_kits_of_several_lots_add_up(free: list[int], needed: int) -> None:
    """The kits of all lots in date count together."""
    stock = tuple(replace(STOCK, lot=f"LOT-{n}", free=count) for n, count in enumerate(free))

    missing = "kit_missing" in codes(replace(GOOD, stock=stock, kits_needed=needed))

    assert missing is (sum(free) < needed)
