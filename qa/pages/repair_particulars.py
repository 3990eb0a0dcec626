"""What a repair is and what was prescribed for it, in both systems of units."""

from dataclasses import dataclass

from repairs.domain.defect_codes import meaning_of
from repairs.domain.units import Dimension, words
from repairs.models import Prescription, Repair
from repairs.pages.clock_words import moment
from repairs.pages.figures import Figure, figures
from repairs.selectors import newest_prescription, order_changed_since, prescription_in_force


@dataclass(frozen=True, slots=True)
class Prescribed:
    """The prescription in force, as it is read on site."""

    number: int
    figures: tuple[Figure, ...]
    working: tuple[str, ...]
    fitness: str
    fitness_reasons: tuple[str, ...]
    frozen: str
    older: str
    """That the order was corrected after it was calculated; empty where it was not."""


def about(repair: Repair) -> tuple[Figure, ...]:
    """Return what was ordered, where it lies and what is known of the pipe."""
    run = repair.run
    pipe = f"{words(run.diameter_mm, Dimension.DIAMETER, 0)}, {run.material}"
    where = f"{words(repair.distance_m, Dimension.LENGTH, 2)} from {repair.datum.ref}"
    if repair.clock_from is not None and repair.clock_to is not None:
        where += f", {repair.clock_from} to {repair.clock_to} o'clock"
    extent = words(repair.defect_extent_m, Dimension.LENGTH, 2)
    water = run.groundwater_above_invert_m
    found = (
        Figure("Street", f"{run.site.street} (site {run.site.ref})"),
        Figure("Run", f"{run.ref}, {run.upstream.ref} to {run.downstream.ref}"),
        Figure("Pipe", f"{pipe}, {words(run.length_m, Dimension.LENGTH)} long"),
        Figure("Defect", f"{repair.defect_code}, {meaning_of(repair.defect_code)}, {extent}"),
        Figure("Where", where),
        Figure(
            "Groundwater",
            "" if water is None else f"{words(water, Dimension.LENGTH)} above the invert",
        ),
        Figure("Order", f"{repair.work_order.number}, {repair.work_order.customer.name}"),
        Figure("Note", " ".join(each for each in (run.site.note, repair.note) if each)),
    )
    return tuple(each for each in found if each.words)


def prescribed(repair: Repair, *, attempt: int, zone: str, under_way: bool) -> Prescribed | None:
    """Return the prescription in force for an attempt, if there is one."""
    row: Prescription | None = prescription_in_force(repair, attempt=attempt)
    if row is None:
        return None
    result = row.result or {}
    return Prescribed(
        number=row.number,
        figures=figures(result),
        working=tuple(str(line) for line in result.get("lines", ())),
        fitness=row.fitness,
        fitness_reasons=tuple(str(each.get("reason", "")) for each in row.fitness_reasons),
        frozen=moment(row.frozen_at, zone) if row.frozen_at else "",
        older=_older(repair, row) if under_way else "",
    )


def _older(repair: Repair, row: Prescription) -> str:
    if not order_changed_since(repair, row):
        return ""
    newest = newest_prescription(repair)
    if newest is not None and not order_changed_since(repair, newest):
        return (
            "The order was corrected after this was calculated. Prescription "
            f"{newest.number} is newer; the crew has this one."
        )
    return "The order was corrected after this was calculated: it must be calculated again."
