"""The public keys that sign packages and the history, to be compared by whoever checks one."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.permissions import AllowAny

from qa.models import SigningKey
from repairs.api.doors import Doors
from repairs.api.questions import KnownQuestions
from repairs.domain.roles import Role


class SigningKeyBody(serializers.Serializer[SigningKey]):
    """A public key: its id is the first 16 digits of its SHA-256."""

    key_id = serializers.CharField()
    public_key = serializers.CharField(source="public_hex", help_text="Ed25519, 32 bytes in hex")
    first_used_at = serializers.DateTimeField()


@extend_schema(description="Compare a package's key_id with these, or with the paper contract.")
class SigningKeyListView(KnownQuestions, ListAPIView):
    """All keys that ever signed something; old ones stay, so that old packages can be checked.

    Public keys are public: whoever holds a package may ask, signed in or not.
    """

    doors: Doors = {"GET": frozenset(Role)}
    permission_classes = [AllowAny]
    pagination_class = None
    queryset = SigningKey.objects.order_by("-first_used_at")
    serializer_class = SigningKeyBody
