"""Named places to die; the deaths themselves are in tests/faults."""

import pytest

from duework import failpoints


def test_off_by_default(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the variable every point is passed."""
    monkeypatch.delenv("CUREWRIGHT_FAIL_AT", raising=False)

    for name in failpoints.NAMES:
        failpoints.reach(name)


def test_an_unknown_point_is_a_mistake() -> None:
    """A misspelt point would never be tested."""
    with pytest.raises(ValueError, match="'clamed' is not a failpoint"):
        failpoints.reach("clamed")
