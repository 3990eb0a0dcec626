"""What a client is to pay by: the accepted repairs of an order or month, and apart what is not."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from zoneinfo import ZoneInfo

from qa.domain.closeout import QuantityFact
from qa.domain.collection import Collection, Member

ANSWERS = {"accepted": "accepted", "returned": "returned", "": "not answered yet"}
"""What a client said of a package, in words."""


@dataclass(frozen=True, slots=True)
class StatementLine:
    """One closed attempt at one repair; `closed_on` is the day where the pipe is."""

    run_ref: str
    repair_ref: str
    attempt: int
    work_order: str
    closed_on: date
    answer: str
    quantities: tuple[QuantityFact, ...]


@dataclass(frozen=True, slots=True)
class Statement:
    """Accepted lines with their sums, and those the client has not accepted with theirs.

    A repair that was returned and closed again stands in both parts, once each: only the attempt
    that was accepted is in the sums to pay.
    """

    accepted: tuple[StatementLine, ...]
    not_accepted: tuple[StatementLine, ...]
    to_pay: tuple[QuantityFact, ...]
    not_to_pay: tuple[QuantityFact, ...]


def statement(collection: Collection) -> Statement:
    """Return the statement of what was collected, each part sorted by pipe."""
    lines = tuple(_line(each) for each in collection.members)
    accepted = _sorted(each for each in lines if each.answer == "accepted")
    rest = _sorted(each for each in lines if each.answer != "accepted")
    return Statement(accepted, rest, sums(accepted), sums(rest))


def sums(lines: Sequence[StatementLine]) -> tuple[QuantityFact, ...]:
    """Add up each pay item exactly; the contract's rounding was done for each repair already.

    Two contracts may give one number to different things: an item is its number, its words and
    its unit together.
    """
    found: dict[tuple[str, str, str], Decimal] = {}
    for line in lines:
        for each in line.quantities:
            key = (each.pay_item, each.words, each.unit)
            found[key] = found.get(key, Decimal(0)) + each.quantity
    return tuple(QuantityFact(*key, total) for key, total in sorted(found.items()))


def _line(member: Member) -> StatementLine:
    facts = member.facts
    zone = ZoneInfo(facts.site.time_zone)
    return StatementLine(
        run_ref=facts.run.ref,
        repair_ref=facts.repair.ref,
        attempt=facts.repair.attempt,
        work_order=facts.repair.work_order,
        closed_on=facts.closed_at.astimezone(zone).date(),
        answer=member.answer,
        quantities=facts.quantities,
    )


def _sorted(lines: Iterable[StatementLine]) -> tuple[StatementLine, ...]:
    return tuple(sorted(lines, key=lambda each: (each.run_ref, each.repair_ref, each.attempt)))
