"""The lettered events of the charts, and the key printed below them."""

from zoneinfo import ZoneInfo

from qa.closeout.report.block import PLAIN
from qa.closeout.report.chart import Event
from qa.closeout.report.style import BOLD, SMALL
from qa.closeout.report.tagged import Paragraph, Table
from qa.closeout.report.words import clock, day, xml
from qa.domain.closeout import CloseoutFacts

COLUMNS = 2


def cure_events(facts: CloseoutFacts, *, bounds: bool) -> list[Event]:
    """List what to mark: the working time's ends, the cure clock, the deflation.

    With `bounds`, the early, best and late estimates of the cure stand among them.
    """
    times, cure = facts.working_time, facts.cure
    found = [] if times is None else [("Mixing: working time starts", times.mixing_at)]
    if cure is not None:
        found.append(("Full pressure: cure clock starts", cure.started_at))
        if bounds:
            found += [
                ("Cured, early estimate", cure.early_at),
                ("Cured, best estimate", cure.best_at),
                ("Cured, late estimate", cure.late_at),
            ]
        found.append(("Hold until: earliest deflation", cure.hold_until_at))
        if cure.deflated_at is not None:
            found.append(("Deflated", cure.deflated_at))
    ordered = sorted(found, key=lambda one: one[1])
    return [Event(chr(ord("A") + n), words, at) for n, (words, at) in enumerate(ordered)]


def event_key(marks: list[Event], zone: ZoneInfo, width: float) -> Table:
    """Set the key: letter, time, words, in two columns read downwards."""
    several = len({day(one.at, zone) for one in marks}) > 1
    cells = []
    for one in marks:
        when = clock(one.at, zone, seconds=True)
        if several:
            when = f"{day(one.at, zone)} {when}"
        words = (
            f"<font name='{BOLD}'>{one.letter}</font>&nbsp;&nbsp;{when}&nbsp;&nbsp;{xml(one.words)}"
        )
        cells.append(Paragraph(words, SMALL))
    rows = -(-len(cells) // COLUMNS)
    padded = [*cells, *[""] * (rows * COLUMNS - len(cells))]
    grid = [[padded[row + column * rows] for column in range(COLUMNS)] for row in range(rows)]
    table = Table(grid or [[""]], [width / COLUMNS] * COLUMNS if grid else [width])
    table.setStyle(
        [*PLAIN, ("TOPPADDING", (0, 0), (-1, -1), 1), ("BOTTOMPADDING", (0, 0), (-1, -1), 1)]
    )
    return table
