"""What was measured of the finished repair: the left-over sample, the wall, the leak test."""

from qa.domain.repair_facts import RepairFacts
from qa.domain.verdict import Verdict, cannot_tell, incomplete, met, not_met
from repairs.domain.field_event import EventKind

_MM = 1000
_ROUNDING = 1e-9
"""A reading just at its limit must not fail by the rounding of a product."""


def cured_sample_hard(facts: RepairFacts) -> Verdict:
    """Left-over resin of the same mix was hard at the deflation."""
    deflated = facts.progress.event(EventKind.DEFLATED)
    if deflated is None or deflated.data.get("sample_hard") is None:
        return incomplete(
            "whether the left-over sample was hard at the deflation has not been reported",
            "keep a sample of the mix beside, and report it",
        )
    if deflated.data["sample_hard"] is False:
        return not_met(
            "the left-over sample was not hard at the deflation",
            "look at the repair closely; repair again, or ask the client",
        )
    return met("the left-over sample was hard at the deflation")


def wall_thickness(facts: RepairFacts) -> Verdict:
    """The mean of enough readings is thick enough, and no reading is far below."""
    limits = facts.limits
    if limits.wall_mm is None or limits.wall_point_fraction is None or limits.wall_readings is None:
        return cannot_tell("the contract says no wall", "add it to the contract")
    event = facts.progress.event(EventKind.WALL_MEASURED)
    if event is None:
        return incomplete("no wall has been measured", "measure the sample and report it")
    mean, lowest = float(event.data["mean_m"]) * _MM, float(event.data["lowest_m"]) * _MM
    count, point = int(event.data["readings"]), limits.wall_point_fraction * limits.wall_mm
    numbers = {"mean_mm": mean, "lowest_mm": lowest, "readings": count, "wanted_mm": limits.wall_mm}
    if lowest > mean * (1 + _ROUNDING):
        return cannot_tell(
            f"the thinnest reading, {lowest:.2f} mm, is above the mean, {mean:.2f} mm",
            "correct the report",
            **numbers,
        )
    if mean < limits.wall_mm * (1 - _ROUNDING):
        return not_met(
            f"the wall is {mean:.2f} mm in the mean, {limits.wall_mm:g} mm are wanted",
            "ask the client: a deduction, a second sleeve, or again",
            **numbers,
        )
    if lowest < point * (1 - _ROUNDING):
        return not_met(
            f"the thinnest reading is {lowest:.2f} mm, none may be below {point:.2f} mm",
            "ask the client: a deduction, a second sleeve, or again",
            **numbers,
        )
    if count < limits.wall_readings:
        return incomplete(
            f"{count} readings, {limits.wall_readings:g} are wanted", "measure more", **numbers
        )
    words = f"{mean:.2f} mm in the mean of {count}, thinnest {lowest:.2f} mm"
    return met(f"{words}; {limits.wall_mm:g} and {point:.2f} mm are wanted", **numbers)


def leak_test(facts: RepairFacts) -> Verdict:
    """The finished repair held the test pressure long enough, from high enough."""
    limits = facts.limits
    if limits.leak_start_kpa is None or limits.leak_end_kpa is None or limits.leak_min is None:
        return cannot_tell("the contract says no leak test", "add it to the contract")
    event = facts.progress.event(EventKind.LEAK_TESTED)
    if event is None:
        return incomplete("no leak test has been reported", "test and report it")
    start, end = float(event.data["start_pressure_kpa"]), float(event.data["end_pressure_kpa"])
    lasted = float(event.data["duration_min"])
    numbers = {"start_kpa": start, "end_kpa": end, "duration_min": lasted}
    if start < limits.leak_start_kpa * (1 - _ROUNDING):
        return incomplete(
            f"it began at {start:.1f} kPa, {limits.leak_start_kpa:.1f} kPa are wanted",
            "test again from the pressure the contract says",
            **numbers,
        )
    if lasted < limits.leak_min * (1 - _ROUNDING):
        return incomplete(
            f"it lasted {lasted:g} min, {limits.leak_min:g} min are wanted", "test again", **numbers
        )
    if end < limits.leak_end_kpa * (1 - _ROUNDING):
        return not_met(
            f"{end:.1f} kPa were left after {lasted:g} min, "
            f"{limits.leak_end_kpa:.1f} kPa are wanted",
            "find the leak; repair again, or ask the client",
            **numbers,
        )
    if end > start * (1 + _ROUNDING):
        return cannot_tell(
            f"the pressure rose from {start:.1f} to {end:.1f} kPa: was it still fed, or warming?",
            "shut the supply and test again",
            **numbers,
        )
    return met(
        f"{end:.1f} kPa left after {lasted:g} min, {limits.leak_end_kpa:.1f} kPa are wanted",
        **numbers,
    )
