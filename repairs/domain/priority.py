"""How much it matters that a repair is done soon."""

from enum import StrEnum


class Priority(StrEnum):
    """A before B before C; the client's word, or the dispatcher's."""

    A = "A"
    B = "B"
    C = "C"
