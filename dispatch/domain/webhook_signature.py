"""Signs a webhook by the Standard Webhooks scheme, so that a receiver can tell who sent it."""

import base64
import hashlib
import hmac

PREFIX = "whsec_"
SECRET_BYTES = 32
"""The scheme asks for 24 to 64 bytes."""


def secret_from(random_bytes: bytes) -> str:
    """Return a secret as it is handed to the receiver."""
    return PREFIX + base64.b64encode(random_bytes).decode()


def signature(secret: str, *, message_id: str, at_s: int, body: bytes) -> str:
    """Return the header ``webhook-signature``.

    Parameters
    ----------
    at_s : int
        When it is sent, whole seconds of Unix time: the header ``webhook-timestamp``.

    Source
    ------
    Standard Webhooks: HMAC-SHA256 over ``id.timestamp.body``, base64, after ``v1,``.
    """
    key = base64.b64decode(secret.removeprefix(PREFIX))
    signed = f"{message_id}.{at_s}.".encode() + body
    return "v1," + base64.b64encode(hmac.new(key, signed, hashlib.sha256).digest()).decode()
