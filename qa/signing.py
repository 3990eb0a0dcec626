"""The contractor's signature: Ed25519 (RFC 8032) by a key that lies outside the database.

The secret key is a PEM file (PKCS 8). Without one named by setting, one is made below the var
folder when it is first wanted: good for one machine; several share one by CUREWRIGHT_SIGNING_KEY.
"""

import hashlib
import os
from functools import cache
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
)
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

KEY_ID_DIGITS = 16


def public_hex() -> str:
    """Return the public key, 64 hexadecimal digits."""
    public = _secret(settings.SIGNING_KEY).public_key()
    return public.public_bytes(Encoding.Raw, PublicFormat.Raw).hex()


def key_id(public: str) -> str:
    """Return the short name of a public key: the first digits of its SHA-256."""
    return hashlib.sha256(bytes.fromhex(public)).hexdigest()[:KEY_ID_DIGITS]


def sign(message: bytes) -> str:
    """Return the signature of a message, 128 hexadecimal digits; the same each time."""
    return _secret(settings.SIGNING_KEY).sign(message).hex()


def is_signed(message: bytes, signature: str, public: str) -> bool:
    """Return whether a signature is that of a message by a public key."""
    try:
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(public))
        key.verify(bytes.fromhex(signature), message)
    except (InvalidSignature, ValueError):
        return False
    return True


@cache
def _secret(path: Path) -> Ed25519PrivateKey:
    if not path.exists():
        _make(path)
    try:
        found = load_pem_private_key(path.read_bytes(), password=None)
    except (OSError, ValueError, TypeError) as error:
        raise ImproperlyConfigured(
            f"CUREWRIGHT_SIGNING_KEY: {path.name} holds no PEM key without a password: {error}"
        ) from error
    if not isinstance(found, Ed25519PrivateKey):
        raise ImproperlyConfigured(
            f"CUREWRIGHT_SIGNING_KEY: {path.name} holds a {type(found).__name__}, "
            "an Ed25519 key is wanted."
        )
    return found


def _make(path: Path) -> None:
    """Make a key, whole or not at all; of two who make one at once, one wins."""
    secret = Ed25519PrivateKey.generate()
    text = secret.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    number = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(number, "wb") as out:
        out.write(text)
        out.flush()
        os.fsync(number)
    try:
        os.link(part, path)
    except FileExistsError:
        pass  # somebody else's is there: it is the one
    finally:
        part.unlink()
