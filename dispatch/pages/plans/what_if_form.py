"""What is typed to suppose something: each group of boxes is one thing, left open it is not."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.conf import settings

from dispatch.domain.what_if import Supposition, WhatIf
from dispatch.models import Equipment, Plan
from dispatch.pages.plans.ask_form import seconds_of
from dispatch.pages.plans.box_words import say_what_is_right
from dispatch.pages.plans.change_form import CrewBox, days_of
from dispatch.pages.plans.plan_words import PRICE_WORDS, day_words
from repairs.models import Repair

RAIN, EVERYWHERE = "rain", "everywhere"
WHERE = ((RAIN, "where a low flow is asked for (rain)"), (EVERYWHERE, "everywhere"))
_ALSO = "Say this, too, or leave the whole group open."

GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("A crew is late", ("late_crew", "late_on", "late_min")),
    ("A crew does not go out", ("away_crew", "away_on")),
    ("A packer is out of use", ("packer",)),
    ("A repair is urgent", ("urgent",)),
    ("Nobody works", ("idle_on", "idle_where")),
    ("A drawback costs something else", ("price", "price_min")),
)
"""Each group of boxes; the first box says whether it is meant."""


class WhatIfForm(forms.Form):
    """One or several things that are supposed at once."""

    late_crew = CrewBox(label="Crew", empty_label="nobody", required=False)
    late_on = forms.ChoiceField(label="On", required=False)
    late_min = forms.IntegerField(
        label="By how many minutes", min_value=1, max_value=1440, required=False
    )
    away_crew = CrewBox(label="Crew", empty_label="nobody", required=False)
    away_on = forms.ChoiceField(label="On", required=False)
    packer = forms.ModelChoiceField(
        Equipment.objects.filter(kind="packer").order_by("serial"),
        to_field_name="serial",
        label="Packer",
        empty_label="none",
        required=False,
    )
    urgent = forms.ModelChoiceField(
        Repair.objects.none(),
        label="Repair",
        empty_label="none",
        required=False,
        help_text="One that can be planned: of others urgency changes nothing.",
    )
    idle_on = forms.ChoiceField(label="On", required=False)
    idle_where = forms.ChoiceField(label="Where", choices=WHERE, required=False)
    price = forms.ChoiceField(
        label="Which", choices=[("", "none"), *PRICE_WORDS.items()], required=False
    )
    price_min = forms.FloatField(
        label="How much",
        min_value=0,
        required=False,
        help_text="minutes of driving; of overtime: times",
        widget=forms.NumberInput(attrs={"step": "any"}),
    )
    label = forms.CharField(label="What you call it", max_length=100, required=False)
    search_s = forms.IntegerField(label="Search for, seconds", min_value=1, max_value=600)

    def __init__(self, plan: Plan, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.plan = plan
        days = [(day.isoformat(), day_words(day)) for day in days_of(plan)]
        for name, first in (("late_on", []), ("away_on", []), ("idle_on", [("", "no day")])):
            box = self.fields[name]
            assert isinstance(box, forms.ChoiceField)  # noqa: S101 - declared above
            box.choices = [*first, *days]
        box = self.fields["urgent"]
        assert isinstance(box, forms.ModelChoiceField)  # noqa: S101 - declared above
        box.queryset = to_plan_in(plan)
        say_what_is_right(self)

    def clean(self) -> dict[str, Any]:
        """Ask for the rest of a group of which a box is filled: nothing typed is dropped."""
        cleaned: dict[str, Any] = super().clean() or {}
        for _, names in GROUPS:
            if names[0] in self.errors:
                continue
            if not cleaned.get(names[0]):
                if any(self._is_filled(name) for name in names[1:]):
                    self.add_error(names[0], _ALSO)
                continue
            for name in names[1:]:
                if name not in self.errors and cleaned.get(name) in {None, ""}:
                    self.add_error(name, _ALSO)
        return cleaned

    def _is_filled(self, name: str) -> bool:
        """Return whether somebody filled a box, so that it is another than it was shown."""
        day = self.plan.starts_on.isoformat()
        shown = {"late_on": day, "away_on": day, "idle_where": RAIN}
        return self.data.get(name, "").strip() not in {"", shown.get(name, "")}

    @property
    def groups(self) -> list[tuple[str, list[forms.BoundField]]]:
        """Return the groups with their boxes."""
        return [(title, [self[name] for name in names]) for title, names in GROUPS]

    def changes(self) -> tuple[WhatIf, ...]:
        """Return what is supposed."""
        return tuple(self._supposed())

    def _supposed(self) -> Iterable[WhatIf]:
        said = self.cleaned_data
        days = {day.isoformat(): day for day in days_of(self.plan)}
        if crew := said["late_crew"]:
            on, late = days[said["late_on"]], said["late_min"]
            yield WhatIf(Supposition.CREW_LATE, crew=crew.code, on=on, minutes=late)
        if crew := said["away_crew"]:
            yield WhatIf(Supposition.CREW_AWAY, crew=crew.code, on=days[said["away_on"]])
        if packer := said["packer"]:
            yield WhatIf(Supposition.PACKER_OUT, serial=packer.serial)
        if repair := said["urgent"]:
            yield WhatIf(Supposition.URGENT, repair=str(repair.pk))
        if day := said["idle_on"]:
            rain = said["idle_where"] == RAIN
            sites = () if rain else sites_of(self.plan)
            yield WhatIf(Supposition.NO_WORK, on=days[day], sites=sites, low_flow=rain)
        if name := said["price"]:
            price_s = seconds_of(name, said["price_min"])
            yield WhatIf(Supposition.PRICE, price=name, value=price_s)


def first_values() -> dict[str, Any]:
    """Return what the boxes hold before anything is typed."""
    return {"search_s": settings.PLAN_SEARCH_S}


def repairs_of(plan: Plan) -> Any:
    """Return every repair a plan knows, served or not."""
    known = [
        *plan.stops.values_list("repair_id", flat=True),
        *plan.left_out.values_list("repair_id", flat=True),
    ]
    return Repair.objects.filter(pk__in=known).order_by("ref")


def to_plan_in(plan: Plan) -> Any:
    """Return every repair that could be planned: of another one urgency would change nothing."""
    known = [
        *plan.stops.values_list("repair_id", flat=True),
        *plan.left_out.filter(refused=False).values_list("repair_id", flat=True),
    ]
    return Repair.objects.filter(pk__in=known).order_by("ref")


def sites_of(plan: Plan) -> tuple[str, ...]:
    """Return the sites of every repair a plan knows."""
    return tuple(sorted({str(key) for key in repairs_of(plan).values_list("run__site", flat=True)}))
