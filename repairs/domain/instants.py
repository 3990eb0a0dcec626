"""Makes one unmistakable instant of a date and time.

Python subtracts two times of the same zone as if clocks never changed: from 00:30
to 03:30 in the night the clocks go back it finds 180 minutes instead of 240. So every
time is turned to UTC before anything is reckoned with it.
"""

from datetime import UTC, datetime, timezone


def utc(at: datetime, name: str = "time") -> datetime:
    """Return the instant in UTC, refusing what does not name exactly one instant.

    Parameters
    ----------
    at
        A date and time with an offset or a zone.
    name
        What it is, for the message.

    Returns
    -------
    datetime
        The same instant with ``tzinfo`` UTC.

    Raises
    ------
    ValueError
        When there is no offset, or a zone's clock never showed that time, or showed
        it twice (the hour in which clocks change): then the offset must be given.

    Source
    ------
    PEP 495 (ambiguous and missing local times).
    """
    if at.tzinfo is UTC:
        return at
    if at.tzinfo is None or at.utcoffset() is None:
        raise ValueError(f"{name}: found {at.isoformat()} without offset, expected one, or Z.")
    instant = at.astimezone(UTC)
    if isinstance(at.tzinfo, timezone):
        return instant
    if instant.astimezone(at.tzinfo).replace(tzinfo=None, fold=0) != at.replace(
        tzinfo=None, fold=0
    ):
        raise ValueError(f"{name}: {at.isoformat()} was skipped when the clocks changed.")
    if at.replace(fold=0).utcoffset() != at.replace(fold=1).utcoffset():
        raise ValueError(f"{name}: {at.isoformat()} happened twice, give the offset from UTC.")
    return instant
