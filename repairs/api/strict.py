"""Serializers that refuse what they do not know, so a misspelt field is never lost silently."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, cast

from rest_framework import serializers
from rest_framework.request import Request

from repairs.api.faults import faults_in
from repairs.domain.problem import malformed
from repairs.domain.storable import FIRST_YEAR, LAST_YEAR, unstorable


class StrictSerializer(serializers.Serializer):
    """A serializer that names unknown fields, and what no record can hold, field by field."""

    answered_by_item: frozenset[str] = frozenset()
    """Fields whose items are each answered by themselves, so that one never costs the others."""

    def to_internal_value(self, data: Any) -> Any:
        """Read the data; an unknown field is an error of that field."""
        if not isinstance(data, Mapping):
            return super().to_internal_value(data)
        wrong = self._unknown(data)
        if told := {
            name: [what] for name, value in data.items() if (what := self._told(name, value))
        }:
            # What no record can hold is not looked up in one either.
            raise serializers.ValidationError({**wrong, **told})
        try:
            found = super().to_internal_value(data)
        except serializers.ValidationError as error:
            both = {**wrong, **cast("dict[str, Any]", error.detail)}
            raise serializers.ValidationError(both) from error
        if wrong:
            raise serializers.ValidationError(wrong)
        return found

    def _unknown(self, data: Mapping[str, Any]) -> dict[str, Any]:
        unknown = sorted(set(map(str, data)) - set(self.fields))
        return {
            name: [f"expected no field of this name, only {', '.join(self.fields)}."]
            for name in unknown
        }

    def _told(self, name: str, value: Any) -> str | None:
        found = None if name in self.answered_by_item else unstorable(value)
        return found and f"expected what a record can hold, not {found}."


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
    return understood(serializer(data=request.data))


def understood(incoming: serializers.Serializer) -> dict[str, Any]:
    """Return what a serializer understood, or raise the problem that names each field."""
    if not incoming.is_valid():
        raise malformed(*faults_in(incoming.errors, incoming, incoming.initial_data))
    return dict(incoming.validated_data)
