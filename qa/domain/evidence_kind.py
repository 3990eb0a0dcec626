"""What a file is said to show."""

from enum import StrEnum
from typing import Literal


class EvidenceKind(StrEnum):
    """The purposes a file may be uploaded for."""

    PRE_REPAIR_FILM = "pre_repair_film"
    POST_REPAIR_FILM = "post_repair_film"
    DISTANCE_MARK_PHOTO = "distance_mark_photo"
    HOLD_TEST_PHOTO = "hold_test_photo"
    LOT_LABEL_PHOTO = "lot_label_photo"
    WET_OUT_PHOTO = "wet_out_photo"
    GAUGE_PHOTO = "gauge_photo"
    CLOCK_PHOTO = "clock_photo"
    OTHER_PHOTO = "other_photo"
    PRESSURE_LOG = "pressure_log"


Media = Literal["film", "photo", "series"]

FILMS = frozenset({EvidenceKind.PRE_REPAIR_FILM, EvidenceKind.POST_REPAIR_FILM})
PHOTOS = frozenset(kind for kind in EvidenceKind if kind.value.endswith("_photo"))


def media_of(kind: EvidenceKind) -> Media:
    """Return what a file of this kind is: film, photo or series."""
    if kind in FILMS:
        return "film"
    return "photo" if kind in PHOTOS else "series"
