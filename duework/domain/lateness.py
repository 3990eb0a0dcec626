"""How late work was done, in the bounds that are counted."""

import math

BOUNDS_S = (0.5, 1.0, 2.0, 5.0, 10.0, 30.0, 60.0, 300.0, 3_600.0, math.inf)
"""Upper bounds: 5 s and 10 s are what is promised with and without a broker, 60 s is a lease."""


def bound_of(late_s: float) -> float:
    """Return the least bound (seconds) that is not below `late_s`.

    Raises
    ------
    ValueError
        When `late_s` is negative or not a number: nothing is done before it is due.
    """
    if not late_s >= 0:
        raise ValueError(f"late_s is {late_s}: nothing is done before it is due.")
    return next(bound for bound in BOUNDS_S if late_s <= bound)
