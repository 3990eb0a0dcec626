"""How far a device's clock is off, as an interval."""

from datetime import datetime

LONGEST_TRIP_S = 30.0
"""A request that took longer to arrive has timed out. Common practice, no source."""
SKEW_TOLD_S = 120.0
"""A clock that is off by more is told so. Common practice, no source."""


def skew_s(offset_low_s: float, offset_high_s: float) -> float | None:
    """Return how far a clock is surely off, in seconds (+ slow); None within `SKEW_TOLD_S`.

    Of the interval the end nearer to zero counts: what a slow network explains is no skew.
    """
    least = (
        0.0 if offset_low_s <= 0.0 <= offset_high_s else min(offset_low_s, offset_high_s, key=abs)
    )
    return least if abs(least) > SKEW_TOLD_S else None


def offset_interval(*, device_now: datetime, received_at: datetime) -> tuple[float, float]:
    """Return the seconds between which true time minus device time lies.

    Parameters
    ----------
    device_now : datetime
        What the device's clock said when it sent the request, aware.
    received_at : datetime
        What the server's clock said when the request arrived, aware.

    Returns
    -------
    low, high : float
        The request left the device at most `LONGEST_TRIP_S` before it arrived,
        and not after: both ends follow.
    """
    high = (received_at - device_now).total_seconds()
    return high - LONGEST_TRIP_S, high
