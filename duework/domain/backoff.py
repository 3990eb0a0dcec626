"""How long a failed piece of work waits before the next attempt."""

LONGEST_S = 600.0
"""Cap of the wait: a mended cause is noticed within ten minutes. Common practice, no source."""

JITTER_SHARE = 0.1
"""Up to a tenth is added, so that items which failed together do not return together."""


def wait_s(attempts: int, random_share: float) -> float:
    """Return the wait in seconds after the `attempts`-th attempt failed.

    Parameters
    ----------
    attempts : int
        Attempts made so far (>= 1).
    random_share : float
        A random number in [0, 1), passed in so that the rule stays pure.

    Returns
    -------
    float
        min(2 ** attempts, 600) seconds, plus up to a tenth of it.

    Raises
    ------
    ValueError
        When `attempts` is below 1 or `random_share` outside [0, 1).

    Source
    ------
    Common practice (exponential back-off with jitter), no source.
    """
    if attempts < 1:
        raise ValueError("attempts < 1: nothing failed yet.")
    if not 0 <= random_share < 1:
        raise ValueError("random_share must be in [0, 1).")
    # 2 ** 10 is past the cap already; the exponent is cut to keep it a small number.
    wait = min(2.0 ** min(attempts, 10), LONGEST_S)
    return wait * (1 + JITTER_SHARE * random_share)
