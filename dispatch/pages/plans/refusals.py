"""Says on a form why something was refused: each fault beside its box, the rest above."""

import re
from collections.abc import Iterable, Mapping

from django import forms

from dispatch.pages.plans.plan_words import PRICE_WORDS, reason_words
from repairs.domain.problem import Refused


def show_on(form: forms.Form, refused: Refused, boxes: Mapping[str, str] | None = None) -> None:
    """Write a refusal onto a form.

    Parameters
    ----------
    boxes : mapping, optional
        The service's field to the box it was typed into, where they are called otherwise.
    """
    named = boxes or {}
    for fault in refused.faults:
        box = named.get(fault.field, fault.field)
        words = f"Found {fault.found}, expected {fault.expected}."
        if fault.field == "prices":
            words = f"{_with_price_names(fault.expected)}."
        form.add_error(box if box in form.fields else None, words)
    if not refused.faults:
        form.add_error(None, refused.detail)


def _with_price_names(words: str) -> str:
    """Return words in which each price has the name it has on the page."""
    for name, said in PRICE_WORDS.items():
        words = re.sub(rf"\b{name}\b", f"'{said}'", words)
    return words


def reasons_of(refused: Refused) -> tuple[str, ...]:
    """Return every reason as a line: whose, what, and its words."""
    return reason_lines(refused.reasons)


def reason_lines(reasons: Iterable[Mapping[str, object]]) -> tuple[str, ...]:
    """Return reasons as lines."""
    return tuple(_line(each) for each in reasons)


def _line(reason: Mapping[str, object]) -> str:
    repair = str(reason.get("repair") or "")
    named = f"{repair}: " if repair else ""
    return f"{named}{reason_words(str(reason['code']))} ({reason['words']})"
