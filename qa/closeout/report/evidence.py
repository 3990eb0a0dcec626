"""Every evidence file in the package with its hash."""

from collections.abc import Mapping
from zoneinfo import ZoneInfo

from reportlab.platypus import Flowable

from qa.closeout.report.block import ROOM, Cell, ruled, section
from qa.closeout.report.requirements import evidence_numbers
from qa.closeout.report.style import BODY, BOLD, QUIET, SMALL
from qa.closeout.report.tagged import Paragraph
from qa.closeout.report.words import moment, xml
from qa.domain.closeout import CloseoutFacts

UNDER = "Each file is in the package byte for byte as received; its SHA-256 was taken on receipt."
SHARES = (0.07, 0.68, 0.25)
KIB, MIB = 1024, 1024 * 1024


def evidence_list(facts: CloseoutFacts, paths: Mapping[str, str], width: float) -> list[Flowable]:
    """Set the section; `paths` names each file's place in the package."""
    head = section("Evidence", UNDER, room=ROOM)
    if not facts.evidence:
        return [*head, Paragraph("No evidence file is part of this closeout.", BODY)]
    zone, numbers = ZoneInfo(facts.site.time_zone), evidence_numbers(facts)
    rows: list[list[Cell]] = [
        [
            Paragraph(f"<font name='{BOLD}'>{numbers[one.id]}</font>", SMALL),
            Paragraph(
                f"{xml(one.title)}<br/><font size='6.4' color='#5a6472'>{xml(paths[one.id])}</font>"
                f"<br/><font size='5.9' color='#5a6472'>{one.sha256}</font>", SMALL,
            ),
            Paragraph(
                f"{xml(one.kind.replace('_', ' '))}, {size_words(one.size_bytes)}<br/>"
                f"{moment(one.captured_at, zone) if one.captured_at else ''}", QUIET,
            ),
        ]
        for one in facts.evidence
    ]  # fmt: skip
    widths = [width * share for share in SHARES]
    return [
        *head,
        ruled(("No.", "Title, place in the package, SHA-256", "Kind, size, taken"), rows, widths),
    ]


def size_words(size_bytes: int) -> str:
    """Say a size the way a file list does: 812 bytes, 12.4 KiB, 3.1 MiB."""
    if size_bytes < KIB:
        return f"{size_bytes} bytes"
    if size_bytes < MIB:
        return f"{size_bytes / KIB:.1f} KiB"
    return f"{size_bytes / MIB:.1f} MiB"
