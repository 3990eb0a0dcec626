"""What the client pays by: the contract's pay items, counted from what was installed.

Decimal throughout: the digits of a bill are the contract's, and rounding is a rule of it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, ROUND_HALF_UP, ROUND_UP, Decimal, InvalidOperation
from typing import Any

from repairs.domain.problem import Fault, shown

ROUNDINGS = {"half up": ROUND_HALF_UP, "down": ROUND_DOWN, "up": ROUND_UP}
UNITS = {"each": None, "m": Decimal(1), "ft": Decimal("0.3048")}
"""Metres of a unit of length; the international foot is exact."""

COUNTS = ("repair", "sleeve", "length", "film", "leak test")
_LONGEST = 60


@dataclass(frozen=True, slots=True)
class PayItem:
    """One line of the contract's table.

    Parameters
    ----------
    counts : str
        What is counted: the repair, its sleeves, their installed length, the films before and
        after, or a leak test that was done.
    beyond_m : Decimal
        For a length: what another item pays already; only what is longer counts.
    at_most_prescribed : bool
        For a length: never more than was prescribed.
    step, rounding : Decimal, str
        What the quantity is rounded to, and how.
    """

    item: str
    words: str
    unit: str
    counts: str
    step: Decimal
    rounding: str
    source: str
    beyond_m: Decimal = Decimal(0)
    at_most_prescribed: bool = False


@dataclass(frozen=True, slots=True)
class Installed:
    """What is there to be counted; the sleeves as (start, end) in metres from the datum."""

    sleeves_m: tuple[tuple[Decimal, Decimal], ...]
    prescribed_m: Decimal
    films: int
    leak_tests: int


@dataclass(frozen=True, slots=True)
class Quantity:
    """One line of the bill."""

    item: str
    words: str
    unit: str
    quantity: Decimal


USUAL = (
    PayItem("sleeve", "Sleeve installed", "each", "sleeve", Decimal(1), "half up",
            "common practice, no source"),
    PayItem("sleeve_length", "Installed sleeve length", "m", "length", Decimal("0.01"), "half up",
            "common practice, no source"),
    PayItem("film", "Filming before and after", "each", "film", Decimal(1), "half up",
            "common practice, no source"),
)  # fmt: skip
"""What is counted where a contract says nothing."""


def quantities(items: Sequence[PayItem], done: Installed) -> tuple[Quantity, ...]:
    """Count each pay item; one that comes to nothing is left out.

    A length is measured along the pipe and once: where sleeves overlap, the overlap is paid once.
    """
    found = (Quantity(each.item, each.words, each.unit, _counted(each, done)) for each in items)
    return tuple(each for each in found if each.quantity)


def pay_items(table: Sequence[Mapping[str, Any]]) -> tuple[PayItem, ...]:
    """Read a contract's table; an empty one is what is usual. `pay_faults` has checked it."""
    return tuple(_item(row) for row in table) or USUAL


def pay_faults(table: Sequence[Any]) -> Iterator[Fault]:
    """Name everything that is wrong with a contract's table of pay items."""
    seen: set[object] = set()
    for number, row in enumerate(table):
        if not isinstance(row, Mapping):
            yield Fault(f"pay[{number}]", shown(row), "an object")
            continue
        for name, found, expected in _wrong(row):
            yield Fault(f"pay[{number}].{name}", found, expected)
        if str(row.get("item")) in seen:
            yield Fault(f"pay[{number}].item", shown(row["item"]), "each pay item once")
        seen.add(str(row.get("item")))


def _counted(item: PayItem, done: Installed) -> Decimal:
    if item.counts == "length":
        return _length(item, done)
    count = {
        "repair": 1 if done.sleeves_m else 0,
        "sleeve": len(done.sleeves_m),
        "film": done.films,
        "leak test": done.leak_tests,
    }[item.counts]
    return _rounded(Decimal(count), item)


def _length(item: PayItem, done: Installed) -> Decimal:
    whole_m = covered_m(done.sleeves_m)
    if item.at_most_prescribed:
        whole_m = min(whole_m, done.prescribed_m)
    return _rounded(max(whole_m - item.beyond_m, Decimal(0)) / (UNITS[item.unit] or 1), item)


def covered_m(sleeves_m: Sequence[tuple[Decimal, Decimal]]) -> Decimal:
    """Return how much of the pipe is covered, what lies double counted once."""
    total, reached = Decimal(0), None
    for start, end in sorted(sleeves_m):
        begins = start if reached is None else max(start, reached)
        total += max(end - begins, Decimal(0))
        reached = end if reached is None else max(end, reached)
    return total


def _rounded(value: Decimal, item: PayItem) -> Decimal:
    steps = (value / item.step).to_integral_value(rounding=ROUNDINGS[item.rounding])
    return steps * item.step


def _item(row: Mapping[str, Any]) -> PayItem:
    return PayItem(
        item=str(row["item"]),
        words=str(row["words"]),
        unit=str(row["unit"]),
        counts=str(row["counts"]),
        step=Decimal(str(row["step"])),
        rounding=str(row["rounding"]),
        source=str(row["source"]),
        beyond_m=Decimal(str(row.get("beyond_m", 0))),
        at_most_prescribed=bool(row.get("at_most_prescribed", False)),
    )


def _wrong(row: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    for name in ("item", "words", "source"):
        if not isinstance(row.get(name), str) or not 0 < len(row[name].strip()) <= 4 * _LONGEST:
            yield name, shown(row.get(name)), "a short text"
    choices = {"unit": tuple(UNITS), "counts": COUNTS, "rounding": tuple(ROUNDINGS)}
    for name, words in choices.items():
        if row.get(name) not in words:
            yield name, shown(row.get(name)), f"one of {', '.join(words)}"
    if (row.get("counts") == "length") != (row.get("unit") in ("m", "ft")):
        yield "unit", shown(row.get("unit")), "m or ft for a length, each for the rest"
    step = _decimal(row.get("step"))
    if step is None or step <= 0:
        yield "step", shown(row.get("step")), "a number above 0, such as 0.01"
    beyond = _decimal(row.get("beyond_m", 0))
    if beyond is None or beyond < 0:
        yield "beyond_m", shown(row.get("beyond_m")), "a length in m, 0 or more"
    if not isinstance(row.get("at_most_prescribed", False), bool):
        yield "at_most_prescribed", shown(row["at_most_prescribed"]), "true or false"


def _decimal(value: object) -> Decimal | None:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    try:
        found = Decimal(str(value))
    except InvalidOperation:
        return None
    return found if found.is_finite() else None
