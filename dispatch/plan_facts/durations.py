"""How long a crew is at a repair: what a plan reckons with."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from dispatch.models import Crew
from repairs.models import Prescription, Repair

SETUP_MIN = 60.0
"""Traffic, making safe, cleaning, filming, marking, dry run, hold test; before mixing."""
FINISH_MIN = 30.0
"""Deflating, taking down, filming. Both are assumptions (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Durations:
    """Whole seconds of one repair; the bound is the longest cure to reckon with."""

    setup_s: int
    cure_s: int
    cure_bound_s: int
    finish_s: int


def durations_for(
    repairs: Iterable[Repair],
    prescriptions: Mapping[UUID, Prescription],
    crews: Iterable[Crew],
    now: datetime,
) -> Mapping[UUID, Durations]:
    """Return how long each repair takes, by its id.

    The cure is the prescription's, from the maker's chart, and never shorter.

    Parameters
    ----------
    prescriptions : mapping
        By repair; each has a result with its times.
    """
    del crews, now
    return {repair.pk: _durations(prescriptions[repair.pk]) for repair in repairs}


def _durations(prescription: Prescription) -> Durations:
    result = prescription.result or {}
    cure_s = round(60 * float(result["cure_min"]))
    working_min = float(result["working_min"])
    return Durations(
        setup_s=round(60 * (SETUP_MIN + working_min)),
        cure_s=cure_s,
        cure_bound_s=cure_s,
        finish_s=round(60 * FINISH_MIN),
    )
