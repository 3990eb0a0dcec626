"""Is the sleeve where the defect is."""

from qa.domain.repair_facts import RepairFacts
from qa.domain.verdict import Verdict, cannot_tell, incomplete, met, not_met
from repairs.domain.field_event import Event, EventKind
from repairs.domain.location import distances_agree

_OTHER_END = "measure again from the datum of the order, or correct the datum"


def distances_agree_rule(facts: RepairFacts) -> Verdict:
    """Counter and tape agree, and both agree with the order's distance."""
    marked = facts.progress.event(EventKind.DISTANCE_MARKED)
    if marked is None:
        return incomplete("no distance mark has been reported", "report counter and tape distance")
    own = from_datum(facts, marked, "counter_m")
    if own is None:
        return not_met(
            f"measured from {marked.data['datum']}, which is no end of this run: "
            f"{facts.datum_ref} or {facts.other_end_ref}",
            _OTHER_END,
        )
    tape = float(marked.data["tape_m"])
    pairs = (
        ("counter and tape", float(marked.data["counter_m"]), tape),
        ("the mark and the order", own, facts.distance_m),
    )
    for words, one, other in pairs:
        agreement = distances_agree(
            counter_m=one,
            tape_m=other,
            run_length_m=facts.run_length_m,
            tolerance_fraction=facts.limits.distance_tolerance_fraction,
            tolerance_m=facts.limits.distance_tolerance_m,
        )
        if not agreement.agrees:
            return not_met(
                f"{words} differ by {agreement.difference_m:.2f} m, "
                f"allowed are {agreement.tolerance_m:.2f} m",
                "mark the distance again before wetting out",
                difference_m=agreement.difference_m,
                tolerance_m=agreement.tolerance_m,
            )
    return met(
        f"counter {pairs[0][1]:.2f} m, tape {tape:.2f} m, ordered {facts.distance_m:.2f} m",
        counter_m=pairs[0][1],
        tape_m=tape,
        ordered_m=facts.distance_m,
    )


def sleeve_covers_defect(facts: RepairFacts) -> Verdict:
    """The sleeve reaches far enough past both ends of the defect."""
    placed = facts.progress.event(EventKind.PLACED)
    if placed is None or facts.prescribed is None:
        return incomplete("no placing has been reported", "report the distance of the packer")
    centre = from_datum(facts, placed, "distance_m")
    if centre is None:
        return not_met(f"placed from {placed.data['datum']}, no end of this run", _OTHER_END)
    margin = coverage_margin_m(facts, centre)
    allowance = facts.limits.location_allowance_m
    numbers = {"margin_m": round(margin, 3), "allowance_m": allowance, "centre_m": centre}
    if margin < 0:
        return not_met(
            f"the sleeve ends {-margin:.2f} m short of the required coverage of "
            f"{facts.limits.end_coverage_m:.2f} m past the defect",
            "repair again or ask the client",
            **numbers,
        )
    if margin >= allowance or placed.data.get("ends_seen") is True:
        seen = ", both ends seen by camera" if placed.data.get("ends_seen") else ""
        return met(f"coverage with {margin:.2f} m to spare{seen}", **numbers)
    return cannot_tell(
        f"only {margin:.2f} m to spare, less than the location may be wrong ({allowance:.2f} m)",
        "show both sleeve ends beside the defect by camera",
        **numbers,
    )


def coverage_margin_m(facts: RepairFacts, centre_m: float) -> float:
    """Return how far the covered length exceeds the required one at its worse end, in metres."""
    if facts.prescribed is None:
        return float("-inf")
    count, overlap = facts.prescribed.sleeve_count, facts.prescribed.overlap_m
    half = (count * facts.prescribed.sleeve_length_m - (count - 1) * overlap) / 2
    off = abs(centre_m - facts.distance_m)
    return half - off - facts.defect_extent_m / 2 - facts.limits.end_coverage_m


def from_datum(facts: RepairFacts, event: Event, name: str) -> float | None:
    """Return a reported distance as measured from the order's datum; None from elsewhere."""
    value = float(event.data[name])
    if event.data["datum"] == facts.datum_ref:
        return value
    if event.data["datum"] == facts.other_end_ref:
        return facts.run_length_m - value
    return None
