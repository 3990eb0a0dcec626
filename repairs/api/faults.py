"""Turns what a serializer has against a body into faults: field, what was sent, what is right.

Fields are written as JSON reaches them, lists counted from 0: ``rows[2].temperature``.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail

from repairs.domain.problem import Fault, shown

_ABSENT = object()
_WHOLE = "non_field_errors"
_SECRET = "a value that is not shown"  # noqa: S105 - it stands for one
_OURS = "expected "
"""Our own messages say after this word what would be right."""
_PLAIN = {
    "required": "a value",
    "null": "a value",
    "blank": "text that is not empty",
    "empty": "at least one",
    "not_a_list": "a list",
    "not_a_dict": "an object",
    "no_name": "a file with a name",
}
"""What would be right, by the framework's code for what is wrong."""

_OF_FIELD: Sequence[tuple[type[serializers.Field], str]] = (
    (serializers.BooleanField, "true or false"),
    (serializers.IntegerField, "a whole number"),
    (serializers.FloatField, "a number"),
    (serializers.UUIDField, "a UUID such as 018f2d6e-7c1a-7b60-9a53-2f1a4f6f9f10"),
    (serializers.DateTimeField, "a time with its offset, such as 2026-11-25T09:30:00-05:00"),
    (serializers.DateField, "a date such as 2026-11-25"),
    (serializers.TimeField, "a time such as 07:00"),
    (serializers.EmailField, "an e-mail address"),
    (serializers.FileField, "a file"),
    (serializers.BaseSerializer, "an object"),
)


def faults_in(
    errors: Any, field: serializers.Field | None = None, sent: Any = None, path: str = ""
) -> Iterator[Fault]:
    """Walk through a serializer's errors beside its fields and the body that was sent."""
    if isinstance(errors, Mapping):
        for name, inner in errors.items():
            yield from faults_in(inner, *_step(name, field, sent, path))
    elif all(isinstance(each, ErrorDetail) for each in errors):
        for error in errors:
            yield Fault(path or "body", _found(field, sent), _expected(error, field))
    else:
        for number, inner in enumerate(errors):
            yield from faults_in(inner, *_step(number, field, sent, path))


def _step(
    key: str | int, field: Any, sent: Any, path: str
) -> tuple[serializers.Field | None, Any, str]:
    """Go one step into field, body and path."""
    if key == _WHOLE:
        return field, sent, path
    if isinstance(key, int):
        inner = sent[key] if isinstance(sent, Sequence) and key < len(sent) else _ABSENT
        return getattr(field, "child", None), inner, f"{path}[{key}]"
    value = sent.get(key, _ABSENT) if isinstance(sent, Mapping) else _ABSENT
    child = getattr(field, "fields", {}).get(key, getattr(field, "child", None))
    return child, value, f"{path}.{key}".lstrip(".")


def _found(field: serializers.Field | None, sent: Any) -> str:
    if sent is _ABSENT or sent is None:
        return "nothing"
    if getattr(field, "write_only", False):
        return _SECRET
    if isinstance(sent, UploadedFile):
        return f"the file {shown(sent.name)}"
    return shown(sent)


def _expected(error: ErrorDetail, field: Any) -> str:
    code, words = str(error.code), str(error)
    if isinstance(field, serializers.FileField) and code == "empty":
        return "a file that is not empty"
    if code in _PLAIN:
        return _PLAIN[code]
    if isinstance(field, serializers.RelatedField):
        return f"the {getattr(field, 'slug_field', 'id')} of something that is there"
    if code == "invalid" and not words.startswith(_OURS):
        return _of_type(field)
    return _bounds(code, field) or words.rpartition(_OURS)[2].rstrip(".")


def _bounds(code: str, field: Any) -> str | None:
    match code:
        case "invalid_choice":
            return "one of " + ", ".join(str(choice) for choice in field.choices)
        case "min_value" | "max_value":
            return _between(field.min_value, field.max_value)
        case "max_length" | "min_length":
            unit = "items" if isinstance(field, serializers.ListField) else "characters"
            return f"{_between(getattr(field, 'min_length', None), field.max_length)} {unit}"
        case _:
            return None


def _between(low: Any, high: Any) -> str:
    if low is None:
        return f"at most {high}"
    return f"at least {low}" if high is None else f"{low} to {high}"


def _of_type(field: Any) -> str:
    if isinstance(field, serializers.RegexField):
        patterns = [v.regex.pattern for v in field.validators if hasattr(v, "regex")]
        return f"text of the pattern {patterns[0]}"
    return next((words for kind, words in _OF_FIELD if isinstance(field, kind)), "text")
