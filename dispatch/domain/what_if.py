"""What a plan supposes beside the rows: a crew late, a packer broken, rain, another price.

A supposition changes no row. It goes with the plan it was made for, is shown with it, and
holds once more when that plan is published.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from datetime import date
from enum import StrEnum
from typing import Any

from repairs.domain.problem import Fault


class Supposition(StrEnum):
    """What is supposed."""

    CREW_AWAY = "crew away"
    CREW_LATE = "crew late"
    PACKER_OUT = "packer out"
    URGENT = "urgent"
    NO_WORK = "no work"
    PRICE = "price"


@dataclass(frozen=True, slots=True)
class WhatIf:
    """One thing that is supposed.

    Parameters
    ----------
    crew, on : str, date or None
        Which crew is away or late, by code, and on which date; of 'no work' the date only.
    minutes : int
        How much later a late crew begins.
    serial : str
        Which packer is out of use, on all days.
    repair : str
        Which repair is urgent, by id: it counts as priority A, due on the first day.
    sites : tuple of str
        Ids of the sites where nobody works on the date.
    low_flow : bool
        Nobody works on the date where a low flow is asked for either: it rains.
    price, value : str, int
        Which price, by its name in `Weights`, and how much it is.
    """

    kind: Supposition
    crew: str = ""
    on: date | None = None
    minutes: int = 0
    serial: str = ""
    repair: str = ""
    sites: tuple[str, ...] = ()
    low_flow: bool = False
    price: str = ""
    value: int = 0


NEEDS: Mapping[Supposition, frozenset[str]] = {
    Supposition.CREW_AWAY: frozenset({"crew", "on"}),
    Supposition.CREW_LATE: frozenset({"crew", "on", "minutes"}),
    Supposition.PACKER_OUT: frozenset({"serial"}),
    Supposition.URGENT: frozenset({"repair"}),
    Supposition.NO_WORK: frozenset({"on"}),
    Supposition.PRICE: frozenset({"price", "value"}),
}
"""What each kind must say; a day without work also names sites, a low flow, or both."""

_WHERE = frozenset({"sites", "low_flow"})


def supposition_faults(kind: Supposition, given: Iterable[str]) -> tuple[Fault, ...]:
    """Name what a supposition leaves open, and what says nothing in one of its kind."""
    said = set(given)
    missing = [Fault(name, "nothing", f"with {kind.value!r}") for name in NEEDS[kind] - said]
    where = _WHERE if kind is Supposition.NO_WORK else frozenset()
    if where and not where & said:
        missing.append(Fault("sites", "nothing", "sites, or low_flow, or both"))
    more = said - NEEDS[kind] - where
    unknown = [Fault(name, "a value", f"nothing with {kind.value!r}") for name in more]
    return tuple(sorted([*missing, *unknown], key=lambda fault: fault.field))


@dataclass(frozen=True, slots=True)
class Supposed:
    """All that is supposed at once, and what follows for whoever builds a problem."""

    those: tuple[WhatIf, ...] = ()

    def is_away(self, crew: str, on: date) -> bool:
        """Return whether a crew does not go out on a date."""
        return any(
            each.kind is Supposition.CREW_AWAY and (each.crew, each.on) == (crew, on)
            for each in self.those
        )

    def late_s(self, crew: str, on: date) -> int:
        """Return how much later than its hours a crew begins on a date; the latest word counts."""
        late = [
            60 * each.minutes
            for each in self.those
            if each.kind is Supposition.CREW_LATE and (each.crew, each.on) == (crew, on)
        ]
        return late[-1] if late else 0

    def is_out(self, serial: str) -> bool:
        """Return whether a packer is out of use."""
        return any(
            each.kind is Supposition.PACKER_OUT and each.serial == serial for each in self.those
        )

    def is_urgent(self, repair: str) -> bool:
        """Return whether a repair counts as urgent."""
        return any(each.kind is Supposition.URGENT and each.repair == repair for each in self.those)

    def idle_dates(self, site: str, *, low_flow: bool) -> tuple[date, ...]:
        """Return the dates on which nobody works at a site, or where a low flow is needed."""
        return tuple(
            sorted(
                {
                    each.on
                    for each in self.those
                    if each.kind is Supposition.NO_WORK
                    and each.on is not None
                    and (site in each.sites or (low_flow and each.low_flow))
                }
            )
        )

    def prices(self) -> dict[str, int]:
        """Return the prices that are other than the company's, the latest word of each."""
        return {each.price: each.value for each in self.those if each.kind is Supposition.PRICE}


def supposed_from(table: Sequence[Mapping[str, Any]]) -> Supposed:
    """Read what `as_table` has written."""
    return Supposed(
        tuple(
            WhatIf(
                **{
                    **row,
                    "kind": Supposition(row["kind"]),
                    "on": date.fromisoformat(row["on"]) if row.get("on") else None,
                    "sites": tuple(row.get("sites", ())),
                }
            )
            for row in table
        )
    )


def as_table(those: Sequence[WhatIf]) -> list[dict[str, Any]]:
    """Return suppositions as JSON stores them, without what does not belong to their kind."""
    return [_as_row(each) for each in those]


def _as_row(each: WhatIf) -> dict[str, Any]:
    plain = {item.name: item.default for item in fields(WhatIf)}
    row = {name: value for name, value in asdict(each).items() if value != plain[name]}
    row["kind"] = each.kind.value
    if each.on is not None:
        row["on"] = each.on.isoformat()
    if each.sites:
        row["sites"] = list(each.sites)
    return row


def words_of(each: WhatIf) -> str:
    """Return a supposition as a dispatcher would say it."""
    match each.kind:
        case Supposition.CREW_AWAY:
            return f"crew {each.crew} does not go out on {each.on}"
        case Supposition.CREW_LATE:
            return f"crew {each.crew} begins {each.minutes} min later on {each.on}"
        case Supposition.PACKER_OUT:
            return f"packer {each.serial} is out of use"
        case Supposition.URGENT:
            return "one repair more is urgent"
        case Supposition.NO_WORK:
            where = [f"at {len(each.sites)} site(s)"] if each.sites else []
            where += ["where a low flow is asked for"] if each.low_flow else []
            return f"no work on {each.on} {' and '.join(where)}".rstrip()
        case Supposition.PRICE:
            return f"the price {each.price} is {each.value}"
