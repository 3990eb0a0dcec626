"""Quantities of the engineer's office that no crew measures: moduli, weights, loads."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from qa.calculations.field import NUMBER_AND_UNIT, Field, Wrong, is_number
from repairs.domain.problem import Fault, shown
from repairs.domain.units import FOOT_M, POUND_KG, PSI_KPA, STANDARD_GRAVITY_M_S2

_POUND_KN = POUND_KG * STANDARD_GRAVITY_M_S2 / 1000.0

MPA = MappingProxyType({"MPa": 1.0, "GPa": 1000.0, "kPa": 0.001, "psi": PSI_KPA / 1000.0})
KN_M3 = MappingProxyType({"kN/m3": 1.0, "lbf/ft3": _POUND_KN / FOOT_M**3})


@dataclass(frozen=True, slots=True, kw_only=True)
class Scaled(Field):
    """A value with one of `units`, each told by its factor; the first is the inside's."""

    units: Mapping[str, float]
    low: float
    high: float

    def read(self, sent: Any, path: str) -> float:
        """Return the value in the first unit."""
        if not isinstance(sent, Mapping) or not {"value", "unit"} <= set(sent):
            raise Wrong(Fault(path, shown(sent), self.bounds()))
        number, factor = sent["value"], self.units.get(str(sent["unit"]))
        if not is_number(number) or factor is None or not self.low <= number * factor <= self.high:
            raise Wrong(Fault(path, f"{shown(number)} {sent['unit']}", self.bounds()))
        return float(number * factor)

    def typed(self, text: str) -> Any:
        """Part the number from its unit: ``2.5GPa``."""
        found = NUMBER_AND_UNIT.match(text)
        return {"value": float(found[1]), "unit": found[2]} if found else text

    def spoken(self, sent: Any) -> str:
        """Write number and unit as one word."""
        return f"{sent['value']:g}{sent['unit']}"

    def bounds(self) -> str:
        """Name the bounds and the units."""
        first, *others = self.units
        return f"{self.low:g} to {self.high:g} {first}, or the same in {', '.join(others)}"

    def schema(self) -> dict[str, Any]:
        """Return value and unit."""
        unit = {"type": "string", "enum": list(self.units)}
        return {
            "type": "object",
            "description": f"{self.meaning} {self.bounds()}.",
            "properties": {"value": {"type": "number"}, "unit": unit},
            "required": ["value", "unit"],
        }
