"""What is typed to put a repair elsewhere in a plan, or to pin it for all plans."""

from datetime import date, timedelta
from typing import Any

from django import forms

from dispatch.models import Crew, Plan
from dispatch.pages.plans.ask_form import DayBox
from dispatch.pages.plans.box_words import say_what_is_right
from dispatch.pages.plans.plan_words import day_words

NO_CREW = "Choose one of the crews."
NO_DAY = "Choose one of the days of this plan."
_PINNED_NOWHERE = "Say a crew, a day, or both."


class CrewBox(forms.ModelChoiceField):
    """A crew, chosen by its name and sent by its code."""

    def __init__(self, **given: Any) -> None:
        wrong = {"required": NO_CREW, "invalid_choice": NO_CREW}
        crews = Crew.objects.order_by("name", "code")
        super().__init__(crews, to_field_name="code", error_messages=wrong, **given)

    def label_from_instance(self, obj: Any) -> str:
        """Return its name."""
        return str(obj.name)


class PutForm(forms.Form):
    """Which crew, which day of the plan, and as which stop."""

    crew = CrewBox(label="Crew", empty_label="choose")
    on = forms.ChoiceField(label="Day")
    number = forms.IntegerField(
        label="As stop",
        min_value=1,
        max_value=200,
        required=False,
        help_text="1 is the first; left open it goes where it costs the least.",
    )
    keep = forms.BooleanField(
        label="Keep it there in later plans, too (pin it)",
        required=False,
    )

    def __init__(self, plan: Plan, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        box = self.fields["on"]
        assert isinstance(box, forms.ChoiceField)  # noqa: S101 - declared above
        box.choices = [(day.isoformat(), day_words(day)) for day in days_of(plan)]
        box.error_messages = {"required": NO_DAY, "invalid_choice": NO_DAY}
        say_what_is_right(self)

    @property
    def day(self) -> date:
        """Return the day that was chosen."""
        return date.fromisoformat(self.cleaned_data["on"])


class PinForm(forms.Form):
    """A crew, a day, or both, and why."""

    crew = CrewBox(label="Crew", empty_label="any crew", required=False)
    on = DayBox(label="Day", required=False, help_text="Left open: any day.")
    reason = forms.CharField(
        label="Why", max_length=200, error_messages={"required": "Say why, for whoever plans next."}
    )

    def clean(self) -> dict[str, Any]:
        """Ask for a crew or a day."""
        cleaned: dict[str, Any] = super().clean() or {}
        if not self.errors and not cleaned.get("crew") and not cleaned.get("on"):
            self.add_error("crew", _PINNED_NOWHERE)
        return cleaned


def days_of(plan: Plan) -> list[date]:
    """Return the days of a plan."""
    return [plan.starts_on + timedelta(days=n) for n in range(plan.days)]
