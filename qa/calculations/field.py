"""What a calculation may be given: a field reads what was sent, and tells of itself."""

import math
import re
from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import Any

from repairs.domain.problem import Fault

NUMBER_AND_UNIT = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([^\d\s.].*?)\s*$")


class Wrong(ValueError):  # noqa: N818 - it is what was sent that is wrong
    """What was sent cannot be understood; `faults` names each field."""

    def __init__(self, *faults: Fault) -> None:
        super().__init__(str(faults[0]))
        self.faults = faults


@dataclass(frozen=True, slots=True, kw_only=True)
class Field(ABC):
    """One thing a calculation is given.

    Parameters
    ----------
    name, meaning
        As it is sent, without a unit; what it means, in plain words.
    required
        Whether it must be sent.
    default
        What is taken otherwise, in the unit of the inside.
    """

    name: str
    meaning: str
    required: bool = True
    default: Any = None

    @abstractmethod
    def read(self, sent: Any, path: str) -> Any:
        """Return what was sent as the calculation takes it; raise `Wrong` naming `path`."""

    @abstractmethod
    def schema(self) -> dict[str, Any]:
        """Return its JSON schema."""

    def typed(self, text: str) -> Any:
        """Turn a word typed into a terminal into what would have been sent as JSON."""
        return text

    def spoken(self, sent: Any) -> str:
        """Return the word that `typed` turns into `sent`."""
        return str(sent)

    def bounds(self) -> str:
        """Say what is taken, in words."""
        return ""

    def told(self) -> dict[str, Any]:
        """Describe the field to somebody who wants to send it."""
        about: dict[str, Any] = {"name": self.name, "meaning": self.meaning, "takes": self.bounds()}
        return {**about, "required": self.required}


def is_number(sent: Any) -> bool:
    """Tell whether JSON gave a finite number; true and false are none."""
    if isinstance(sent, bool) or not isinstance(sent, int | float):
        return False
    try:
        return math.isfinite(sent)
    except OverflowError:
        return False
