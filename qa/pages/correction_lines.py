"""What was corrected in an order after it was placed, as a page shows it."""

from dataclasses import dataclass
from itertools import pairwise

from repairs.domain.edition_words import changed_words
from repairs.models import Edition, Repair
from repairs.pages.clock_words import moment


@dataclass(frozen=True, slots=True)
class CorrectionLine:
    """One correction: what became what, by whom and when."""

    words: str
    by: str
    at: str


def correction_lines(repair: Repair, *, zone: str) -> tuple[CorrectionLine, ...]:
    """Return the corrections of a repair and of the run it lies in, oldest first."""
    run = repair.run
    ends = {str(end.pk): end.ref for end in (run.upstream, run.downstream)}
    lines = []
    for subject in (repair.pk, run.pk):
        rows = Edition.objects.filter(subject=subject).select_related("made_by")
        for before, after in pairwise(rows.order_by("made_at")):
            old, new = (
                each.values | {"datum_id": ends.get(each.values.get("datum_id", ""))}
                for each in (before, after)
            )
            by = after.made_by.display_name if after.made_by else "the order file"
            words = "; ".join(changed_words(old, new))
            lines.append((after.made_at, words, by))
    return tuple(
        CorrectionLine(words, by, moment(at, zone)) for at, words, by in sorted(lines) if words
    )
