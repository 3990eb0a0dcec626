"""Reads the cells of one order row and gathers every fault instead of stopping at the first."""

from collections.abc import Collection, Mapping
from datetime import date, datetime
from math import isfinite
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from repairs.domain.problem import Fault
from repairs.domain.storable import FIRST_YEAR, LAST_YEAR, unstorable
from repairs.domain.units import Dimension, parse, range_words

DIAMETER_UNITS = ("mm", "in", "cm", "m")
LENGTH_UNITS = ("m", "ft", "cm", "mm", "in")
PRESSURE_UNITS = ("kpa", "psi", "bar", "mbar")
_UNIT_WORDS = {"kpa": "kPa", "c": "degC", "f": "degF"}
_YES = {"yes", "true", "1", "y"}
_NO = {"no", "false", "0", "n"}
_CLOCK_HOURS = range(1, 13)
_LONGEST = {"street": 200, "film_ref": 200, "defect_code": 10, "note": 10_000, "source": 300}
_LONGEST_ELSE = 60


class Cells:
    """One row's cells by column; `faults` grows while they are read, `asked` names the columns."""

    def __init__(self, cells: Mapping[str, Any]) -> None:
        self.cells = {str(name).strip().lower(): value for name, value in cells.items()}
        self.faults: list[Fault] = []
        self.asked: set[str] = set()
        self.sent_as: dict[str, str] = {}

    def raw(self, name: str) -> str:
        """Return the cell as text; empty when it is not there."""
        self.asked.add(name)
        value = self.cells.get(name)
        return "" if value is None else str(value).strip()

    def fault(self, field: str, found: str, expected: str) -> None:
        """Note one thing that is wrong."""
        self.faults.append(Fault(field, found or "nothing", expected))

    def text(self, name: str, expected: str = "", *, required: bool = True) -> str:
        """Return plain text of a length the record holds."""
        found = self.raw(name)
        if required and not found:
            self.fault(name, found, expected or "text")
        longest = _LONGEST.get(name, _LONGEST_ELSE)
        if isinstance(self.cells.get(name), dict | list):
            self.fault(name, "several values", "text")
        elif len(found) > longest:
            self.fault(name, f"{len(found)} characters", f"at most {longest}")
        elif what := unstorable(found):
            self.fault(name, what, "plain text")
        return found

    def number(self, name: str, low: float, high: float, *, required: bool = False) -> float | None:
        """Return a number between two bounds."""
        found = self.raw(name)
        if not found and not required:
            return None
        try:
            value = float(found)
        except ValueError:
            value = float("nan")
        if not isfinite(value) or not low <= value <= high:
            self.fault(name, found, f"a number from {low:g} to {high:g}")
            return None
        return value

    def quantity(
        self,
        name: str,
        dimension: Dimension,
        units: tuple[str, ...],
        low: float,
        high: float,
        *,
        required: bool = False,
    ) -> float | None:
        """Return a quantity in SI from whichever of its columns is filled."""
        given = [unit for unit in units if self.raw(f"{name}_{unit}")]
        expected = f"one column of {', '.join(f'{name}_{unit}' for unit in units)}"
        if len(given) != 1:
            if given or required:
                field = f"{name}_{given[0] if given else units[0]}"
                self.fault(field, f"{len(given)} columns filled", expected)
            return None
        column = self.sent_as[name] = f"{name}_{given[0]}"
        unit = _UNIT_WORDS.get(given[0], given[0])
        try:
            value = parse(float(self.raw(column)), unit, dimension)
        except ValueError:
            self.fault(column, self.raw(column), "a number")
            return None
        if not isfinite(value) or not low <= value <= high:
            told = range_words(low, high, unit, dimension)
            self.fault(column, self.raw(column), f"a value from {told}")
            return None
        return value

    def column(self, name: str) -> str:
        """Return the column in which a quantity was sent: ``length_ft``."""
        return self.sent_as[name]

    def yes_no(self, name: str) -> bool | None:
        """Return yes or no, or None where nothing stands."""
        found = self.raw(name).lower()
        if not found:
            return None
        if found in _YES or found in _NO:
            return found in _YES
        self.fault(name, found, "yes or no")
        return None

    def clock(self, name: str) -> int | None:
        """Return a whole hour of the clock face."""
        value = self.number(name, 1, 12)
        if value is not None and value not in _CLOCK_HOURS:
            self.fault(name, self.raw(name), "a whole hour from 1 to 12, 12 at the crown")
            return None
        return None if value is None else int(value)

    def day(self, name: str) -> date | None:
        """Return a calendar day."""
        found = self.raw(name)
        if not found:
            return None
        try:
            return date.fromisoformat(found)
        except ValueError:
            self.fault(name, found, "a date such as 2026-11-25")
            return None

    def instant(self, name: str) -> datetime | None:
        """Return an instant; a time without its offset is never guessed."""
        text = self.raw(name)
        if not text:
            return None
        try:
            found = datetime.fromisoformat(text)
        except ValueError:
            found = None
        if found is None or found.tzinfo is None or not FIRST_YEAR <= found.year <= LAST_YEAR:
            self.fault(name, text, "a time with its offset, such as 2026-11-25T09:30:00-05:00")
            return None
        return found

    def zone(self, name: str) -> str:
        """Return the key of an IANA time zone."""
        found = self.raw(name)
        if found not in available_timezones():
            self.fault(name, found, "an IANA time zone such as CET")
            return ""
        return ZoneInfo(found).key

    def word(self, name: str, words: Collection[str], *, required: bool = False) -> str:
        """Return one of a list of words."""
        found = self.raw(name).lower()
        if (found or required) and found not in words:
            self.fault(name, found, f"one of {', '.join(words)}")
        return found
