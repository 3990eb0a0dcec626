"""The numbers a contract sets: never constants of the program."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from repairs.domain.problem import Fault, refuse, shown
from repairs.domain.storable import unstorable


@dataclass(frozen=True, slots=True)
class Limits:
    """The limits of one requirement set, in SI.

    Parameters
    ----------
    end_coverage_m : float
        How far a sleeve must lie past either end of the defect.
    location_allowance_m : float
        Added on each side when the sleeve length is chosen, for what the
        location may be wrong.
    sleeve_overlap_m : float
        Overlap of consecutive sleeves.
    distance_tolerance_fraction, distance_tolerance_m : float
        Two distances agree within the larger of fraction times run length and metres.
    allowed_drop_kpa_per_min : float
        Largest leak of the packer in the hold test.
    hold_test_min : float
        How long the hold test lasts.
    gauge_accuracy_kpa : float
        A pressure within this of a limit is 'cannot tell'.
    gauge_resolution_kpa : float
        Coarsest gauge the contract accepts.
    contact_margin_kpa : float
        Inflation above the groundwater head.
    pressure_gap_s, pressure_coverage : float
        Longest silence of a pressure log, and the share of the cure it must cover.
    temperature_gap_s : float
        Longest silence of a temperature log.
    sensor_tolerance_k : float
        How far a temperature sensor may be off.
    mass_tolerance_fraction : float
        How far the weighed resin masses may lie from the prescription.
    clock_uncertainty_s : float
        How far a device's clock may be off when it was never compared.
    wrinkle_fraction, wrinkle_m : float
        Highest wrinkle: the larger of fraction times diameter and metres.
    setup_min, finish_min : float
        How long a plan reckons with from the arrival to the mixing, and from the last
        deflation to the departure, until enough was observed.
    cure_margin_min : float
        What a plan keeps free beyond the chart's hold until enough was observed.
    resident_notice_h : float or None
        How long before the arrival residents are notified.
    film_deadline_days : float or None
        Within how many days after the deflation the client's film must be handed in.
    wall_mm, wall_point_fraction, wall_readings : float or None
        Smallest mean wall, the share of it that no reading may be below, and from how many
        readings the mean is.
    leak_start_kpa, leak_end_kpa, leak_min : float or None
        Where the leak test begins, what must be left, and after how long.

    Those with None are for requirements that not every contract has; see `NEEDED_BY`.
    """

    end_coverage_m: float
    location_allowance_m: float
    sleeve_overlap_m: float
    distance_tolerance_fraction: float
    distance_tolerance_m: float
    allowed_drop_kpa_per_min: float
    hold_test_min: float
    gauge_accuracy_kpa: float
    gauge_resolution_kpa: float
    contact_margin_kpa: float
    pressure_gap_s: float
    pressure_coverage: float
    temperature_gap_s: float
    sensor_tolerance_k: float
    mass_tolerance_fraction: float
    clock_uncertainty_s: float
    wrinkle_fraction: float
    wrinkle_m: float
    setup_min: float
    finish_min: float
    cure_margin_min: float
    resident_notice_h: float | None = None
    film_deadline_days: float | None = None
    wall_mm: float | None = None
    wall_point_fraction: float | None = None
    wall_readings: float | None = None
    leak_start_kpa: float | None = None
    leak_end_kpa: float | None = None
    leak_min: float | None = None


NEEDED_BY: Mapping[str, tuple[str, ...]] = {
    "residents_notified": ("resident_notice_h",),
    "film_in_time": ("film_deadline_days",),
    "wall_thickness": ("wall_mm", "wall_point_fraction", "wall_readings"),
    "leak_test": ("leak_start_kpa", "leak_end_kpa", "leak_min"),
}
"""Requirement to the limits that only it asks for."""


def limits_from(table: Mapping[str, Any]) -> Limits:
    """Read a requirement set's limits.

    Parameters
    ----------
    table : mapping
        ``{name: {"value": number, "source": text}}``; every limit but those of `NEEDED_BY` is
        required, and each has a source, or the words 'common practice, no source'.

    Raises
    ------
    ValueError
        Naming the limit, what was found and what was expected.
    """
    refuse(limit_faults(table))
    return Limits(**{name: float(table[name]["value"]) for name in _NAMES if name in table})


def limit_faults(table: Mapping[str, Any]) -> tuple[Fault, ...]:
    """Name everything that is wrong with a table of limits, in its order of reading."""
    unknown = [
        Fault(f"limits.{name}", shown(entry), f"no limit of this name, only {', '.join(_NAMES)}")
        for name, entry in table.items()
        if name not in _NAMES
    ]
    wanted = [name for name in _NAMES if name in table or name not in _MAY_BE_MISSING]
    told = [fault for name in wanted if (fault := _fault(name, table.get(name))) is not None]
    return (*unknown, *told)


def _fault(name: str, entry: Any) -> Fault | None:
    field = f"limits.{name}"
    if not isinstance(entry, Mapping) or "value" not in entry:
        return Fault(field, shown(entry), '{"value": ..., "source": ...}')
    value = entry["value"]
    if isinstance(value, bool) or not isinstance(value, int | float) or unstorable(value):
        return Fault(f"{field}.value", shown(value), "a number")
    if value < 0:
        return Fault(f"{field}.value", shown(value), "0 or more")
    if not str(entry.get("source", "")).strip():
        where_from = "where the number comes from, or 'common practice, no source'"
        return Fault(f"{field}.source", "nothing", where_from)
    return None


_NAMES = tuple(item.name for item in fields(Limits))
_MAY_BE_MISSING = frozenset(name for names in NEEDED_BY.values() for name in names)
