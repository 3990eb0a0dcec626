"""A crew's day of a plan as a strip: sleeves in one or two rows, and what lies between them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from dispatch.domain.day_strip import Doing, Piece, tracks
from dispatch.domain.plan.problem import CrewDay
from dispatch.models import PlanStop
from dispatch.pages.hours import Axis
from dispatch.plan_facts.plan_reading import PlanReading

ROW_TOPS = (18, 66)
ROW_HIGH = 24
NAMES_Y = (13, 104)
"""The upper row has its names above it, the lower one below: the way between stays free."""
HIGH, HIGH_OF_TWO = 48, 110


@dataclass(frozen=True, slots=True)
class Bar:
    """Something from here to there, percent of the axis, at a height in pixels."""

    kind: str
    left: float
    width: float
    y: int
    words: str = ""
    end_y: int = 0

    @property
    def right(self) -> float:
        """Return where it ends."""
        return round(self.left + self.width, 2)


@dataclass(frozen=True, slots=True)
class Sleeve:
    """A repair on the strip: its set-up, cure and finish, and where it is changed."""

    repair_id: str
    name: str
    number: int
    words: str
    name_y: int
    whole: Bar
    parts: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """The drawing of one crew-day."""

    height: int
    shift: Bar
    overtime: Bar
    sleeves: tuple[Sleeve, ...]
    between: tuple[Bar, ...]


def strip_of(reading: PlanReading, day: CrewDay, stops: Sequence[PlanStop], axis: Axis) -> Strip:
    """Return the drawing of a crew-day on the hours of its day."""
    rows = tracks(_outer(stops))
    at = reading.horizon.at
    over = max(rows, default=0) > 0
    return Strip(
        height=HIGH_OF_TWO if over else HIGH,
        shift=_bar("shift", axis, (at(day.starts_s), at(day.ends_s)), 0),
        overtime=_bar("overtime", axis, (at(day.ends_s), at(day.last_back_s)), 0),
        sleeves=tuple(_sleeve(stop, row, axis) for stop, row in zip(stops, rows, strict=True)),
        between=_between(reading, reading.strip(day, stops), stops, rows, axis),
    )


def _outer(stops: Sequence[PlanStop]) -> list[int | None]:
    index = {stop.pk: at for at, stop in enumerate(stops)}
    return [None if stop.beside_id is None else index[stop.beside_id] for stop in stops]


def _sleeve(stop: PlanStop, row: int, axis: Axis) -> Sleeve:
    edges = [
        stop.starts_at,
        stop.starts_at + timedelta(seconds=stop.numbers["setup_s"]),
        stop.ends_at - timedelta(seconds=stop.numbers["finish_s"]),
        stop.ends_at,
    ]
    y = ROW_TOPS[row]
    named = zip((Doing.SET_UP, Doing.CURE, Doing.FINISH), edges[:-1], edges[1:], strict=True)
    parts = tuple(_bar(doing.value, axis, (begin, end), y) for doing, begin, end in named)
    whole = _bar("sleeve", axis, (stop.starts_at, stop.ends_at), y)
    return Sleeve(
        repair_id=str(stop.repair_id),
        name=stop.name,
        number=stop.number,
        words=f"{stop.number}. {stop.name}, {stop.repair.run.site.street}",
        name_y=NAMES_Y[row],
        whole=whole,
        parts=parts,
    )


def _between(
    reading: PlanReading,
    found: Sequence[Piece],
    stops: Sequence[PlanStop],
    rows: Sequence[int],
    axis: Axis,
) -> tuple[Bar, ...]:
    """Return what lies between the sleeves: the crew on its way, waiting, or at lunch."""
    seconds, at = reading.horizon.seconds, reading.horizon.at
    live = [(seconds(stop.starts_at), seconds(stop.ends_at)) for stop in stops]
    bars, row = [], 0
    for piece in found:
        before, row = row, row if piece.stop is None else rows[piece.stop]
        if piece.doing not in {Doing.DRIVE, Doing.WAIT, Doing.LUNCH}:
            continue
        covered = any(a < piece.ends_s and piece.starts_s < b for a, b in live)
        ends = _heights(piece, (before, row), covered=covered)
        bar = _bar(piece.doing.value, axis, (at(piece.starts_s), at(piece.ends_s)), ends[0])
        minutes = round((piece.ends_s - piece.starts_s) / 60)
        bars.append(replace(bar, end_y=ends[1], words=f"{piece.doing.value} {minutes} min"))
    return tuple(bars)


def _heights(piece: Piece, rows: tuple[int, int], *, covered: bool) -> tuple[int, int]:
    """Return from which height to which a piece is drawn."""
    middles = tuple(top + ROW_HIGH // 2 for top in ROW_TOPS)
    if not covered or piece.stop is None:
        return middles[0], middles[0]
    if piece.doing is Doing.DRIVE and rows[0] != rows[1]:  # from the edge of one to the other's
        edges = (ROW_TOPS[0] + ROW_HIGH, ROW_TOPS[1])
        return edges[rows[0]], edges[rows[1]]
    return middles[rows[1]], middles[rows[1]]


def _bar(kind: str, axis: Axis, span: tuple[datetime, datetime], y: int) -> Bar:
    left, right = axis.percent(span[0]), axis.percent(span[1])
    return Bar(kind, left, round(right - left, 2), y)
