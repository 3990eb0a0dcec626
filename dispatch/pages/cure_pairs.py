"""Which repairs of a crew are live together: in whose cure one is set up, and the order of work."""

from collections.abc import Iterable, Sequence

from dispatch.domain.cure_order import Worked, chains_of, order_words
from dispatch.models import Assignment


def together(rows: Iterable[Assignment]) -> tuple[tuple[Assignment, ...], ...]:
    """Return those that belong together, each set up in the cure of the one before; mostly none."""
    known = {str(row.pk): row for row in rows}
    chains = chains_of(_worked(row) for row in known.values())
    return tuple(tuple(known[each.key] for each in chain) for chain in chains)


def order_of(chain: Sequence[Assignment]) -> str:
    """Return the order of work on those that belong together, in one line."""
    return order_words([_worked(row) for row in chain])


def meanwhile(row: Assignment) -> str:
    """Say in whose cure a repair is set up, and what is set up in its own; empty for neither."""
    said = [] if row.beside is None else [f"Set up while {row.beside.repair.ref} cures."]
    said += [f"While it cures, {each.repair.ref} is set up." for each in _set_up_in(row)]
    return " ".join(said)


def worked_with(row: Assignment) -> tuple[Assignment, ...]:
    """Return the assignments that belong together with one, itself among them, outer first."""
    first = row
    seen = {row.pk}
    while first.beside is not None and first.beside.pk not in seen:
        first = first.beside
        seen.add(first.pk)
    found = [first]
    for each in found:  # grows while it is read
        found += [inner for inner in _set_up_in(each) if inner not in found]
    return tuple(found)


def _set_up_in(row: Assignment) -> list[Assignment]:
    inside = row.inside.select_related("repair__run").filter(cancelled_at__isnull=True)
    return list(inside.order_by("starts_at"))


def _worked(row: Assignment) -> Worked:
    return Worked(
        key=str(row.pk),
        name=row.repair.ref,
        place=str(row.repair.run.site_id),
        beside=str(row.beside_id or ""),
    )
