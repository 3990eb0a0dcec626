"""Why an assignment cannot stand: every reason at once, each with its numbers.

`find_clashes` is asked before a repair is given to a crew. It never stops at
the first reason: a dispatcher on the phone needs the whole list.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime


@dataclass(frozen=True, slots=True)
class Span:
    """A crew's other live assignment; `beside` is the id of the one in whose cure it is set up."""

    starts_at: datetime
    ends_at: datetime
    repair_ref: str
    id: str = ""
    beside: str = ""


@dataclass(frozen=True, slots=True)
class Held:
    """A qualification that a member of the crew holds."""

    member: str
    kind: str
    expires_on: date


@dataclass(frozen=True, slots=True)
class Packer:
    """A packer on the crew's truck."""

    serial: str
    diameter_min_mm: float
    diameter_max_mm: float
    length_m: float | None
    limit_kpa: float | None
    test_due_on: date
    out_of_use: str = ""


@dataclass(frozen=True, slots=True)
class Beside:
    """The assignment in whose cure the proposed one is set up, and what its packer must serve."""

    span: Span
    diameter_mm: float
    sleeve_length_m: float
    pressure_kpa: float


@dataclass(frozen=True, slots=True)
class Stock:
    """Kits of one lot on the truck that no earlier assignment needs."""

    lot: str
    kit_code: str
    expires_on: date
    free: int


@dataclass(frozen=True, slots=True)
class Proposal:
    """A repair, a crew and a time, with all that decides whether they go together.

    Parameters
    ----------
    work_date : date
        The first day of work in the crew's own time zone.
    pressure_kpa : float
        The highest pressure the prescription allows: the packer must take all of it.
    needed_min : float
        Working, cure and the contract's set-up times: a shorter span cannot hold the job.
    not_before, not_after : datetime or None
        The repair's window (permit, low flow, notice).
    in_windows : bool
        Whether the span lies inside the order's own windows; True where it has none.
    beside : Beside or None
        Whose cure this one is set up in: the two overlap, each with a packer of its own.
    """

    starts_at: datetime
    ends_at: datetime
    work_date: date
    needed_min: float
    not_before: datetime | None
    not_after: datetime | None
    diameter_mm: float
    sleeve_length_m: float
    pressure_kpa: float
    kit_code: str
    kits_needed: int
    qualifications: tuple[str, ...]
    others: tuple[Span, ...]
    held: tuple[Held, ...]
    packers: tuple[Packer, ...]
    stock: tuple[Stock, ...]
    in_windows: bool = True
    beside: Beside | None = None


@dataclass(frozen=True, slots=True)
class Clash:
    """One reason: a stable code and plain words with the numbers in them."""

    code: str
    words: str


def find_clashes(p: Proposal) -> tuple[Clash, ...]:
    """Return every reason why the proposal cannot stand; empty when it can."""
    return tuple(clash for check in _CHECKS for clash in check(p))


def _span(p: Proposal) -> Sequence[Clash]:
    found = []
    minutes = (p.ends_at - p.starts_at).total_seconds() / 60
    if minutes < p.needed_min:
        words = f"the job needs {p.needed_min:.0f} min, the span has {minutes:.0f} min"
        found.append(Clash("span_too_short", words))
    if p.not_before is not None and p.starts_at < p.not_before:
        words = f"begins {_utc(p.starts_at)}, not allowed before {_utc(p.not_before)}"
        found.append(Clash("window_missed", words))
    if p.not_after is not None and p.ends_at > p.not_after:
        words = f"ends {_utc(p.ends_at)}, not allowed after {_utc(p.not_after)}"
        found.append(Clash("window_missed", words))
    if not p.in_windows:
        words = f"{_utc(p.starts_at)} to {_utc(p.ends_at)} is inside no window of its order"
        found.append(Clash("window_missed", words))
    return found


def _double_booking(p: Proposal) -> Sequence[Clash]:
    inside = None if p.beside is None else p.beside.span.id
    return [
        Clash(
            "double_booking",
            f"the crew is at {other.repair_ref} from {_utc(other.starts_at)} "
            f"to {_utc(other.ends_at)}",
        )
        for other in p.others
        if other.starts_at < p.ends_at
        and p.starts_at < other.ends_at
        and (inside is None or other.id != inside)
    ]


