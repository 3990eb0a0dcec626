"""A calculation with everything somebody needs who has never used it, and how it is run."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from qa.calculations.field import Field, Wrong
from qa.calculations.record import Record
from qa.calculations.said import fault_said
from qa.calculations.written import written
from repairs.domain.problem import malformed

NOW = "now"
"""The field that stands for the present where nothing is sent for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculation:
    """One calculation of the core, as it is offered.

    Parameters
    ----------
    name
        Stable; in the address and in the terminal.
    answers
        The question it answers, in plain words.
    takes
        What it must and may be given.
    run
        The function of the core: what was read in, a dataclass out.
    example
        What may be sent, as JSON; it runs.
    source, caution, page
        Where it comes from; what it does not know; its page in the documentation.
    words
        Plain words for each code the result may carry in ``flags``.
    """

    name: str
    answers: str
    takes: tuple[Field, ...]
    run: Callable[[Mapping[str, Any]], Any]
    example: Mapping[str, Any]
    source: str
    caution: str
    page: str
    words: Mapping[str, str] = field(default_factory=dict)

    @property
    def record(self) -> Record:
        """All it takes, as one field."""
        return Record(name="", meaning=self.answers, fields=self.takes)

    def told(self) -> dict[str, Any]:
        """Describe it to somebody who wants to use it."""
        return {
            "name": self.name,
            "answers": self.answers,
            "takes": [each.told() for each in self.takes],
            "example": dict(self.example),
            "source": self.source,
            "caution": self.caution,
            "page": self.page,
        }


def answer(calculation: Calculation, sent: Any, *, now: datetime) -> dict[str, Any]:
    """Run a calculation on what was sent; nothing is stored.

    Parameters
    ----------
    calculation
        Which.
    sent
        The fields as JSON has them.
    now
        The present, where the calculation asks for it and nothing was sent.

    Returns
    -------
    dict
        The figures in ``result``, with working, source and caution; ready for JSON.

    Raises
    ------
    Refused
        ``malformed``, naming each wrong field with what was found and expected.
    """
    try:
        values = calculation.record.read(sent, "")
        if values.get(NOW, now) is None:
            values[NOW] = now
        result = calculation.run(values)
    except Wrong as wrong:
        raise malformed(*wrong.faults) from wrong
    except ValueError as error:
        known = [each.name for each in calculation.takes]
        raise malformed(fault_said(str(error), known)) from error
    figures = written(result)
    told = {code: calculation.words[code] for code in _codes(figures) if code in calculation.words}
    return {
        "calculation": calculation.name,
        "result": figures,
        **({"flag_words": told} if told else {}),
        "working": list(result.working),
        "source": calculation.source,
        "caution": calculation.caution,
        "page": calculation.page,
    }


def _codes(figures: Mapping[str, Any]) -> list[str]:
    return [code for code in figures.get("flags", []) if isinstance(code, str)]
