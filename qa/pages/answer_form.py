"""What a client types about a package: accepted, or returned with reasons."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django import forms

from qa.domain.return_reason import CODES, TIMECODE
from qa.models import ClientAnswer
from qa.pages.verdict_lines import VerdictLine

LONGEST_NOTE = 5000
LONGEST_REASON = 2000
_REASON, _CODE, _TIMECODE = "reason-", "code-", "timecode-"


@dataclass(frozen=True, slots=True)
class ReasonBox:
    """The box under one requirement, with what was typed and what is wrong with it."""

    name: str
    line: VerdictLine
    typed: str
    wrong: str
    code_name: str
    code: str
    timecode_name: str
    timecode: str
    codes: tuple[tuple[str, str], ...] = tuple(CODES.items())


class AnswerForm(forms.Form):
    """The answer, a note, and one box for each requirement of the package."""

    answer = forms.ChoiceField(
        choices=[(word, word) for word in (ClientAnswer.ACCEPTED, ClientAnswer.RETURNED)]
    )
    note = forms.CharField(max_length=LONGEST_NOTE, required=False)

    def __init__(self, lines: Iterable[VerdictLine], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lines = tuple(lines)
        for line in self.lines:
            self.fields[f"{_REASON}{line.code}"] = forms.CharField(
                max_length=LONGEST_REASON, required=False
            )
            self.fields[f"{_CODE}{line.code}"] = forms.ChoiceField(
                choices=tuple(CODES.items()), required=False
            )
            self.fields[f"{_TIMECODE}{line.code}"] = forms.RegexField(
                TIMECODE,
                required=False,
                error_messages={"invalid": "Write the place in the film as 01:23 or 1:02:03."},
            )

    def clean(self) -> dict[str, Any]:
        """Ask for a reason where something is returned; the service asks the same again."""
        cleaned: dict[str, Any] = super().clean() or {}
        if self.returned and not self.errors and not self.reasons():
            raise forms.ValidationError(
                "Write at least one reason: open a requirement and say what is wrong with it."
            )
        return cleaned

    @property
    def returned(self) -> bool:
        """Return whether the package is to be returned."""
        return bool(self.data.get("answer") == ClientAnswer.RETURNED)

    @property
    def typed_note(self) -> str:
        """Return the note as it was typed, however wrong."""
        return str(self.data.get("note", ""))

    def reasons(self) -> list[dict[str, str]]:
        """Return the requirements something was written about, as the service takes them."""
        if not self.returned:
            return []
        return [self._reason(line.code) for line in self.lines if self._note(line.code)]

    def _note(self, code: str) -> str:
        return str(self.cleaned_data.get(f"{_REASON}{code}") or "")

    def _reason(self, code: str) -> dict[str, str]:
        """Return one reason as the service takes it."""
        found = {"requirement": code, "note": self._note(code)}
        found["code"] = str(self.cleaned_data.get(f"{_CODE}{code}") or "other")
        if at := self.cleaned_data.get(f"{_TIMECODE}{code}"):
            found["timecode"] = str(at)
        return found

    def boxes(self) -> list[ReasonBox]:
        """Return the boxes for the page, with everything that was typed."""
        return [
            ReasonBox(
                name=f"{_REASON}{line.code}",
                line=line,
                typed=str(self.data.get(f"{_REASON}{line.code}", "")),
                wrong=_words(
                    error
                    for field in (_REASON, _CODE, _TIMECODE)
                    for error in self.errors.get(f"{field}{line.code}", [])
                ),
                code_name=f"{_CODE}{line.code}",
                code=str(self.data.get(f"{_CODE}{line.code}", "other")),
                timecode_name=f"{_TIMECODE}{line.code}",
                timecode=str(self.data.get(f"{_TIMECODE}{line.code}", "")),
            )
            for line in self.lines
        ]

    def wrong(self) -> str:
        """Return what is wrong with the whole, in one sentence."""
        if not self.is_bound or self.is_valid():
            return ""
        whole = _words(self.non_field_errors())
        if "answer" in self.errors:
            whole = "Choose one of the two answers."
        return whole or "Something below is too long or cannot be stored; it is still there."


def _words(errors: Iterable[Any]) -> str:
    return " ".join(str(error) for error in errors)
