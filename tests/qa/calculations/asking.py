"""Asks a calculation with its example, some fields changed."""

from datetime import UTC, datetime
from typing import Any

import pytest

from qa.calculations.calculation import answer
from qa.calculations.registry import CALCULATIONS
from repairs.domain.problem import Refused

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


def run(name: str, **changed: Any) -> dict[str, Any]:
    """Run a calculation's example with some fields changed; None leaves one out."""
    sent = {**CALCULATIONS[name].example, **changed}
    kept = {field: value for field, value in sent.items() if value is not None}
    return answer(CALCULATIONS[name], kept, now=NOW)


def faults(name: str, **changed: Any) -> dict[str, tuple[str, str]]:
    """Return what is found wrong, by field."""
    with pytest.raises(Refused) as refused:
        run(name, **changed)
    assert refused.value.code == "malformed"
    return {fault.field: (fault.found, fault.expected) for fault in refused.value.faults}


def of(value: float, unit: str) -> dict[str, Any]:
    """Return a quantity as it is sent."""
    return {"value": value, "unit": unit}
