"""What a handler may answer."""

from datetime import datetime

import pytest

from duework.domain.work import Again


def test_again_without_zone_is_refused() -> None:
    """The mistake shows in the handler, not in the table."""
    with pytest.raises(ValueError, match="no zone"):
        Again(datetime(2031, 5, 6, 7, 0))  # noqa: DTZ001 - the fault tested
