"""The kinds of field: quantities, numbers, choices, texts and times."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from qa.calculations.field import NUMBER_AND_UNIT, Field, Wrong, is_number
from repairs.domain.instants import utc
from repairs.domain.problem import Fault, shown
from repairs.domain.storable import FIRST_YEAR, LAST_YEAR
from repairs.domain.units import Dimension, accepted_units, parse, range_words


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity(Field):
    """A value with its unit; `low` and `high` are in the unit of the inside, both taken."""

    dimension: Dimension
    low: float
    high: float

    def read(self, sent: Any, path: str) -> float:
        """Return the value in the unit of the inside."""
        if not isinstance(sent, dict) or not {"value", "unit"} <= set(sent):
            raise Wrong(Fault(path, shown(sent), self.bounds()))
        number, unit = sent["value"], sent["unit"]
        if not is_number(number) or not isinstance(unit, str):
            raise Wrong(Fault(path, shown(sent), self.bounds()))
        try:
            inside = parse(float(number), unit, self.dimension)
        except (ValueError, OverflowError):
            found = f"{shown(number)} {unit}".rstrip()
            raise Wrong(Fault(path, found, self.bounds())) from None
        if not self.low <= inside <= self.high:
            told = range_words(self.low, self.high, unit, self.dimension)
            raise Wrong(Fault(path, f"{shown(number)} {unit}", told))
        return inside

    def typed(self, text: str) -> Any:
        """Part the number from its unit: ``4.8psi``."""
        found = NUMBER_AND_UNIT.match(text)
        return {"value": float(found[1]), "unit": found[2]} if found else text

    def spoken(self, sent: Any) -> str:
        """Write number and unit as one word."""
        return f"{sent['value']:g}{sent['unit']}"

    def bounds(self) -> str:
        """Name the bounds and the units."""
        units = accepted_units(self.dimension)
        told = range_words(self.low, self.high, units[0], self.dimension)
        return f"{told}, or the same in another of the units {', '.join(units)}"

    def schema(self) -> dict[str, Any]:
        """Return value and unit."""
        return {
            "type": "object",
            "description": f"{self.meaning} {self.bounds()}.",
            "properties": {
                "value": {"type": "number"},
                "unit": {"type": "string", "enum": list(accepted_units(self.dimension))},
            },
            "required": ["value", "unit"],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Number(Field):
    """A number without a unit, such as a share; both bounds are taken."""

    low: float
    high: float
    whole: bool = False

    def read(self, sent: Any, path: str) -> float:
        """Return the number."""
        if not is_number(sent) or not self.low <= sent <= self.high or self._is_broken(sent):
            raise Wrong(Fault(path, shown(sent), self.bounds()))
        return int(sent) if self.whole else float(sent)

    def _is_broken(self, sent: float) -> bool:
        return self.whole and sent != int(sent)

    def typed(self, text: str) -> Any:
        """Read a number, or leave the word for the fault to show."""
        try:
            return float(text)
        except ValueError:
            return text

    def spoken(self, sent: Any) -> str:
        """Write the number."""
        return f"{sent:g}"

    def bounds(self) -> str:
        """Name the bounds."""
        return f"a {'whole ' * self.whole}number, {self.low:g} to {self.high:g}"

    def schema(self) -> dict[str, Any]:
        """Return a number with its bounds."""
        kind = "integer" if self.whole else "number"
        return {
            "type": kind,
            "minimum": self.low,
            "maximum": self.high,
            "description": self.meaning,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice(Field):
    """One of a few words."""

    choices: tuple[str, ...]

    def read(self, sent: Any, path: str) -> str:
        """Return the word."""
        if not isinstance(sent, str) or sent not in self.choices:
            raise Wrong(Fault(path, shown(sent), self.bounds()))
        return sent

    def bounds(self) -> str:
        """Name the words."""
        return f"one of {', '.join(self.choices)}"

    def schema(self) -> dict[str, Any]:
        """Return the words."""
        return {"type": "string", "enum": list(self.choices), "description": self.meaning}


@dataclass(frozen=True, slots=True, kw_only=True)
class Text(Field):
    """Text of at most `longest` characters."""

    longest: int = 300

    def read(self, sent: Any, path: str) -> str:
        """Return the text."""
        if not isinstance(sent, str) or not 0 < len(sent) <= self.longest:
            raise Wrong(Fault(path, shown(sent), self.bounds()))
        return sent

    def spoken(self, sent: Any) -> str:
        """Write one line as it is; more than a line is better kept in a file."""
        return f"@{self.name}.csv" if "\n" in sent else str(sent)

    def bounds(self) -> str:
        """Name the length."""
        return f"text of 1 to {self.longest} characters"

    def schema(self) -> dict[str, Any]:
        """Return a text."""
        return {"type": "string", "maxLength": self.longest, "description": self.meaning}


@dataclass(frozen=True, slots=True, kw_only=True)
class Instant(Field):
    """A time with its offset."""

    def read(self, sent: Any, path: str) -> datetime:
        """Return the instant in UTC."""
        try:
            at = datetime.fromisoformat(sent) if isinstance(sent, str) else None
            if at is not None and FIRST_YEAR <= at.year <= LAST_YEAR:
                return utc(at)
        except (ValueError, OverflowError):
            pass
        raise Wrong(Fault(path, shown(sent), self.bounds()))

    def bounds(self) -> str:
        """Give an example."""
        return "a time with its offset, such as 2026-11-25T09:30:00-05:00"

    def schema(self) -> dict[str, Any]:
        """Return a time."""
        return {"type": "string", "format": "date-time", "description": self.meaning}
