"""What a reviewer should know of a file before believing it; none of it decides anything."""

from collections.abc import Mapping
from typing import Any

FAR_M = 250.0
"""Beyond this a photo was hardly taken at its repair. Common practice, no source: a street
between two houses throws a phone's position off by some tens of metres."""

_METRES_FROM = 1_000.0


def far_away(facts: Mapping[str, Any]) -> str:
    """Say that a photo was taken elsewhere; empty when it was not, or nobody knows."""
    place = facts.get("nearest")
    if not isinstance(place, Mapping):
        return ""
    away_m = float(place["distance_m"])
    sure_m = away_m - float(facts.get("position", {}).get("accuracy_m", 0.0))
    if sure_m <= FAR_M:
        return ""
    words = f"{away_m / 1000:.1f} km" if away_m >= _METRES_FROM else f"{away_m:.0f} m"
    return f"taken {words} from access point {place['access_point']}, the nearest of the site"


def same_bytes(others: tuple[str, ...]) -> str:
    """Say what the same file was handed in for before; empty when for nothing."""
    return f"the same file was handed in for {', '.join(others)}" if others else ""


def log_gaps(facts: Mapping[str, Any]) -> str:
    """Say that a log has pauses; empty when it has none."""
    gaps = facts.get("gaps")
    if not isinstance(gaps, int) or not gaps:
        return ""
    pauses = "1 pause" if gaps == 1 else f"{gaps} pauses"
    return (
        f"{facts['samples']} rows, one each {facts['interval_s']:g} s, with {pauses}, "
        f"the longest {facts['longest_gap_s'] / 60:.1f} min"
    )
