"""What is typed to ask for a plan: which days, how long to search, and what drawbacks cost."""

from dataclasses import asdict
from datetime import date, timedelta
from typing import Any

from django import forms
from django.conf import settings

from dispatch.domain.what_if import Supposed, Supposition, WhatIf
from dispatch.pages.plans.box_words import say_what_is_right
from dispatch.pages.plans.plan_words import PRICE_WORDS
from dispatch.plan_facts.facts import weights_now
from dispatch.services.plan_ask import MOST_DAYS

PRICE = "price-"
TIMES = "overtime_times"
_MIN = 60
_MOST_MIN = 10**8 // _MIN


class DayBox(forms.DateField):
    """A day, typed or picked."""

    def __init__(self, **given: Any) -> None:
        box = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
        wrong = {
            "required": "Say which day, such as 2026-11-30.",
            "invalid": "Not a day: write it such as 2026-11-30.",
        }
        super().__init__(widget=box, error_messages=wrong, **given)


class AskForm(forms.Form):
    """Days, search and prices."""

    starts_on = DayBox(label="From")
    ends_on = DayBox(label="To, this day too")
    search_s = forms.IntegerField(
        label="Search for, seconds",
        min_value=1,
        max_value=600,
        help_text="A first plan stands after a second or two; longer finds better ones.",
    )
    label = forms.CharField(label="What you call it", max_length=100, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, seconds in now_prices().items():
            self.fields[f"{PRICE}{name}"] = _price_box(name, seconds)
        say_what_is_right(self)

    def clean(self) -> dict[str, Any]:
        """Ask for days that follow each other and are not too many."""
        cleaned: dict[str, Any] = super().clean() or {}
        first, last = cleaned.get("starts_on"), cleaned.get("ends_on")
        if first and last and not 0 <= (last - first).days < MOST_DAYS:
            self.add_error(
                "ends_on",
                f"Found {last}, expected a day from {first} on, {MOST_DAYS} days at most.",
            )
        return cleaned

    @property
    def price_boxes(self) -> list[forms.BoundField]:
        """Return the boxes of the prices."""
        return [self[name] for name in self.fields if name.startswith(PRICE)]

    @property
    def days(self) -> int:
        """Return how many days were asked for."""
        first: date = self.cleaned_data["starts_on"]
        last: date = self.cleaned_data["ends_on"]
        return (last - first).days + 1

    def prices(self) -> dict[str, int]:
        """Return each price that was typed, by its own name and in its own unit."""
        found = {}
        for name, now in now_prices().items():
            typed = self.cleaned_data[f"{PRICE}{name}"]
            same = f"{typed:g}" == shown(name, now)
            found[name] = now if same else seconds_of(name, typed)
        return found

    def changes(self) -> tuple[WhatIf, ...]:
        """Return the prices that are another than the company's, as suppositions of this plan."""
        now = now_prices()
        return tuple(
            WhatIf(Supposition.PRICE, price=name, value=seconds)
            for name, seconds in self.prices().items()
            if seconds != now[name]
        )


def first_values(today: date) -> dict[str, Any]:
    """Return what the boxes hold before anything is typed: tomorrow, and the usual search."""
    tomorrow = today + timedelta(days=1)
    found: dict[str, Any] = {"starts_on": tomorrow, "ends_on": tomorrow}
    found["search_s"] = settings.PLAN_SEARCH_S
    return {**found, **{f"{PRICE}{name}": shown(name, s) for name, s in now_prices().items()}}


def now_prices() -> dict[str, int]:
    """Return the company's prices as they are, usual ones where it has said nothing."""
    return {name: asdict(weights_now(Supposed()))[name] for name in PRICE_WORDS}


def shown(name: str, seconds: int) -> str:
    """Return a price as its box shows it: minutes of driving, or times."""
    return f"{seconds:g}" if name == TIMES else f"{seconds / _MIN:g}"


def seconds_of(name: str, typed: float) -> int:
    """Return a typed price in the unit it is stored in."""
    return round(typed) if name == TIMES else round(typed * _MIN)


def _price_box(name: str, seconds: int) -> forms.FloatField:
    unit = "times" if name == TIMES else "minutes of driving"
    box = forms.NumberInput(attrs={"step": "any", "min": 0})
    usual = shown(name, seconds)
    return forms.FloatField(
        label=PRICE_WORDS[name],
        min_value=0,
        max_value=_MOST_MIN,
        widget=box,
        help_text=f"{unit}; the company's is {usual}",
    )
