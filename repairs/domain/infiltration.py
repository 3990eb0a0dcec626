"""How much groundwater the inspection saw come in at the defect."""

from enum import StrEnum


class Infiltration(StrEnum):
    """Growing amounts; running water washes resin out and is stopped before a repair."""

    NONE = "none"
    DAMP = "damp"
    DRIPPING = "dripping"
    RUNNING = "running"
