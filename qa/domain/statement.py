"""What a client is to pay by: accepted repairs, each in one month only; apart what is not."""

from calendar import monthrange
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from enum import StrEnum
from zoneinfo import ZoneInfo

from qa.domain.closeout import Paper, QuantityFact
from qa.domain.collection import Collection, Member
from qa.domain.months import month_at, month_read
from repairs.domain.natural import natural

ACCEPTED = "accepted"
ANSWERS = {ACCEPTED: "accepted", "returned": "returned", "": "not answered yet"}
"""What a client said of a package, in words."""


class Rule(StrEnum):
    """By which rule a statement counts; whoever adds several up has to know."""

    MONTH = "accepted in the month"
    ORDER = "accepted so far"
    COLLECTED = "answers when collected"


@dataclass(frozen=True, slots=True)
class ClosedAttempt:
    """A closed attempt as far as it decides where it is paid.

    Parameters
    ----------
    time_zone : str
        That of the site: its calendar says which month it is.
    answer : str
        What the client has said of it: one of `ANSWERS`.
    answered_at : datetime or None
        When; None while nothing was said.
    """

    closed_at: datetime
    time_zone: str
    answer: str = ""
    answered_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class StatementOf:
    """Whose statement it is, of what, and how it stands.

    Parameters
    ----------
    of : str
        A month such as 2031-03, or an order's number.
    month : bool
        Whether it is of a month.
    stands_at : datetime or None
        The moment as of which it tells the answers; None for a month that is over, of which it
        tells those of its end.
    not_closed : tuple of str
        Repairs of the order that are not closed yet, or are open again.
    """

    of: str
    month: bool
    rule: Rule
    customer_name: str
    customer_code: str
    contractor_name: str
    stands_at: datetime | None
    not_closed: tuple[str, ...] = ()
    invented: bool = False
    paper: Paper = "A4"

    @property
    def told_at(self) -> datetime:
        """Return the moment it tells of: of a month that is over, the last second of it in UTC."""
        if self.stands_at is not None:
            return self.stands_at
        month = month_read(self.of)
        last = monthrange(month.year, month.month)[1]
        return datetime(month.year, month.month, last, 23, 59, 59, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class StatementLine:
    """One closed attempt at one repair; the days are those where the pipe is."""

    run_ref: str
    repair_ref: str
    attempt: int
    work_order: str
    closed_on: date
    answer: str
    answered_on: date | None
    quantities: tuple[QuantityFact, ...]
    repair_id: str = ""


@dataclass(frozen=True, slots=True)
class Statement:
    """Accepted lines with their sums, and those the client has not accepted with theirs.

    A repair that was returned and closed again stands in both parts, once each: only the attempt
    that was accepted is in the sums to pay.
    """

    whose: StatementOf
    accepted: tuple[StatementLine, ...]
    not_accepted: tuple[StatementLine, ...]
    to_pay: tuple[QuantityFact, ...]
    not_to_pay: tuple[QuantityFact, ...]

    @property
    def returned(self) -> tuple[StatementLine, ...]:
        """Return the attempts that the client returned: they are never paid."""
        return tuple(each for each in self.not_accepted if each.answer)

    @property
    def waiting(self) -> tuple[StatementLine, ...]:
        """Return the attempts that the client had not answered."""
        return tuple(each for each in self.not_accepted if not each.answer)


def answer_in(closed: ClosedAttempt, month: date) -> str | None:
    """Return the answer with which an attempt stands in a month's statement; None if it does not.

    An accepted attempt is paid in the month in which the client accepted it, and in no other one.
    In the month in which it was closed it stands besides, unpaid, with the answer of that month's
    end, unless it was accepted in that very month. So a month that is over never changes, and
    all months together pay each accepted attempt once.
    """
    answered = None
    if closed.answered_at is not None:
        answered = month_at(closed.answered_at, closed.time_zone)
    if closed.answer == ACCEPTED and answered == month:
        return ACCEPTED
    if month_at(closed.closed_at, closed.time_zone) != month:
        return None
    known = answered is not None and answered <= month
    # An answer from before the closing, by a clock that was set back, still pays only once.
    return None if known and closed.answer == ACCEPTED else closed.answer if known else ""


def statement(whose: StatementOf, lines: Iterable[StatementLine]) -> Statement:
    """Return the statement of lines, each part sorted by pipe."""
    given = sorted(
        lines, key=lambda each: (natural(each.run_ref), natural(each.repair_ref), each.attempt)
    )
    accepted = tuple(each for each in given if each.answer == ACCEPTED)
    rest = tuple(each for each in given if each.answer != ACCEPTED)
    return Statement(whose, accepted, rest, sums(accepted), sums(rest))


def collected_statement(collection: Collection) -> Statement:
    """Return the statement of a collected package: of what is in it, as answered until then."""
    whose = StatementOf(
        of=collection.of,
        month=collection.month,
        rule=Rule.COLLECTED,
        customer_name=collection.customer_name,
        customer_code=collection.customer_code,
        contractor_name=collection.contractor_name,
        stands_at=collection.collected_at,
        not_closed=collection.not_closed,
        invented=collection.invented,
        paper=collection.members[0].facts.paper if collection.members else "A4",
    )
    return statement(whose, (_line(each) for each in collection.members))


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


def day_at(moment: datetime, time_zone: str) -> date:
    """Return the day on which something happened, by the site's calendar."""
    return moment.astimezone(ZoneInfo(time_zone)).date()


def _line(member: Member) -> StatementLine:
    facts, zone, answered_at = member.facts, member.facts.site.time_zone, member.answered_at
    return StatementLine(
        run_ref=facts.run.ref,
        repair_ref=facts.repair.ref,
        attempt=facts.repair.attempt,
        work_order=facts.repair.work_order,
        closed_on=day_at(facts.closed_at, zone),
        answer=member.answer,
        answered_on=None if answered_at is None else day_at(answered_at, zone),
        quantities=facts.quantities,
        repair_id=facts.repair.id,
    )
