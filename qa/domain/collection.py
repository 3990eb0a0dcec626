"""What the package of a whole order or month says: one line a repair, found by its pipe."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from qa.domain.closeout import CloseoutFacts
from repairs.domain.natural import natural


@dataclass(frozen=True, slots=True)
class Member:
    """A closed repair with its package, and what the client had answered when it was collected.

    `answered_at` is None while nothing was answered.
    """

    facts: CloseoutFacts
    package_id: str
    file_name: str
    sha256: str
    size_bytes: int
    answer: str
    answered_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Collection:
    """An order's or a month's packages.

    Parameters
    ----------
    of : str
        What is collected, for people: an order's number, or a month such as 2031-03.
    not_closed : tuple of str
        Repairs of the order that had no package yet.
    month : bool
        Whether it is a month, by each site's calendar, and not an order.
    """

    id: str
    of: str
    customer_name: str
    customer_code: str
    contractor_name: str
    members: tuple[Member, ...]
    not_closed: tuple[str, ...]
    collected_at: datetime
    invented: bool
    history_head: str
    month: bool = False


@dataclass(frozen=True, slots=True)
class IndexLine:
    """One repair of the index."""

    run_ref: str
    repair_ref: str
    attempt: int
    work_order: str
    street: str
    datum_ref: str
    defect_m: float
    sleeve_from_m: float | None
    sleeve_to_m: float | None
    closed_at: datetime
    requirements: int
    met: int
    judged: int
    waived: int
    answer: str
    file: str
    sha256: str


def index(members: Sequence[Member]) -> tuple[IndexLine, ...]:
    """Return one line a repair, sorted by pipe, then by where in it, then by attempt."""
    return tuple(sorted(map(_line, members), key=_by_pipe))


def _by_pipe(line: IndexLine) -> tuple[object, ...]:
    return natural(line.run_ref), line.defect_m, natural(line.repair_ref), line.attempt


def _line(member: Member) -> IndexLine:
    facts = member.facts
    words = Counter(each.verdict for each in facts.requirements)
    spans = facts.sleeves
    return IndexLine(
        run_ref=facts.run.ref,
        repair_ref=facts.repair.ref,
        attempt=facts.repair.attempt,
        work_order=facts.repair.work_order,
        street=facts.site.street,
        datum_ref=facts.repair.datum_ref,
        defect_m=facts.repair.defect_distance_m,
        sleeve_from_m=min((each.start_m for each in spans), default=None),
        sleeve_to_m=max((each.end_m for each in spans), default=None),
        closed_at=facts.closed_at,
        requirements=len(facts.requirements),
        met=words["met"],
        judged=words["judged"],
        waived=words["waived"],
        answer=member.answer,
        file=f"packages/{member.file_name}",
        sha256=member.sha256,
    )
