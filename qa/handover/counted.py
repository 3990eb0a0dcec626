"""What is counted of an attempt for the client to pay by."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from qa.domain.closeout import QuantityFact
from qa.domain.evidence_kind import FILMS
from qa.domain.pay import Installed, pay_items, quantities
from qa.domain.repair_facts import Laid, RepairFacts
from qa.domain.rules.place import installed_spans_m, prescribed_length_m
from qa.facts import evidence_of, other_end_of, prescribed_of, standing_prescription
from qa.models import Closing
from repairs.domain.field_event import EventKind
from repairs.domain.limits import limits_from
from repairs.domain.progress import of_sleeve
from repairs.selectors import standing_steps_of


def quantities_in(
    facts: RepairFacts, table: Sequence[Mapping[str, Any]]
) -> tuple[QuantityFact, ...]:
    """Return what the client pays by, counted as the contract's table says."""
    return _counted(facts, {each.kind for each in facts.evidence}, table)


def quantities_of(closing: Closing) -> tuple[QuantityFact, ...]:
    """Return the same for a closing without gathering its other facts.

    No clock, no log and no film is read: of a month's hundreds of repairs a statement wants
    these lines alone. An attempt that was closed without a prescription comes to no length.
    """
    repair, run = closing.repair, closing.repair.run
    contract = repair.work_order.requirement_set
    standing = standing_steps_of(repair, attempt=closing.attempt, received_until=closing.closed_at)
    row = standing_prescription(repair, attempt=closing.attempt, since=standing.since)
    laid = Laid(
        datum_ref=repair.datum.ref,
        other_end_ref=other_end_of(repair),
        run_length_m=run.length_m,
        progress=standing.progress,
        prescribed=prescribed_of(row, limits_from(contract.limits)),
    )
    files = evidence_of(
        repair, attempt=closing.attempt, now=closing.closed_at, since=standing.since
    )
    kinds = set(files.order_by().values_list("kind", flat=True))
    return _counted(_by_sleeve(laid), kinds, contract.pay)


def _by_sleeve(laid: Laid) -> Laid:
    if laid.prescribed is None or laid.prescribed.sleeve_count == 1:
        return laid
    numbers = range(1, laid.prescribed.sleeve_count + 1)
    each = (replace(laid, progress=of_sleeve(laid.progress, number)) for number in numbers)
    return replace(laid, sleeves=tuple(each))


def _counted(
    facts: RepairFacts | Laid, kinds: Collection[str], table: Sequence[Mapping[str, Any]]
) -> tuple[QuantityFact, ...]:
    done = Installed(
        sleeves_m=tuple((_mm(start), _mm(end)) for start, end in installed_spans_m(facts)),
        prescribed_m=_mm(prescribed_length_m(facts)),
        films=len(FILMS.intersection(kinds)),
        leak_tests=len(facts.progress.all_of(EventKind.LEAK_TESTED)),
    )
    return tuple(
        QuantityFact(each.item, each.words, each.unit, each.quantity)
        for each in quantities(pay_items(table), done)
    )


def _mm(metres: float) -> Decimal:
    """Return a length to the millimetre: what is behind that is the computer's, not the pipe's."""
    return Decimal(f"{metres:.3f}")
