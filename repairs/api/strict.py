"""Serializers that refuse what they do not know, so a misspelt field is never lost silently."""

from collections.abc import Mapping
from typing import Any

from rest_framework import serializers
from rest_framework.request import Request


class StrictSerializer(serializers.Serializer):
    """A serializer that names unknown fields instead of dropping them."""

    def to_internal_value(self, data: Any) -> Any:
        """Read the data; an unknown field is an error of that field."""
        if isinstance(data, Mapping):
            unknown = sorted(set(map(str, data)) - set(self.fields))
            if unknown:
                known = ", ".join(self.fields)
                raise serializers.ValidationError(
                    {name: f"not a field here; expected only {known}." for name in unknown}
                )
        return super().to_internal_value(data)


def read(serializer: type[serializers.Serializer], request: Request) -> dict[str, Any]:
    """Return the validated body of a request, or raise the problem that names each field."""
    incoming = serializer(data=request.data)
    incoming.is_valid(raise_exception=True)
    return dict(incoming.validated_data)
