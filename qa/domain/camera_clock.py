"""How far a camera's clock is off, from photos of a clock that is right.

A photo of a reference clock holds two readings of one instant: what the reference showed, and
what the camera wrote. Each bounds the camera's offset from both sides; several bound it by what
they have in common. With it the time in a film's container, which alone says little, can be used.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from repairs.domain.event_order import Moment

DRIFT = 20e-6
"""A camera's clock gains or loses at most this share: 1.7 s a day. Common practice, no source
(a plain quartz is sold with 20 ppm)."""

CAMERA_STEP_S = 1.0
"""EXIF and containers write whole seconds, cut off."""

ZONE_STEP_S = 1_800.0
"""Zones differ by whole and half hours; the few by quarters are read to the nearest half."""


@dataclass(frozen=True, slots=True)
class Sighting:
    """One photo of a reference clock.

    Parameters
    ----------
    shown_at : datetime
        What the reference showed, aware.
    resolution_s : float
        Its smallest step: 1 for a clock with seconds, 60 for one without.
    camera_at : datetime
        What the camera's clock said, aware; a time without zone is put down as if in UTC.
    zoned : bool
        Whether the camera wrote its zone.
    """

    shown_at: datetime
    resolution_s: float
    camera_at: datetime
    zoned: bool


@dataclass(frozen=True, slots=True)
class CameraOffset:
    """True time minus the camera's time, in seconds, lies from `low_s` to `high_s`."""

    low_s: float
    high_s: float
    photos: int
    zoned: bool

    @property
    def zone_s(self) -> float:
        """What of the offset is a zone, for a camera that wrote none: whole and half hours."""
        middle = (self.low_s + self.high_s) / 2
        return 0.0 if self.zoned else round(middle / ZONE_STEP_S) * ZONE_STEP_S


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Photos that cannot all be right: by so much one asks for more than another allows."""

    apart_s: float
    photos: int

    @property
    def words(self) -> str:
        """Say it."""
        return (
            f"{self.photos} clock photos of this camera contradict each other by "
            f"{self.apart_s:.0f} s: its clock was set between them, or a time was mistyped"
        )


def bounds_s(sighting: Sighting, at: datetime) -> tuple[float, float]:
    """Return between which seconds the offset lies at camera time `at`, by one photo.

    The reference stood from what it showed to a step later, the camera likewise; the clock may
    have drifted since.
    """
    apart_s = (sighting.shown_at - sighting.camera_at).total_seconds()
    drift_s = DRIFT * abs((at - sighting.camera_at).total_seconds())
    return apart_s - CAMERA_STEP_S - drift_s, apart_s + sighting.resolution_s + drift_s


def offset_at(sightings: Sequence[Sighting], at: datetime) -> CameraOffset | Contradiction | None:
    """Return the camera's offset at its own time `at`; None without any photo.

    Photos in which the camera wrote its zone count before those in which it did not: the two
    measure different things.
    """
    zoned = [each for each in sightings if each.zoned]
    used = zoned or list(sightings)
    if not used:
        return None
    each = [bounds_s(sighting, at) for sighting in used]
    low_s, high_s = max(low for low, _ in each), min(high for _, high in each)
    if low_s > high_s:
        return Contradiction(low_s - high_s, len(used))
    return CameraOffset(low_s, high_s, len(used), bool(zoned))


def clock_words(sighting: Sighting) -> str:
    """Say how far off the camera's clock was when a clock photo was taken."""
    low_s, high_s = bounds_s(sighting, sighting.camera_at)
    zone_s = CameraOffset(low_s, high_s, 1, sighting.zoned).zone_s
    low_s, high_s = low_s - zone_s, high_s - zone_s
    zone = f", besides a zone of {-zone_s / 3600:+g} h" if zone_s else ""
    if low_s > 0:
        return f"its camera's clock was {low_s:.0f} to {high_s:.0f} s slow{zone}"
    if high_s < 0:
        return f"its camera's clock was {-high_s:.0f} to {-low_s:.0f} s fast{zone}"
    return f"its camera's clock was right within {max(-low_s, high_s):.0f} s{zone}"


def film_starts(written: datetime, duration_s: float, offset: CameraOffset) -> tuple[Moment, ...]:
    """Return when a film may have started, by the time in its container: one or two intervals.

    A container's time should be in UTC, and often is the camera's wall clock instead
    (the format's documentation: "does not specify a time zone. Common practice is to use local
    time"). A camera that wrote a zone into its photos knows it. Of one that did not, both are
    possible: as it is, and moved by the zone its photos show. Some recorders write the end
    rather than the start (from memory), so the film's length is left open too.
    """
    shifts = {0.0, offset.zone_s}
    return tuple(
        _started(written, duration_s, offset.low_s - shift, offset.high_s - shift)
        for shift in sorted(shifts)
    )


def _started(written: datetime, duration_s: float, low_s: float, high_s: float) -> Moment:
    earliest = written + timedelta(seconds=low_s - max(0.0, duration_s))
    latest = written + timedelta(seconds=high_s + CAMERA_STEP_S)
    return Moment(earliest, earliest + (latest - earliest) / 2, latest)


def zone_apart_s(apart_s: float, within_s: float) -> float | None:
    """Return the whole and half hours that explain a difference, or None when none do."""
    nearest = round(apart_s / ZONE_STEP_S) * ZONE_STEP_S
    return nearest if nearest and abs(apart_s - nearest) <= within_s else None


def camera_time(text: str) -> tuple[datetime, bool] | None:
    """Return what a camera wrote, aware, and whether it wrote its zone; None when unreadable."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return None
    return (found, True) if found.tzinfo else (found.replace(tzinfo=UTC), False)
