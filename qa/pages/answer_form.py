"""What a client types about a package: accepted, or returned with reasons."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms

from qa.domain.return_reason import CODES, TIMECODE, beyond_film
from qa.models import ClientAnswer
from qa.pages.verdict_lines import VerdictLine

OTHER = "other"
"""The kind that stands in a box nobody has touched."""

LONGEST_NOTE = 5000
LONGEST_REASON = 2000
_REASON, _CODE, _TIMECODE = "reason-", "code-", "timecode-"


def _limits(longest: int) -> Mapping[str, str]:
    """Return what is said of words that are too long or cannot be stored."""
    return {
        "max_length": f"It is too long: %(show_value)s characters, at most {longest}.",
        "null_characters_not_allowed": "It holds a character that cannot be stored.",
    }


@dataclass(frozen=True, slots=True)
class ReasonBox:
    """The box under one requirement, with what was typed and what is wrong with it."""

    name: str
    line: VerdictLine
    typed: str
    wrong: str
    code_name: str
    code: str
    code_wrong: str
    timecode_name: str
    timecode: str
    timecode_wrong: str
    codes: tuple[tuple[str, str], ...] = tuple(CODES.items())

    @property
    def used(self) -> bool:
        """Return whether anything was typed or chosen in it, or is wrong with it."""
        wrong = self.wrong or self.code_wrong or self.timecode_wrong
        return bool(self.typed or self.timecode or wrong or self.code != OTHER)


class AnswerForm(forms.Form):
    """The answer, a note, and one box for each requirement of the package."""

    answer = forms.ChoiceField(
        choices=[(word, word) for word in (ClientAnswer.ACCEPTED, ClientAnswer.RETURNED)]
    )
    note = forms.CharField(
        max_length=LONGEST_NOTE, required=False, error_messages=_limits(LONGEST_NOTE)
    )

    def __init__(
        self,
        lines: Iterable[VerdictLine],
        *args: Any,
        longest_film_s: float | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.lines, self.longest_film_s = tuple(lines), longest_film_s
        for line in self.lines:
            self.fields[f"{_REASON}{line.code}"] = forms.CharField(
                max_length=LONGEST_REASON,
                required=False,
                error_messages=_limits(LONGEST_REASON),
            )
            self.fields[f"{_CODE}{line.code}"] = forms.ChoiceField(
                choices=tuple(CODES.items()),
                required=False,
                error_messages={"invalid_choice": "Choose one of the kinds."},
            )
            self.fields[f"{_TIMECODE}{line.code}"] = forms.RegexField(
                TIMECODE,
                required=False,
                error_messages={"invalid": "Write the place in the film as 01:23 or 1:02:03."},
            )

    def clean(self) -> dict[str, Any]:
        """Ask for a reason where something is returned; the service asks the same again."""
        cleaned: dict[str, Any] = super().clean() or {}
        if self.returned:
            self._check_boxes()
        if self.returned and not self.errors and not self.reasons():
            raise forms.ValidationError(
                "Write at least one reason: open a requirement and say what is wrong with it."
            )
        return cleaned

    def _check_boxes(self) -> None:
        """Refuse a kind or a place without words, which would be lost, and a place in no film."""
        for line in self.lines:
            code = self.cleaned_data.get(f"{_CODE}{line.code}") or OTHER
            at = str(self.cleaned_data.get(f"{_TIMECODE}{line.code}") or "")
            name = f"{_REASON}{line.code}"
            if (code != OTHER or at) and name not in self.errors and not self._note(line.code):
                words = "Say in words what is wrong, or take back the kind and the place."
                self.add_error(name, words)
            if at and (expected := beyond_film(at, self.longest_film_s)):
                self.add_error(f"{_TIMECODE}{line.code}", f"{at} is not {expected}.")

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
        found["code"] = str(self.cleaned_data.get(f"{_CODE}{code}") or OTHER)
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
                wrong=self._wrong_with(f"{_REASON}{line.code}"),
                code_name=f"{_CODE}{line.code}",
                code=str(self.data.get(f"{_CODE}{line.code}", OTHER)),
                code_wrong=self._wrong_with(f"{_CODE}{line.code}"),
                timecode_name=f"{_TIMECODE}{line.code}",
                timecode=str(self.data.get(f"{_TIMECODE}{line.code}", "")),
                timecode_wrong=self._wrong_with(f"{_TIMECODE}{line.code}"),
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
        return whole or " ".join(self._named())

    def note_wrong(self) -> str:
        """Return what is wrong with the note."""
        return self._wrong_with("note")

    def _named(self) -> Iterator[str]:
        """Name each box that something is wrong with, and what."""
        if words := self.note_wrong():
            yield f"Note: {words}"
        for box in self.boxes():
            parts = (("", box.wrong), (", kind of reason", box.code_wrong),
                     (", place in the film", box.timecode_wrong))  # fmt: skip
            yield from (f"{box.line.title}{part}: {words}" for part, words in parts if words)

    def _wrong_with(self, name: str) -> str:
        return _words(self.errors.get(name, []))


def _words(errors: Iterable[Any]) -> str:
    return " ".join(str(error) for error in errors)
