"""Slows down whoever tries passwords."""

import hashlib

from django.core.cache import cache

MOST_TRIES = 10
"""Tries a minute of one name from one address. Common practice, no source."""

WITHIN_S = 60


def too_many_tries(*, name: str, address: str) -> bool:
    """Count one try and tell whether it is one too many.

    The name and the address count together: a stranger who tries somebody's
    name elsewhere must not lock that person out. Each server process keeps its
    own count, so that the true limit is this one times their number.
    """
    who = hashlib.sha256(f"{name.casefold()}\n{address}".encode()).hexdigest()
    key = f"sign-in-page:{who}"
    if cache.add(key, 1, WITHIN_S):
        return False
    try:
        return cache.incr(key) > MOST_TRIES
    except ValueError:  # the minute ended between the two calls
        cache.set(key, 1, WITHIN_S)
        return False