def _beside(p: Proposal) -> Sequence[Clash]:
    """Return what is against two live packers of one crew at once."""
    if p.beside is None:
        return []
    outer = p.beside.span
    found = []
    if not outer.starts_at <= p.starts_at < outer.ends_at:
        words = (
            f"begins {_utc(p.starts_at)}, {outer.repair_ref} beside it lasts from "
            f"{_utc(outer.starts_at)} to {_utc(outer.ends_at)}"
        )
        found.append(Clash("not_beside", words))
    its = replace(
        p,
        diameter_mm=p.beside.diameter_mm,
        sleeve_length_m=p.beside.sleeve_length_m,
        pressure_kpa=p.beside.pressure_kpa,
    )
    mine = {each.serial for each in p.packers if not _packer_faults(each, p)}
    for_outer = {each.serial for each in p.packers if not _packer_faults(each, its)}
    if mine and for_outer and len(mine | for_outer) == 1:
        words = f"only packer {mine.pop()} serves, and {outer.repair_ref} holds it meanwhile"
        found.append(Clash("second_packer_missing", words))
    return found


def _qualifications(p: Proposal) -> Sequence[Clash]:
    found = []
    for kind in p.qualifications:
        holders = [held for held in p.held if held.kind == kind]
        if any(held.expires_on >= p.work_date for held in holders):
            continue
        if not holders:
            found.append(Clash("qualification_missing", f"nobody in the crew holds {kind!r}"))
            continue
        last = max(holders, key=lambda held: held.expires_on)
        words = f"{kind!r} of {last.member} ends {last.expires_on}, the work is on {p.work_date}"
        found.append(Clash("qualification_expired", words))
    return found


def _packer(p: Proposal) -> Sequence[Clash]:
    if not p.packers:
        return [Clash("packer_missing", "there is no packer on the truck")]
    faults = [(packer, _packer_faults(packer, p)) for packer in p.packers]
    if any(not each for _, each in faults):
        return []
    # No packer serves: tell for each one why, in the code of its gravest fault.
    return [
        Clash(each[0].code, f"packer {packer.serial} {'; '.join(c.words for c in each)}")
        for packer, each in faults
    ]


def _packer_faults(packer: Packer, p: Proposal) -> list[Clash]:
    found = []
    if not packer.diameter_min_mm <= p.diameter_mm <= packer.diameter_max_mm:
        words = (
            f"serves {packer.diameter_min_mm:g} to {packer.diameter_max_mm:g} mm, "
            f"the pipe has {p.diameter_mm:g} mm"
        )
        found.append(Clash("packer_does_not_fit", words))
    if packer.length_m is not None and packer.length_m < p.sleeve_length_m:
        words = f"is {packer.length_m:g} m long, the sleeve {p.sleeve_length_m:g} m"
        found.append(Clash("packer_too_short", words))
    if packer.limit_kpa is not None and packer.limit_kpa < p.pressure_kpa:
        words = (
            f"may take {packer.limit_kpa:.1f} kPa, the prescription allows up to "
            f"{p.pressure_kpa:.1f} kPa: prescribe again with this packer's limit"
        )
        found.append(Clash("packer_too_weak", words))
    if packer.test_due_on < p.work_date:
        words = f"was due for its test on {packer.test_due_on}, the work is on {p.work_date}"
        found.append(Clash("packer_test_overdue", words))
    if packer.out_of_use:
        found.append(Clash("packer_out_of_use", f"is out of use: {packer.out_of_use}"))
    return found


def _kits(p: Proposal) -> Sequence[Clash]:
    right = [stock for stock in p.stock if stock.kit_code == p.kit_code]
    in_date = [stock for stock in right if stock.expires_on >= p.work_date]
    free = sum(max(stock.free, 0) for stock in in_date)
    if free >= p.kits_needed:
        return []
    found = [
        Clash(
            "kit_expired",
            f"lot {stock.lot} ({stock.free} of {stock.kit_code}) ends {stock.expires_on}, "
            f"the work is on {p.work_date}",
        )
        for stock in right
        if stock.expires_on < p.work_date and stock.free > 0
    ]
    words = f"{p.kits_needed} of {p.kit_code} needed, {free} in date and free on the truck"
    return [*found, Clash("kit_missing", words)]


def _utc(at: datetime) -> str:
    return f"{at:%Y-%m-%d %H:%M} UTC"


_CHECKS: tuple[Callable[[Proposal], Sequence[Clash]], ...] = (
    _span,
    _double_booking,
    _beside,
    _qualifications,
    _packer,
    _kits,
)
