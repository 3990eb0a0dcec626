"""What is supposed beside the rows is stored and read back, and says what follows."""

import json
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.what_if import (
    NEEDS,
    Supposed,
    Supposition,
    WhatIf,
    as_table,
    supposed_from,
    supposition_faults,
    words_of,
)

FIELDS = sorted({"x"}.union(*NEEDS.values()))
MONDAY = date(2026, 11, 30)
names = st.sampled_from(["NORTH", "SOUTH"])
days = st.integers(0, 3).map(lambda n: MONDAY + timedelta(days=n))
some = st.one_of(
    st.builds(WhatIf, st.just(Supposition.CREW_AWAY), names, days),
    st.builds(WhatIf, st.just(Supposition.CREW_LATE), names, days, st.integers(1, 300)),
    st.builds(lambda serial: WhatIf(Supposition.PACKER_OUT, serial=serial), names),
    st.builds(lambda repair: WhatIf(Supposition.URGENT, repair=repair), names),
    st.builds(
        lambda on, sites, low: WhatIf(Supposition.NO_WORK, on=on, sites=tuple(sites), low_flow=low),
        days,
        st.lists(names, max_size=2),
        st.booleans(),
    ),
    st.builds(
        lambda name, value: WhatIf(Supposition.PRICE, price=name, value=value),
        st.sampled_from(["change_s", "late_day_s"]),
        st.integers(0, 9000),
    ),
)


@given(st.lists(some, max_size=6))
def test_what_is_stored_is_what_is_read(those: list[WhatIf]) -> None:
    """By way of JSON text, nothing is lost and nothing added."""
    text = json.dumps(as_table(those))

    assert supposed_from(json.loads(text)).those == tuple(those)


@given(st.lists(some, max_size=6))
def test_each_supposition_is_found_by_whoever_asks(those: list[WhatIf]) -> None:
    """Away, late, out, urgent, idle, priced: for the one it names, and for nobody else."""
    supposed = Supposed(tuple(those))

    for each in those:
        assert words_of(each)
        match each.kind:
            case Supposition.CREW_AWAY:
                assert each.on is not None
                assert supposed.is_away(each.crew, each.on)
            case Supposition.CREW_LATE:
                assert each.on is not None
                assert supposed.late_s(each.crew, each.on) > 0
            case Supposition.PACKER_OUT:
                assert supposed.is_out(each.serial)
            case Supposition.URGENT:
                assert supposed.is_urgent(each.repair)
            case Supposition.NO_WORK:
                assert all(each.on in supposed.idle_dates(s, low_flow=False) for s in each.sites)
            case Supposition.PRICE:
                assert each.price in supposed.prices()
    assert not supposed.is_away("EAST", MONDAY)
    assert not supposed.late_s("EAST", MONDAY)
    assert not supposed.is_out("EAST")
    assert not supposed.is_urgent("EAST")
    assert supposed.idle_dates("EAST", low_flow=False) == ()


def test_rain_is_idle_only_where_the_flow_must_be_low() -> None:
    """Others work on."""
    rain = Supposed((WhatIf(Supposition.NO_WORK, on=MONDAY, low_flow=True),))

    assert rain.idle_dates("any", low_flow=True) == (MONDAY,)
    assert rain.idle_dates("any", low_flow=False) == ()


@given(
    st.sampled_from(Supposition), st.sets(st.sampled_from(sorted({*"x"}.union(*NEEDS.values()))))
)
def test_what_is_missing_and_what_is_too_much_is_named(
    kind: Supposition, given_names: set[str]
) -> None:
    """Each needed field that is not there, each field that says nothing here."""
    found = {fault.field for fault in supposition_faults(kind, given_names)}

    where = {"sites"} if kind is Supposition.NO_WORK else set()
    assert found == (given_names ^ NEEDS[kind]) | where
