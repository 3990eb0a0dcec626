"""What a reviewer types at a repair: a waiver, a judgement, a second look, a decision, the closing.

The limits are those of the API; what may be done is decided by the services.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any, ClassVar
from uuid import UUID

from django import forms
from django.http import Http404

from qa.domain.disposition import DONE_AGAIN, Disposition
from qa.models import Nonconformance
from qa.pages.doing_again import opened_by_doing_again
from qa.pages.verdict_lines import sentence
from qa.services.close import close
from qa.services.decide import AcceptedBy, decide, say_done
from qa.services.report_seen import withdraw_seen
from qa.services.waive import judge_by_hand, look_through, waive
from repairs.domain.problem import Refused
from repairs.models import Account, Repair

LONGEST_WORDS, LONGEST_NAME, LONGEST_ROLE, LONGEST_CODE = 2000, 150, 100, 60
MOST_FILES = 50

SAY_WHO = "Only the client's side accepts it as it is: say who."
NOBODY_ACCEPTS = (
    "It belongs to 'accept as is', and '{chosen}' is chosen: leave it empty, or choose "
    "'accept as is'."
)


class WaiveForm(forms.Form):
    """Who lets a requirement go, and why."""

    requirement = forms.CharField(max_length=LONGEST_CODE)
    name = forms.CharField(max_length=LONGEST_NAME)
    role = forms.CharField(max_length=LONGEST_ROLE)
    reason = forms.CharField(max_length=LONGEST_WORDS)


class JudgeForm(forms.Form):
    """Why a reviewer finds met what the rule cannot tell."""

    requirement = forms.CharField(max_length=LONGEST_CODE)
    reason = forms.CharField(max_length=LONGEST_WORDS)


class LookForm(forms.Form):
    """What the second reviewer has to say."""

    words = forms.CharField(max_length=LONGEST_WORDS)


class CloseForm(forms.Form):
    """That the question was asked and answered."""

    sure = forms.CharField(max_length=3)


class FilesField(forms.Field):
    """Files of the repair, by id; none need be chosen. Whose they are the service looks at."""

    widget = forms.MultipleHiddenInput
    default_error_messages: ClassVar[dict[str, Any]] = {
        "unknown": "choose among the files of this repair.",
        "many": f"choose at most {MOST_FILES}.",
    }

    def to_python(self, value: Sequence[str] | None) -> list[UUID]:
        """Read the ids."""
        if len(value or ()) > MOST_FILES:
            raise forms.ValidationError(self.error_messages["many"])
        try:
            return [UUID(each) for each in value or ()]
        except ValueError as error:
            raise forms.ValidationError(self.error_messages["unknown"]) from error


class DecideForm(forms.Form):
    """What is done about a nonconformance."""

    nonconformance = forms.UUIDField()
    disposition = forms.ChoiceField(
        choices=[(word.value, word.value) for word in Disposition],
        error_messages={"required": "choose one."},
    )
    reason = forms.CharField(max_length=LONGEST_WORDS)
    root_cause = forms.CharField(max_length=LONGEST_WORDS, required=False)
    evidence = FilesField(required=False)
    accepted_name = forms.CharField(max_length=LONGEST_NAME, required=False)
    accepted_role = forms.CharField(max_length=LONGEST_ROLE, required=False)
    again = forms.BooleanField(required=False)

    def clean(self) -> dict[str, Any]:
        """Ask for both, name and role, where the client accepts something as it is; else none."""
        given = super().clean() or self.cleaned_data
        chosen = given.get("disposition")
        accepts = chosen == Disposition.ACCEPT_AS_IS
        for field in ("accepted_name", "accepted_role") if chosen else ():
            if field in self.errors or bool(given.get(field)) is accepts:
                continue
            wrong = SAY_WHO if accepts else NOBODY_ACCEPTS.format(chosen=chosen)
            self.add_error(field, wrong)
        return given


class SeenForm(forms.Form):
    """Something that is not as required, as somebody saw it."""

    words = forms.CharField(max_length=LONGEST_WORDS)


class WithdrawForm(forms.Form):
    """Which report was a slip, and why."""

    nonconformance = forms.UUIDField()
    reason = forms.CharField(max_length=LONGEST_WORDS)


class DoneForm(forms.Form):
    """Which nonconformance's decision is carried out."""

    nonconformance = forms.UUIDField()
    evidence = FilesField(required=False)


