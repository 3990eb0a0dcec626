"""What happened, step by step, in the site's time."""

from datetime import datetime
from zoneinfo import ZoneInfo

from reportlab.platypus import Flowable

from qa.closeout.report.block import ROOM, Cell, ruled, section
from qa.closeout.report.style import BODY, BOLD, CELL, QUIET
from qa.closeout.report.tagged import Paragraph
from qa.closeout.report.words import clock, day, offset, xml, zone_words
from qa.domain.closeout import CloseoutFacts

SHARES = (0.13, 0.17, 0.36, 0.34)


def timeline(facts: CloseoutFacts, width: float) -> list[Flowable]:
    """Set the section."""
    zone = ZoneInfo(facts.site.time_zone)
    head = section(
        "Timeline",
        f"As the crew's devices reported it. Times are "
        f"{zone_words(facts.site.time_zone, facts.closed_at)}.",
        room=ROOM,
    )
    if not facts.timeline:
        return [*head, Paragraph("No steps were reported.", BODY)]
    rows: list[list[Cell]] = []
    shown = ""
    for step in sorted(facts.timeline, key=lambda one: one.at):
        date = day(step.at, zone)
        late = f"<font name='{BOLD}'>Reported late.</font> " if step.reported_late else ""
        rows.append(
            [
                Paragraph(date if date != shown else "", QUIET),
                Paragraph(_time(step.at, zone), CELL),
                Paragraph(xml(step.words), CELL),
                Paragraph(f"{late}{xml(step.note)} <i>{xml(step.device)}</i>", QUIET),
            ]
        )
        shown = date
    table = ruled(
        ("Day", "Time", "Step", "Note and device"), rows, [width * share for share in SHARES]
    )
    return [*head, table]


def _time(at: datetime, zone: ZoneInfo) -> str:
    """Say the time of a step with its offset from UTC."""
    beside = offset(at, zone).removeprefix("UTC")
    return f"{clock(at, zone, seconds=True)} <font color='#5a6472'>{beside}</font>"
