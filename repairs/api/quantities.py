"""Quantities at the edge: a value with its unit in, SI and US out."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from repairs.domain.units import Dimension, parse, range_words, render


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
        "form": 'expected {{"value": number, "unit": text}}.',
        "unit": "{words}",
        "range": "expected {words}.",
    }

    def __init__(
        self, dimension: Dimension, *, low: float = -1e6, high: float = 1e6, **kwargs: Any
    ) -> None:
        self.dimension, self.low, self.high = dimension, low, high
        super().__init__(**kwargs)

    def to_internal_value(self, data: Any) -> float:
        """Return the value in SI."""
        if not isinstance(data, dict) or not {"value", "unit"} <= set(data):
            self.fail("form")
        number = data["value"]
        if isinstance(number, bool) or not isinstance(number, int | float):
            self.fail("form")
        try:
            found = parse(float(number), str(data["unit"]), self.dimension)
        except (ValueError, OverflowError) as error:
            self.fail("unit", words=str(error))
        if not self.low <= found <= self.high:
            words = range_words(self.low, self.high, str(data["unit"]), self.dimension)
            self.fail("range", words=words)
        return found

    def to_representation(self, value: float) -> dict[str, Any]:
        """Return SI and US."""
        return dict(render(value, self.dimension))
