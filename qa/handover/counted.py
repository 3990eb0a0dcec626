"""What is counted of an attempt for the client to pay by."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from qa.domain.closeout import QuantityFact
from qa.domain.evidence_kind import FILMS
from qa.domain.pay import Installed, pay_items, quantities
from qa.domain.repair_facts import Laid, Prescribed
from qa.domain.rules.place import installed_spans_m, prescribed_length_m
from qa.facts import evidence_of, other_end_of, prescribed_of
from qa.models import Closing
from repairs.domain.field_event import EventKind
from repairs.domain.limits import limits_from
from repairs.domain.progress import Progress, of_sleeve
from repairs.models import Repair
from repairs.selectors import prescription_mixed_under, standing_steps_of


def quantities_of(closing: Closing) -> tuple[QuantityFact, ...]:
    """Return what the client pays by for a closing, without gathering its other facts.

    No clock, no log and no film is read: of a month's hundreds of repairs a statement wants
    these lines alone. An attempt that was closed without a prescription comes to no length.
    """
    repair, contract = closing.repair, closing.repair.work_order.requirement_set
    standing = standing_steps_of(repair, attempt=closing.attempt, received_until=closing.closed_at)
    since = standing.since
    row = prescription_mixed_under(repair, attempt=closing.attempt, since=since)
    prescribed = prescribed_of(row, limits_from(contract.limits))
    files = evidence_of(repair, attempt=closing.attempt, now=closing.closed_at, since=since)
    kinds = set(files.order_by().values_list("kind", flat=True))
    return counted(laid(repair, standing.progress, prescribed), kinds, contract.pay)


def laid(repair: Repair, progress: Progress, prescribed: Prescribed | None) -> Laid:
    """Return where the sleeves lie that were mixed under a prescription, each by itself."""
    whole = Laid(
        datum_ref=repair.datum.ref,
        other_end_ref=other_end_of(repair),
        run_length_m=repair.run.length_m,
        progress=progress,
        prescribed=prescribed,
    )
    if prescribed is None or prescribed.sleeve_count == 1:
        return whole
    numbers = range(1, prescribed.sleeve_count + 1)
    each = (replace(whole, progress=of_sleeve(progress, number)) for number in numbers)
    return replace(whole, sleeves=tuple(each))


def counted(
    lies: Laid, kinds: Collection[str], table: Sequence[Mapping[str, Any]]
) -> tuple[QuantityFact, ...]:
    """Return the lines as the contract's table counts them; `kinds` are those of the files."""
    done = Installed(
        sleeves_m=tuple((_mm(start), _mm(end)) for start, end in installed_spans_m(lies)),
        prescribed_m=_mm(prescribed_length_m(lies)),
        films=len(FILMS.intersection(kinds)),
        leak_tests=len(lies.progress.all_of(EventKind.LEAK_TESTED)),
    )
    return tuple(
        QuantityFact(each.item, each.words, each.unit, each.quantity)
        for each in quantities(pay_items(table), done)
    )


def _mm(metres: float) -> Decimal:
    """Return a length to the millimetre: what is behind that is the computer's, not the pipe's."""
    return Decimal(f"{metres:.3f}")
