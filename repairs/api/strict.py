"""Serializers that refuse what they do not know, so a misspelt field is never lost silently."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from rest_framework import serializers
from rest_framework.request import Request

from repairs.domain.storable import FIRST_YEAR, LAST_YEAR, unstorable


class StrictSerializer(serializers.Serializer):
    """A serializer that names unknown fields, and what no record can hold, field by field."""

    answered_by_item: frozenset[str] = frozenset()
    """Fields whose items are each answered by themselves, so that one never costs the others."""

    def to_internal_value(self, data: Any) -> Any:
        """Read the data; an unknown field is an error of that field."""
        if isinstance(data, Mapping):
            unknown = sorted(set(map(str, data)) - set(self.fields))
            if unknown:
                known = ", ".join(self.fields)
                raise serializers.ValidationError(
                    dict.fromkeys(unknown, f"not a field here; expected only {known}.")
                )
            told = {name: self._told(name, value) for name, value in data.items()}
            if wrong := {name: what for name, what in told.items() if what}:
                raise serializers.ValidationError(wrong)
        return super().to_internal_value(data)

    def _told(self, name: str, value: Any) -> str | None:
        found = None if name in self.answered_by_item else unstorable(value)
        return found and f"expected what a record can hold, found {found}."


class InstantField(serializers.DateTimeField):
    """An instant; a time without its offset is refused, never guessed."""

    default_error_messages = {
        "instant": "expected a time of {first} to {last} with its offset, "
        "such as 2026-11-25T09:30:00-05:00.",
    }

    def enforce_timezone(self, value: datetime) -> datetime:
        """Return the instant; refuse one that nobody can place or reckon with."""
        if value.tzinfo is None or not FIRST_YEAR <= value.year <= LAST_YEAR:
            self.fail("instant", first=FIRST_YEAR, last=LAST_YEAR)
        return super().enforce_timezone(value)


def read(serializer: type[serializers.Serializer], request: Request) -> dict[str, Any]:
    """Return the validated body of a request, or raise the problem that names each field."""
    incoming = serializer(data=request.data)
    incoming.is_valid(raise_exception=True)
    return dict(incoming.validated_data)