FORMS: Mapping[str, type[forms.Form]] = {
    "waive": WaiveForm,
    "judge": JudgeForm,
    "look": LookForm,
    "close": CloseForm,
}
"""The forms of whoever judges, by what they do."""

_NAMES = {
    "name": "who lets it go",
    "role": "in which role",
    "reason": "why",
    "words": "what you saw",
    "disposition": "what is done",
    "root_cause": "what it came from",
    "evidence": "files that show it",
    "accepted_name": "who accepts it",
    "accepted_role": "in which role",
    "accepted_by": "who accepts it",
    "sure": "that you are sure",
}


def wrong_with(form: forms.Form) -> tuple[str, ...]:
    """Return what is wrong with what was typed, a line a field."""
    return tuple(
        f"{_NAMES.get(name, name).capitalize()}: {' '.join(map(str, errors))}"
        for name, errors in form.errors.items()
    )


def reasons_of(refused: Refused, zone: str) -> tuple[str, ...]:
    """Return each reason of a refusal as a sentence on the site's clock; what is met is none.

    A field is called what the page calls it, and what was found there is left out: it stands in
    the form still, or it is an id that says nothing to anybody.
    """
    found = [
        f"{row['title']}: {row['reason']}" if "title" in row else f"To be decided: {row['reason']}"
        for row in refused.reasons
        if not row.get("closes")
    ]
    found += [f"{_called(fault.field)}: expected {fault.expected}" for fault in refused.faults]
    return tuple(sentence(words, zone) for words in found or [refused.detail])


def _called(field: str) -> str:
    name = field.partition("[")[0].partition(".")[0]
    return _NAMES.get(name, name)


def carry_out(
    act: str, repair: Repair, typed: Mapping[str, Any], *, by: Account, now: datetime
) -> None:
    """Do what a checked form asks for.

    Raises
    ------
    Refused
        By the service that does it.
    """
    services: Mapping[str, Callable[..., object]] = {
        "waive": waive,
        "judge": judge_by_hand,
        "look": look_through,
    }
    if act == "close":
        close(repair=repair, by=by, now=now)
    else:
        services[act](repair=repair, **typed, by=by, now=now)


def carry_out_decision(
    repair: Repair, typed: Mapping[str, Any], *, by: Account, now: datetime
) -> None:
    """Decide on a nonconformance of this repair."""
    given = dict(typed)
    row = _nonconformance(repair, given.pop("nonconformance"))
    _asked_once_more(row, repair, given["disposition"], sure=given.pop("again"))
    who = AcceptedBy(given.pop("accepted_name"), given.pop("accepted_role"))
    accepts = given["disposition"] == Disposition.ACCEPT_AS_IS
    decide(nonconformance=row, **given, accepted_by=who if accepts else None, by=by, now=now)


def _asked_once_more(row: Nonconformance, repair: Repair, disposition: str, *, sure: bool) -> None:
    """Demand the tick that sends a crew out again: an attempt that is opened stays."""
    number = opened_by_doing_again(row, repair).number if disposition in DONE_AGAIN else None
    if number is not None and not sure:
        raise Refused(
            "malformed",
            f"'{disposition.capitalize()}' opens attempt {number}, and the crew goes out again. "
            "That cannot be taken back: tick that you are sure of it",
            status=422,
        )


def _nonconformance(repair: Repair, pk: UUID) -> Nonconformance:
    row = Nonconformance.objects.filter(pk=pk, repair=repair).first()
    if row is None:
        raise Http404
    return row


def carry_out_done(repair: Repair, typed: Mapping[str, Any], *, by: Account, now: datetime) -> None:
    """Record that what was decided about a nonconformance of this repair is carried out."""
    row = _nonconformance(repair, typed["nonconformance"])
    say_done(nonconformance=row, evidence=typed["evidence"], by=by, now=now)


def carry_out_withdrawal(
    repair: Repair, typed: Mapping[str, Any], *, by: Account, now: datetime
) -> None:
    """Withdraw a report of this repair."""
    row = _nonconformance(repair, typed["nonconformance"])
    withdraw_seen(nonconformance=row, reason=typed["reason"], by=by, now=now)
