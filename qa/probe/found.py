"""What a reader found in a file."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Found:
    """Facts as JSON values, and what was made anew from the content.

    Parameters
    ----------
    facts : dict[str, object]
        Listed in the module that reads the kind of file.
    derived : bytes
        A small JPEG of a photo or film, the numbers of a series; empty where none was made.
    """

    facts: dict[str, object]
    derived: bytes = b""
