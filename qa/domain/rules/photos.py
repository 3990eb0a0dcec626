"""Photos that somebody must be able to look at."""

from qa.domain.evidence_kind import EvidenceKind
from qa.domain.repair_facts import RepairFacts
from qa.domain.verdict import WAIT, Verdict, incomplete, met, not_met


def distance_mark_photo(facts: RepairFacts) -> Verdict:
    """A photo shows the mark at the access edge."""
    return _photo(facts, EvidenceKind.DISTANCE_MARK_PHOTO, "the distance mark")


def lot_label_photo(facts: RepairFacts) -> Verdict:
    """A photo shows the labels of the kit and both resin parts."""
    return _photo(facts, EvidenceKind.LOT_LABEL_PHOTO, "the lot labels")


def wet_out_photo(facts: RepairFacts) -> Verdict:
    """A photo shows the saturated sleeve."""
    return _photo(facts, EvidenceKind.WET_OUT_PHOTO, "the wet-out sleeve")


def _photo(facts: RepairFacts, kind: EvidenceKind, shown: str) -> Verdict:
    photos = facts.files(kind)
    if not photos:
        return incomplete(f"no photo of {shown} has been handed in", "upload the photo")
    unread = [photo for photo in photos if not photo.probed]
    good = [photo for photo in photos if photo.probed and not photo.problem]
    own = [photo for photo in good if not photo.also_used_for]
    if own:
        return met(f"{len(own)} photo(s) of {shown}", evidence=tuple(p.id for p in own))
    if good:
        return not_met(
            f"the photo of {shown} was also handed in for {', '.join(good[-1].also_used_for)}",
            "hand in the photo of this repair",
            evidence=(good[-1].id,),
        )
    if unread:
        return incomplete(f"the photo of {shown} has not been read yet", WAIT)
    return incomplete(
        f"the photo of {shown} cannot be read: {photos[-1].problem}",
        "upload the photo again",
        evidence=(photos[-1].id,),
    )
