"""What a repair waits for while no crew has it, as the office reads it under "Next step"."""

from dataclasses import dataclass

from dispatch.selectors import refusal_of
from repairs.domain.progress import NOT_BEGUN, Stage
from repairs.models import Repair
from repairs.selectors import newest_prescription, standing_steps_of


@dataclass(frozen=True, slots=True)
class WaitsFor:
    """What is missing in large type, and what to do about it."""

    words: str
    how: str


def waits_for(repair: Repair) -> WaitsFor | None:
    """Return what the attempt under way waits for; None once somebody was in the street."""
    if Stage(repair.stage) not in NOT_BEGUN:
        return None
    prescription = newest_prescription(repair)
    refusal = refusal_of(repair, prescription)
    since = standing_steps_of(repair, attempt=repair.attempt).since
    stands = ""
    if since < repair.attempt:
        stands = f"What was done in attempt {since} still stands. If a crew is to go again: "
    if prescription is None:
        how = "calculate one for this attempt; until then no crew can be given the repair."
        return WaitsFor("No prescription yet", _sentence(stands, how))
    if refusal is not None and refusal.code == "no_prescription":
        how = (
            f"the order was corrected after prescription {prescription.number}; no crew can be "
            "given the repair with that one."
        )
        return WaitsFor("Calculate the prescription again", _sentence(stands, how))
    if refusal is not None:
        return WaitsFor("It may not be repaired as it stands", refusal.detail)
    return WaitsFor("No crew has it", _sentence(stands, "give it to a crew, or plan it."))


def _sentence(before: str, words: str) -> str:
    return before + (words if before else words[0].upper() + words[1:])
