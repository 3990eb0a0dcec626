"""The contract's times for telling: warranty, the client's answer, the promise."""

import calendar
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from repairs.domain.problem import Fault, shown


@dataclass(frozen=True, slots=True)
class Terms:
    """Times a contract may set; each stands beside its usual value.

    Parameters
    ----------
    warranty_months : int
        From the client's acceptance. One year: a trade association's answer on the usual
        warranty of such work; an owner's specification asks for a film at its end.
    warranty_lead_days, promise_lead_days, answer_days : int
        Common practice, no source.
    answer_remind_days : int
        How long before the end of `answer_days` the client is reminded; where it is 0, or not
        shorter than `answer_days`, it is not. Common practice, no source.
    retention_years : int
        How long packages and their evidence are kept after the acceptance. 15 years: the longest
        class of a municipal retention schedule, that of contracts.
    """

    warranty_months: int = 12
    warranty_lead_days: int = 30
    promise_lead_days: int = 2
    answer_days: int = 14
    answer_remind_days: int = 4
    retention_years: int = 15

    def answer_by(self, ready_at: datetime) -> datetime:
        """Return until when an answer to a package is expected that was ready at an instant."""
        return ready_at + timedelta(days=self.answer_days)


HIGHEST = {
    "warranty_months": 240,
    "warranty_lead_days": 365,
    "promise_lead_days": 90,
    "answer_days": 365,
    "answer_remind_days": 365,
    "retention_years": 100,
}


def months_after(day: date, months: int) -> date:
    """Return the same day so many months later, or the last of a shorter month."""
    years, month = divmod(day.month - 1 + months, 12)
    year, month = day.year + years, month + 1
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


def terms_from(table: Mapping[str, Any]) -> Terms:
    """Read a contract's terms: ``{name: {"value": number, "source": text}}``, each optional."""
    return Terms(**{name: table[name]["value"] for name in HIGHEST if name in table})


def term_faults(table: Mapping[str, Any]) -> Iterator[Fault]:
    """Name what is wrong with a contract's terms."""
    for name, entry in table.items():
        field = f"terms.{name}"
        if name not in HIGHEST:
            yield Fault(field, shown(entry), f"one of {', '.join(HIGHEST)}")
        elif not isinstance(entry, Mapping) or "value" not in entry:
            yield Fault(field, shown(entry), '{"value": ..., "source": ...}')
        elif not _is_whole(entry["value"]) or not 0 <= entry["value"] <= HIGHEST[name]:
            yield Fault(f"{field}.value", shown(entry["value"]), f"0 to {HIGHEST[name]}, whole")
        elif not str(entry.get("source", "")).strip():
            expected = "where the number comes from, or 'common practice, no source'"
            yield Fault(f"{field}.source", "nothing", expected)


def _is_whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)
