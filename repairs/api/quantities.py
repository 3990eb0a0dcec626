"""Quantities at the edge: a value with its unit in, SI and US out."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from repairs.domain.units import Dimension, parse, render


@extend_schema_field(
    {
        "type": "object",
        "properties": {"value": {"type": "number"}, "unit": {"type": "string"}},
        "required": ["value", "unit"],
        "example": {"value": 4.8, "unit": "psi"},
    }
)
class QuantityField(serializers.Field):
    """Reads ``{"value": 4.8, "unit": "psi"}`` into SI and writes SI with the US value beside it."""

    default_error_messages = {
        "form": 'expected {{"value": number, "unit": text}}, found {found}.',
        "unit": "{words}",
        "range": "expected {low:g} to {high:g} in SI, found {found:g}.",
    }

    def __init__(
        self, dimension: Dimension, *, low: float = -1e6, high: float = 1e6, **kwargs: Any
    ) -> None:
        self.dimension, self.low, self.high = dimension, low, high
        super().__init__(**kwargs)

    def to_internal_value(self, data: Any) -> float:
        """Return the value in SI."""
        if not isinstance(data, dict) or not {"value", "unit"} <= set(data):
            self.fail("form", found=repr(data)[:80])
        number = data["value"]
        if isinstance(number, bool) or not isinstance(number, int | float):
            self.fail("form", found=repr(data)[:80])
        try:
            found = parse(float(number), str(data["unit"]), self.dimension)
        except (ValueError, OverflowError) as error:
            self.fail("unit", words=str(error))
        if not self.low <= found <= self.high:
            self.fail("range", low=self.low, high=self.high, found=found)
        return found

    def to_representation(self, value: float) -> dict[str, Any]:
        """Return SI and US."""
        return dict(render(value, self.dimension))
