"""A part of a file that is asked for, so that a download that broke off goes on (RFC 9110, 14)."""

import re
from dataclasses import dataclass

_RANGE = re.compile(r"bytes=(\d{0,18})-(\d{0,18})")


class NotInFileError(ValueError):
    """What is asked for begins behind the end of the file."""


@dataclass(frozen=True, slots=True)
class Part:
    """Bytes of a file, the first and the last of them, from 0."""

    first: int
    last: int

    @property
    def length(self) -> int:
        """Return how many bytes they are."""
        return self.last - self.first + 1


def part_asked(header: str, size: int) -> Part | None:
    """Return the part of a file of `size` bytes that a Range header asks for.

    Returns
    -------
    Part or None
        None where the whole is answered: no header, several parts at once, another unit, or what
        cannot be understood (RFC 9110, section 14.2, lets a server pass over each of them).

    Raises
    ------
    NotInFileError
        If it begins behind the end.
    """
    found = _RANGE.fullmatch(header.strip().lower())
    if found is None or not any(found.groups()):
        return None
    begin, end = found.groups()
    if not begin:  # the last so many bytes
        if not int(end) or not size:
            raise NotInFileError(f"the file has {size} bytes")
        return Part(max(0, size - int(end)), size - 1)
    if end and int(end) < int(begin):
        return None
    if int(begin) >= size:
        raise NotInFileError(f"the file has {size} bytes")
    return Part(int(begin), min(int(end), size - 1) if end else size - 1)
