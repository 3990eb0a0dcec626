"""Whether a repair and a crew-day go together at all, before any route is driven."""

from collections.abc import Callable

from dispatch.domain.plan.problem import CrewDay, PackerRange, PlannedRepair
from dispatch.domain.plan.refusal import Refusal, minutes


def misfit(day: CrewDay, repair: PlannedRepair) -> Refusal | None:
    """Return the first reason why this crew may not do this repair on this day, or None."""
    for check, code in _CHECKS.items():
        if (words := check(day, repair)) is not None:
            return Refusal(code, repair.ref, words)
    return None


def _locked(day: CrewDay, repair: PlannedRepair) -> str | None:
    if repair.locked_to in {None, day.ref}:
        return None
    return f"is locked to {repair.locked_to}"


def _pinned(day: CrewDay, repair: PlannedRepair) -> str | None:
    if repair.pinned_crew not in {None, day.crew}:
        return f"is pinned to crew {repair.pinned_crew}"
    if repair.pinned_day not in {None, day.day}:
        return f"is pinned to day {repair.pinned_day}"
    return None


def _qualification(day: CrewDay, repair: PlannedRepair) -> str | None:
    lacking = sorted(repair.qualifications - day.qualifications)
    return f"nobody holds {', '.join(lacking)} on that day" if lacking else None


def _packer(day: CrewDay, repair: PlannedRepair) -> str | None:
    of_the_size = [
        p for p in day.packers if _serves_diameter(p.diameter_min_mm, p.diameter_max_mm, repair)
    ]
    return None if of_the_size else f"no packer serves {repair.diameter_mm:g} mm"


def serves(packer: PackerRange, repair: PlannedRepair) -> bool:
    """Return whether one packer has the diameter, the length and the pressure for a repair."""
    return (
        _serves_diameter(packer.diameter_min_mm, packer.diameter_max_mm, repair)
        and (packer.length_m is None or packer.length_m >= repair.sleeve_length_m)
        and (packer.limit_kpa is None or packer.limit_kpa >= repair.pressure_kpa)
    )


def _serves_diameter(least_mm: float, most_mm: float, repair: PlannedRepair) -> bool:
    return least_mm <= repair.diameter_mm <= most_mm


def _packer_length(day: CrewDay, repair: PlannedRepair) -> str | None:
    lengths = [
        p.length_m
        for p in day.packers
        if _serves_diameter(p.diameter_min_mm, p.diameter_max_mm, repair)
    ]
    if any(length is None or length >= repair.sleeve_length_m for length in lengths):
        return None
    longest = max(length for length in lengths if length is not None)
    return f"the longest packer is {longest:g} m, the sleeve {repair.sleeve_length_m:g} m"


def _packer_limit(day: CrewDay, repair: PlannedRepair) -> str | None:
    limits = [
        p.limit_kpa
        for p in day.packers
        if _serves_diameter(p.diameter_min_mm, p.diameter_max_mm, repair)
        and (p.length_m is None or p.length_m >= repair.sleeve_length_m)
    ]
    if any(limit is None or limit >= repair.pressure_kpa for limit in limits):
        return None
    most = max(limit for limit in limits if limit is not None)
    return f"the packer may take {most:.1f} kPa, the prescription allows {repair.pressure_kpa:.1f}"


def _kits(day: CrewDay, repair: PlannedRepair) -> str | None:
    carried = day.kits.get(repair.kit_code, 0)
    if carried >= repair.kits_needed:
        return None
    return f"{repair.kits_needed} of {repair.kit_code} needed, the truck carries {carried}"


def _window(day: CrewDay, repair: PlannedRepair) -> str | None:
    for window in repair.windows:
        begins = max(window.opens_s, day.starts_s)
        if begins + repair.on_site_s <= min(window.closes_s, day.last_back_s):
            return None
    return f"no window of that day holds {minutes(repair.on_site_s)} of work"


_CHECKS: dict[Callable[[CrewDay, PlannedRepair], str | None], str] = {
    _locked: "locked_elsewhere",
    _pinned: "pinned_elsewhere",
    _qualification: "qualification_missing",
    _packer: "packer_does_not_fit",
    _packer_length: "packer_too_short",
    _packer_limit: "packer_too_weak",
    _kits: "kit_missing",
    _window: "no_window_that_day",
}
CODES = tuple(_CHECKS.values())
"""In the order in which they are asked: whoever fails late came close."""
