"""Air readings outside the usual limits, where somebody enters.

The tool records readings and names those outside the limits below. It never says
that a space is safe to enter: permits, local codes and competent persons decide.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class AirLimit:
    """One reading, its usual bounds (both still inside), and where they come from."""

    name: str
    words: str
    low: float | None
    high: float | None
    source: str


AIR_LIMITS = (
    AirLimit(
        "oxygen_percent",
        "oxygen {value:g} %",
        19.5,
        23.5,
        "29 CFR 1910.146(b), 29 CFR 1926.1202 (read in secondary texts)",
    ),
    AirLimit(
        "flammable_percent_lel",
        "flammable gas {value:g} % of the lower limit",
        None,
        10.0,
        "29 CFR 1910.146(b), 29 CFR 1926.1202 (read in secondary texts)",
    ),
    AirLimit(
        "hydrogen_sulphide_ppm",
        "hydrogen sulphide {value:g} ppm",
        None,
        10.0,
        "29 CFR 1926.55 Appendix A, construction (read on an agency page)",
    ),
    AirLimit(
        "carbon_monoxide_ppm",
        "carbon monoxide {value:g} ppm",
        None,
        50.0,
        "50 ppm over 8 h (read in a secondary text)",
    ),
)


def outside_the_limits(readings: Mapping[str, Any]) -> tuple[str, ...]:
    """Return each reading beyond its usual bounds, in words; a value on a bound is inside."""
    found = []
    for limit in AIR_LIMITS:
        value = readings.get(limit.name)
        if value is None:
            continue
        too_low = limit.low is not None and value < limit.low
        too_high = limit.high is not None and value > limit.high
        if too_low or too_high:
            found.append(limit.words.format(value=value))
    return tuple(found)
