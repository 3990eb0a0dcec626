"""The four figures of page one: how much room the repair had at each of its limits."""

from dataclasses import dataclass

from qa.closeout.report.words import NB, metres, minutes_between, pressure_span, span
from qa.domain.closeout import CloseoutFacts, Series


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure: what it is, its value, and what to hold it against."""

    label: str
    value: str
    beside: str


def figures(facts: CloseoutFacts) -> list[Figure]:
    """Give the four figures; one that cannot be known says so."""
    return [_working(facts), _pressure(facts), _held(facts), _coverage(facts)]


def curing_pressure(facts: CloseoutFacts) -> Series:
    """Pick the pressure readings from full pressure to the end of the hold time."""
    if facts.cure is None:
        return ()
    end = facts.cure.hold_until_at
    return tuple(one for one in facts.pressure_kpa if facts.cure.started_at <= one[0] <= end)


def outside_window(facts: CloseoutFacts) -> int:
    """Count the curing readings outside the pressure window."""
    low, high = facts.window_low_kpa, facts.window_high_kpa
    return sum(not low <= value <= high for _, value in curing_pressure(facts))


def coverage_m(facts: CloseoutFacts) -> float | None:
    """Give the shorter length by which the sleeves reach past the defect; negative if short."""
    if not facts.sleeves:
        return None
    half = facts.repair.defect_extent_m / 2
    before = facts.repair.defect_distance_m - half - min(one.start_m for one in facts.sleeves)
    after = max(one.end_m for one in facts.sleeves) - facts.repair.defect_distance_m - half
    return min(before, after)


def _working(facts: CloseoutFacts) -> Figure:
    """Say how much of the working time was used."""
    label, times = "Working time used", facts.working_time
    if times is None:
        return Figure(label, "not recorded", "")
    used = minutes_between(times.mixing_at, times.inflated_at)
    allowed = minutes_between(times.mixing_at, times.deadline_at)
    word = "before" if used <= allowed else "AFTER"
    return Figure(
        label,
        f"{used:.0f} of {allowed:.0f} min",
        f"full pressure {span(allowed - used)} {word} the deadline",
    )


def _pressure(facts: CloseoutFacts) -> Figure:
    """Say the pressure range while curing."""
    label, readings = "Pressure while curing", [value for _, value in curing_pressure(facts)]
    window = f"window {pressure_span(facts.window_low_kpa, facts.window_high_kpa)}"
    if not readings:
        return Figure(label, "not recorded", window)
    outside = outside_window(facts)
    word = f"; {outside} readings OUTSIDE" if outside else ""
    return Figure(label, f"{min(readings):.1f}\N{EN DASH}{max(readings):.1f}{NB}kPa", window + word)


def _held(facts: CloseoutFacts) -> Figure:
    """Say how long the pressure was held."""
    label, cure = "Held under pressure", facts.cure
    if cure is None or cure.deflated_at is None:
        return Figure(label, "not recorded", "")
    needed = minutes_between(cure.started_at, cure.hold_until_at)
    held = minutes_between(cure.started_at, cure.deflated_at)
    word = "longer than" if held >= needed else "SHORT of"
    return Figure(label, span(held), f"{span(held - needed)} {word} the {span(needed)} needed")


def _coverage(facts: CloseoutFacts) -> Figure:
    """Say how far the sleeves reach past the defect."""
    label, covered = "Sleeve past the defect", coverage_m(facts)
    if covered is None:
        return Figure(label, "not recorded", "")
    if covered < 0:
        return Figure(label, "NOT COVERED", f"short by {metres(-covered)} at one end")
    return Figure(label, metres(covered), "at the nearer end")
