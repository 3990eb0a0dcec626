"""Finds a stretch of a log that appears twice, and says how long one must be to be odd.

Compared are steps of the display, not samples: one step is a value and how long it was
shown. So a still display is one step, and never looks like a copy of itself.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

SPARE_BITS = 19.0
"""One false find in half a million logs, were the steps independent. Source: this project."""
_CYCLES = 2
"""A stretch that goes on like this for more than two of its own lengths is a cycle."""
_UNTOLD_BITS = 1.0
"""Blocks are counted until hardly any comes twice. Source: this project's simulations."""
_MIX_A, _MIX_B = np.uint64(0x9E3779B97F4A7C15), np.uint64(0xC2B2AE3D27D4EB4F)
_SHIFT = np.uint64(29)


@dataclass(frozen=True, slots=True)
class CopiedStretch:
    """Two places of one log with the same values, as sample numbers from 0.

    Parameters
    ----------
    first, second
        Where each begins.
    samples
        How many are the same.
    is_cycle
        The log repeats itself evenly there, as a regulator that switches does.
    """

    first: int
    second: int
    samples: int
    is_cycle: bool


def copied_stretch(values: NDArray[np.float64]) -> CopiedStretch | None:
    """Find the first stretch that appears twice and is too long for chance.

    A stretch of w steps is odd when ``w H2 >= 2 log2 n + 19``: n steps in all, H2 the
    collision entropy a step, the least of single steps, of their differences, and of
    steps in blocks.

    Parameters
    ----------
    values
        The samples in order of time, finite.

    Returns
    -------
    CopiedStretch or None
        None also where the log says too little (a still or an even display).

    Source
    ------
    Birthday bound on equal windows; this project. Windows are compared by hashes built
    by doubling, and equal ones looked at value by value.

    Limits
    ------
    A copy with one value changed is found only where a long enough part stayed whole.
    """
    if values.size == 0:
        return None
    starts = np.flatnonzero(np.concatenate([[True], values[1:] != values[:-1]]))
    lasts = np.diff(np.append(starts, values.size)).astype(np.float64)
    steps = _mixed(_bits(values[starts]), _bits(lasts))
    length = _odd_length(values[starts], lasts, steps)
    if length is None:
        return None
    pair = _equal_windows(_window_hashes(steps, length), length)
    if pair is None:
        return None
    first, second, count = _whole_extent(steps, *pair)
    begin, again = int(starts[first]), int(starts[second])
    samples = int(lasts[first : first + count].sum())
    is_cycle = count >= _CYCLES * (second - first)
    return CopiedStretch(begin, again, samples, is_cycle)


def collision_bits(codes: NDArray[np.uint64]) -> float:
    """Return the collision entropy, ``-log2`` of the chance that two steps are the same."""
    ordered = np.sort(codes)
    edges = np.flatnonzero(np.concatenate([[True], ordered[1:] != ordered[:-1], [True]]))
    shares = np.diff(edges) / codes.size
    return -math.log2(float(np.dot(shares, shares)))


def _odd_length(
    shown: NDArray[np.float64], lasts: NDArray[np.float64], steps: NDArray[np.uint64]
) -> int | None:
    """Return from how many steps on a repetition is odd, or None where none can be."""
    if steps.size < _CYCLES + 1:
        return None
    differences = _mixed(_bits(np.diff(shown)), _bits(lasts[1:]))
    bits = min(collision_bits(differences), _bits_a_step(steps))
    if bits <= 0.0:
        return None
    length = math.ceil((2.0 * math.log2(steps.size) + SPARE_BITS) / bits)
    return length if 2 * length <= steps.size else None


def _bits_a_step(steps: NDArray[np.uint64]) -> float:
    """Return the least collision entropy a step, alone or in blocks of 2, 4, 8 and so on.

    One step often gives away the next (after 4.7 comes 4.8; a regulator's rise is always
    the same), so a block holds less than as many single steps. Blocks so long that
    hardly any comes twice say nothing more and end the count.
    """
    hashes, width = steps, 1
    bits = collision_bits(steps)
    told_up_to = math.log2(steps.size) - _UNTOLD_BITS
    while hashes.size > width and bits * width < told_up_to:
        hashes = _mixed(hashes[:-width], hashes[width:])
        width *= 2
        bits = min(bits, collision_bits(hashes) / width)
    return bits


def _window_hashes(steps: NDArray[np.uint64], length: int) -> NDArray[np.uint64]:
    """Hash every window of `length` steps, out of two that overlap and are powers of two."""
    hashes, width = steps, 1
    while 2 * width <= length:
        hashes = _mixed(hashes[:-width], hashes[width:])
        width *= 2
    rest = length - width
    return _mixed(hashes[: hashes.size - rest], hashes[rest:]) if rest else hashes


def _equal_windows(hashes: NDArray[np.uint64], length: int) -> tuple[int, int] | None:
    """Return two equal windows that do not overlap, the earliest first."""
    ordered = np.sort(hashes)
    twice = ordered[1:][ordered[1:] == ordered[:-1]]
    if not twice.size:
        return None
    places = np.flatnonzero(np.isin(hashes, twice))
    order = np.argsort(hashes[places], kind="stable")
    sorted_places, sorted_hashes = places[order], hashes[places][order]
    begins = np.concatenate([[True], sorted_hashes[1:] != sorted_hashes[:-1]])
    firsts = sorted_places[begins][np.cumsum(begins) - 1]
    apart = np.flatnonzero(sorted_places - firsts >= length)
    if not apart.size:
        return None
    earliest = apart[np.lexsort((sorted_places[apart], firsts[apart]))[0]]
    return int(firsts[earliest]), int(sorted_places[earliest])


def _whole_extent(steps: NDArray[np.uint64], first: int, second: int) -> tuple[int, int, int]:
    """Grow two equal windows as far as the steps stay the same, both ways."""
    ahead = steps.size - second
    unlike = np.flatnonzero(steps[first : first + ahead] != steps[second:])
    forward = int(unlike[0]) if unlike.size else ahead
    before = steps[:first][::-1] != steps[second - first : second][::-1]
    differs = np.flatnonzero(before)
    back = int(differs[0]) if differs.size else first
    return first - back, second - back, forward + back


def _bits(values: NDArray[np.float64]) -> NDArray[np.uint64]:
    # Adding 0 makes one zero of the two that floats have.
    return np.frombuffer((values + 0.0).tobytes(), dtype=np.uint64)


def _mixed(left: NDArray[np.uint64], right: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """Mix two hashes into one, the order mattering; unsigned numbers wrap around."""
    apart: NDArray[np.uint64] = right ^ (right >> _SHIFT)
    mixed = np.multiply(left, _MIX_A, dtype=np.uint64) + np.multiply(apart, _MIX_B, dtype=np.uint64)
    return np.asarray(np.bitwise_xor(mixed, np.right_shift(mixed, _SHIFT)), dtype=np.uint64)
