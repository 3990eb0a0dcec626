"""The clocks of a repair on a page: one pair for each sleeve that was begun."""

from dataclasses import replace
from datetime import datetime

from repairs.models import Repair
from repairs.pages.clock_faces import ClockFace, faces
from repairs.selectors import clocks_by_sleeve

WORKING_TIME = "Working time"


def live_faces(
    repair: Repair, zone: str, now: datetime, *, attempt: int | None = None
) -> tuple[ClockFace, ...]:
    """Return the clocks somebody has to watch now; with several sleeves each says which."""
    sleeves = clocks_by_sleeve(repair, now=now, attempt=attempt)
    found: list[ClockFace] = []
    for number, progress, clocks in sleeves:
        mark = f"Sleeve {number}: " if len(sleeves) > 1 else ""
        found += [
            replace(face, name=f"{mark}{face.name}") for face in faces(progress, clocks, zone, now)
        ]
    # A working time runs out for good; a hold only gets longer.
    return tuple(sorted(found, key=lambda face: not face.name.endswith(WORKING_TIME)))
