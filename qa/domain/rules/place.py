"""Is the sleeve where the defect is."""

from itertools import pairwise

from qa.domain.repair_facts import Laid, RepairFacts
from qa.domain.verdict import Verdict, cannot_tell, incomplete, met, not_met
from repairs.domain.field_event import Event, EventKind
from repairs.domain.location import distances_agree
from repairs.domain.measuring import own_datum
from repairs.domain.units import Dimension, words

_ROUNDING_M = 1e-6
"""Distances come in centimetres; sums of them in binary are off by far less than this."""

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
    for told, one, other in pairs:
        agreement = distances_agree(
            counter_m=one,
            tape_m=other,
            run_length_m=facts.run_length_m,
            tolerance_fraction=facts.limits.distance_tolerance_fraction,
            tolerance_m=facts.limits.distance_tolerance_m,
        )
        if not agreement.agrees:
            return not_met(
                f"{told} differ by {_m(agreement.difference_m)}, "
                f"allowed are {_m(agreement.tolerance_m)}",
                "mark the distance again before wetting out",
                difference_m=agreement.difference_m,
                tolerance_m=agreement.tolerance_m,
            )
    return met(
        f"counter {_m(pairs[0][1])}, tape {_m(tape)}, ordered {_m(facts.distance_m)}",
        counter_m=pairs[0][1],
        tape_m=tape,
        ordered_m=facts.distance_m,
    )


def sleeve_covers_defect(facts: RepairFacts) -> Verdict:
    """The sleeves reach far enough past both ends of the defect, and overlap each other."""
    if facts.prescribed is None:
        return incomplete("there is no prescription", "calculate one")
    placed = [each.progress.event(EventKind.PLACED) for each in facts.sleeves or (facts,)]
    for number, event in enumerate(placed, start=1):
        if event is None:
            which = f" of sleeve {number}" if len(placed) > 1 else ""
            return incomplete(
                f"no placing{which} has been reported", "report the packer's distance"
            )
        if from_datum(facts, event, "distance_m") is None:
            return not_met(f"placed from {event.data['datum']}, no end of this run", _OTHER_END)
    spans = installed_spans_m(facts)
    if (hole := _hole(spans, facts.prescribed.overlap_m)) is not None:
        return hole
    margin = coverage_margin_m(facts, spans)
    allowance = facts.limits.location_allowance_m
    seen = all(event is not None and event.data.get("ends_seen") is True for event in placed)
    numbers = {
        "margin_m": round(margin, 3),
        "allowance_m": allowance,
        "from_m": round(spans[0][0], 3),
        "to_m": round(spans[-1][1], 3),
    }
    if margin < 0:
        return not_met(
            f"the sleeve ends {_m(-margin)} short of the required coverage of "
            f"{_m(facts.limits.end_coverage_m)} past the defect",
            "repair again or ask the client",
            **numbers,
        )
    if margin >= allowance or seen:
        by_camera = ", both ends seen by camera" if seen else ""
        return met(f"coverage with {_m(margin)} to spare{by_camera}", **numbers)
    return cannot_tell(
        f"only {_m(margin)} to spare, less than the location may be wrong, {_m(allowance)}",
        "show both sleeve ends beside the defect by camera",
        **numbers,
    )


def installed_spans_m(facts: RepairFacts | Laid) -> list[tuple[float, float]]:
    """Return where each placed sleeve begins and ends, from the datum, in order of place."""
    if facts.prescribed is None:
        return []
    half = facts.prescribed.sleeve_length_m / 2
    spans = []
    for each in facts.sleeves or (facts,):
        event = each.progress.event(EventKind.PLACED)
        centre = None if event is None else from_datum(facts, event, "distance_m")
        if centre is not None:
            spans.append((centre - half, centre + half))
    return sorted(spans)


def prescribed_length_m(facts: RepairFacts | Laid) -> float:
    """Return how much of the pipe the prescribed sleeves cover, their overlaps once."""
    plan = facts.prescribed
    if plan is None:
        return 0.0
    return plan.sleeve_count * plan.sleeve_length_m - (plan.sleeve_count - 1) * plan.overlap_m


def coverage_margin_m(facts: RepairFacts, spans: list[tuple[float, float]]) -> float:
    """Return how far the covered length exceeds the required one at its worse end, in metres."""
    half, coverage = facts.defect_extent_m / 2, facts.limits.end_coverage_m
    need = (facts.distance_m - half - coverage, facts.distance_m + half + coverage)
    return min(need[0] - spans[0][0], spans[-1][1] - need[1])


def _hole(spans: list[tuple[float, float]], overlap_m: float) -> Verdict | None:
    for (_, end), (start, _) in pairwise(spans):
        if end - start < overlap_m - _ROUNDING_M:
            return not_met(
                f"two sleeves overlap by {_m(end - start)}, required are {_m(overlap_m)}",
                "repair again or ask the client",
                overlap_m=round(end - start, 3),
            )
    return None


def _m(length_m: float) -> str:
    return words(length_m, Dimension.LENGTH, 2)


def from_datum(facts: RepairFacts | Laid, event: Event, name: str) -> float | None:
    """Return a reported distance as measured from the order's datum; None from elsewhere."""
    own = own_datum(event.data, facts.datum_ref, facts.other_end_ref)
    if own is None:
        return None
    value = float(event.data[name])
    return value if own else facts.run_length_m - value
