"""Where a camera says it was, from the GPS part of EXIF."""

from collections.abc import Mapping
from math import isfinite
from typing import Any

from PIL.ExifTags import GPS


def position_of(gps: Mapping[int, Any]) -> dict[str, float] | None:
    """Return ``latitude`` and ``longitude`` in WGS 84 degrees, or None when unreadable.

    ``accuracy_m`` is added where the camera wrote one. Zero and zero is what a receiver
    writes that has found nothing yet: no position.
    """
    latitude = _degrees(gps.get(GPS.GPSLatitude), gps.get(GPS.GPSLatitudeRef), "S", 90.0)
    longitude = _degrees(gps.get(GPS.GPSLongitude), gps.get(GPS.GPSLongitudeRef), "W", 180.0)
    if latitude is None or longitude is None or (latitude == 0.0 and longitude == 0.0):
        return None
    found = {"latitude": round(latitude, 7), "longitude": round(longitude, 7)}
    accuracy_m = _number(gps.get(GPS.GPSHPositioningError))
    if accuracy_m is not None and accuracy_m >= 0:
        found["accuracy_m"] = round(accuracy_m, 1)
    return found


def _degrees(parts: object, half: object, negative: str, most: float) -> float | None:
    """Return EXIF's degrees, minutes and seconds as signed degrees."""
    if not isinstance(parts, tuple) or not 1 <= len(parts) <= 3:  # noqa: PLR2004 - EXIF's three
        return None
    numbers = [_number(part) for part in parts]
    if any(number is None or number < 0 for number in numbers):
        return None
    size = sum((number or 0.0) / 60.0**power for power, number in enumerate(numbers))
    if size > most:
        return None
    return -size if str(half).strip("\x00 ").upper() == negative else size


def _number(part: object) -> float | None:
    try:
        number = float(part)  # type: ignore[arg-type]
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return number if isfinite(number) else None
