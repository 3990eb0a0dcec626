"""What a pipe out of its round shape takes from a liner: strength against buckling."""

import math

USUAL_OVALITY_PERCENT = 10.0
"""Beyond this the pipe is nearer to collapse than to an ellipse. Source: common practice."""


def ovality_factor(ovality_percent: float) -> float:
    """Return the reduction factor C, ``[(1 - q/100) / (1 + q/100)^2]^3``.

    Parameters
    ----------
    ovality_percent
        Ovality q, the difference between mean and smallest (or largest) inside diameter
        over the mean one, 0 to below 100.

    Returns
    -------
    float
        1 for a round pipe; falls with q.

    Raises
    ------
    ValueError
        When the ovality is not in its range.

    Source
    ------
    ASTM F1216 Appendix X1, as read in a textbook on trenchless pipes (C = 0.836 at 2 %).

    Limits
    ------
    For an ellipse; a flattened or broken pipe needs another method.
    """
    share = _share(ovality_percent)
    return float(((1.0 - share) / (1.0 + share) ** 2) ** 3)


def bending_ratio(strength_to_pressure: float, ovality_percent: float) -> float | None:
    """Return the largest diameter-to-wall ratio an oval pipe's bending allows (X1.2).

    Solves ``1.5 q (1 + q) R^2 - 0.5 (1 + q) R = strength / (P N)`` for R, q as a share.

    Parameters
    ----------
    strength_to_pressure
        Long-term flexural strength over pressure and safety factor, > 0.
    ovality_percent
        Ovality, 0 to below 100.

    Returns
    -------
    float or None
        The positive root; None for a round pipe, where nothing bends.

    Raises
    ------
    ValueError
        When a figure is not in its range.

    Source
    ------
    ASTM F1216 Appendix X1, equation X1.2, as read in the same textbook.

    Limits
    ------
    Those of `ovality_factor`.
    """
    share = _share(ovality_percent)
    if not strength_to_pressure > 0.0:
        found = repr(strength_to_pressure)
        raise ValueError(f"strength_to_pressure: found {found}, expected more than 0.")
    if share == 0.0:
        return None
    square, line = 1.5 * share * (1.0 + share), 0.5 * (1.0 + share)
    return (line + math.sqrt(line**2 + 4.0 * square * strength_to_pressure)) / (2.0 * square)


def _share(ovality_percent: float) -> float:
    if not 0.0 <= ovality_percent < 100.0:  # noqa: PLR2004 - per cent of the whole
        raise ValueError(f"ovality_percent: found {ovality_percent!r}, expected 0 to below 100.")
    return ovality_percent / 100.0
