"""When work on a repair is allowed: windows of several reasons, all of which must hold.

Of one reason any window will do: a permit for Monday and one for Wednesday. Of different
reasons all must hold at once: inside a permit *and* while the flow is low.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from repairs.domain.problem import Fault, shown
from repairs.domain.storable import FIRST_YEAR, LAST_YEAR

MOST_WINDOWS = 200


class WindowReason(StrEnum):
    """Why work is allowed only in a window."""

    PERMIT = "permit"
    LOW_FLOW = "low flow"
    NOTICE = "notice"
    WORK_HOURS = "work hours"


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """From an instant up to another, later one."""

    opens_at: datetime
    closes_at: datetime


@dataclass(frozen=True, slots=True)
class WorkWindow:
    """A span in which one reason allows work."""

    why: WindowReason
    span: Span


def windows_from(table: Iterable[Mapping[str, Any]]) -> tuple[WorkWindow, ...]:
    """Read stored windows: ``{"why": ..., "opens_at": ISO 8601, "closes_at": ISO 8601}``."""
    return tuple(
        WorkWindow(
            WindowReason(row["why"]),
            Span(datetime.fromisoformat(row["opens_at"]), datetime.fromisoformat(row["closes_at"])),
        )
        for row in table
    )


def window_table_faults(table: Any) -> tuple[Fault, ...]:
    """Name what is wrong with a table of windows; empty when `windows_from` can read it."""
    if not isinstance(table, list) or len(table) > MOST_WINDOWS:
        found = f"{len(table)} windows" if isinstance(table, list) else shown(table)
        return (Fault("windows", found, f"a list of at most {MOST_WINDOWS}"),)
    return tuple(fault for n, row in enumerate(table) for fault in _row_faults(n, row))


def allowed(
    windows: Iterable[WorkWindow],
    *,
    whole: Span,
    not_before: datetime | None = None,
    not_after: datetime | None = None,
) -> tuple[Span, ...]:
    """Return the spans inside `whole` in which every reason allows work, earliest first."""
    found = both(joined([whole]), _from_until(whole, not_before, not_after))
    by_reason: dict[WindowReason, list[Span]] = {}
    for each in windows:
        by_reason.setdefault(each.why, []).append(each.span)
    for spans in by_reason.values():
        found = both(found, joined(spans))
    return found


def joined(spans: Iterable[Span]) -> tuple[Span, ...]:
    """Return the same time as spans that neither touch nor overlap, earliest first."""
    found: list[Span] = []
    for each in sorted(spans):
        if found and each.opens_at <= found[-1].closes_at:
            found[-1] = Span(found[-1].opens_at, max(found[-1].closes_at, each.closes_at))
        elif each.opens_at < each.closes_at:
            found.append(each)
    return tuple(found)


def both(some: Sequence[Span], others: Sequence[Span]) -> tuple[Span, ...]:
    """Return what lies in both of two joined sequences."""
    return joined(
        Span(max(a.opens_at, b.opens_at), min(a.closes_at, b.closes_at))
        for a in some
        for b in others
        if max(a.opens_at, b.opens_at) < min(a.closes_at, b.closes_at)
    )


def without(some: Sequence[Span], taken: Span) -> tuple[Span, ...]:
    """Return what is left of joined spans when one is taken out of them."""
    pieces = (
        piece
        for each in some
        for piece in (
            Span(each.opens_at, min(each.closes_at, taken.opens_at)),
            Span(max(each.opens_at, taken.closes_at), each.closes_at),
        )
    )
    return joined(piece for piece in pieces if piece.opens_at < piece.closes_at)


def _from_until(
    whole: Span, not_before: datetime | None, not_after: datetime | None
) -> tuple[Span, ...]:
    opens = whole.opens_at if not_before is None else max(whole.opens_at, not_before)
    closes = whole.closes_at if not_after is None else min(whole.closes_at, not_after)
    return (Span(opens, closes),) if opens < closes else ()


def _row_faults(number: int, row: Any) -> list[Fault]:
    field = f"windows[{number}]"
    expected = '{"why": ..., "opens_at": ..., "closes_at": ...}'
    if not isinstance(row, Mapping) or set(row) != {"why", "opens_at", "closes_at"}:
        return [Fault(field, shown(row), expected)]
    reasons = [word.value for word in WindowReason]
    faults = []
    if row["why"] not in reasons:
        faults.append(Fault(f"{field}.why", shown(row["why"]), f"one of {', '.join(reasons)}"))
    opens, closes = (_instant(row[name]) for name in ("opens_at", "closes_at"))
    for name, at in (("opens_at", opens), ("closes_at", closes)):
        if at is None:
            such_as = "a time with its offset, such as 2026-11-25T09:30:00-05:00"
            faults.append(Fault(f"{field}.{name}", shown(row[name]), such_as))
    if opens is not None and closes is not None and closes <= opens:
        faults.append(Fault(f"{field}.closes_at", shown(row["closes_at"]), "later than opens_at"))
    return faults


def _instant(value: Any) -> datetime | None:
    try:
        found = datetime.fromisoformat(value)
    except (TypeError, ValueError):
        return None
    return found if found.tzinfo and FIRST_YEAR <= found.year <= LAST_YEAR else None
