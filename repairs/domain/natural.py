"""Names in the order in which people count: R-6 before R-10."""

import re

_NUMBERS = re.compile("([0-9]+)")


def natural(name: str) -> tuple[tuple[str | tuple[int, str], ...], str]:
    """Return the key by which a name sorts: its numbers as numbers, its letters in any case.

    >>> sorted(["R-10", "R-6", "r-7", "Q-20"], key=natural)
    ['Q-20', 'R-6', 'r-7', 'R-10']
    """
    # The odd pieces are the numbers: a longer one is larger once its zeros in front are off.
    parts: list[str | tuple[int, str]] = []
    for place, piece in enumerate(_NUMBERS.split(name)):
        bare = piece.lstrip("0")
        parts.append((len(bare), bare) if place % 2 else piece.casefold())
    return tuple(parts), name
