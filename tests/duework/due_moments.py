"""The moments these tests speak of."""

from datetime import UTC, datetime

from django.utils import timezone

NOW = datetime(2031, 5, 6, 7, 0, tzinfo=UTC)
"""The frozen present of tests that pass their time in."""

LONG_AGO_S = (timezone.now() - NOW).total_seconds() - 60
"""Added to NOW: overdue by the real clock, by which tickers live."""
