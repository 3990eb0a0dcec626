"""What is stored of a device token: its digest, never the token."""

import hashlib


def digest_of(token: str) -> str:
    """Return the SHA-256 of a token as 64 hexadecimal digits.

    A token is 256 random bits, so a plain digest is as safe as a slow one.
    """
    return hashlib.sha256(token.encode()).hexdigest()
