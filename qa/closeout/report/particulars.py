"""Where, what, how and who: the label-and-value rows of page one."""

from datetime import date

from qa.closeout.report.words import (
    celsius,
    kilograms,
    listed,
    metres,
    millimetres,
    pressure_span,
    span,
)
from qa.domain.closeout import CloseoutFacts


def where(facts: CloseoutFacts) -> list[tuple[str, str]]:
    """Say where the repair is."""
    run, repair = facts.run, facts.repair
    return [
        ("Client", f"{repair.customer_name} ({repair.customer_code})"),
        ("Work order", repair.work_order),
        ("Site", f"{facts.site.ref}, {facts.site.street}"),
        ("Run", f"{run.ref}: {run.upstream.ref} to {run.downstream.ref}"),
        ("Pipe", f"{millimetres(run.diameter_mm)} {run.material}"),
        ("Length", metres(run.length_m, 1)),
        ("Depth", "" if run.depth_m is None else metres(run.depth_m, 1)),
        ("Groundwater", "" if run.groundwater_above_invert_m is None
         else f"{metres(run.groundwater_above_invert_m, 1)} above the invert"),
    ]  # fmt: skip


def defect(facts: CloseoutFacts) -> list[tuple[str, str]]:
    """Say what was wrong with the pipe."""
    repair = facts.repair
    hours = dict.fromkeys(hour for hour in (repair.clock_from, repair.clock_to) if hour)
    clocks = [f"{hour} o'clock" for hour in hours]
    return [
        ("Code", f"{repair.defect_code}: {repair.defect_words}"),
        ("Centre at", f"{metres(repair.defect_distance_m)} from {repair.datum_ref}"),
        ("Extent", metres(repair.defect_extent_m)),
        ("Position", " to ".join(clocks)),
        ("Note", repair.note),
    ]


def installed(facts: CloseoutFacts) -> list[tuple[str, str]]:
    """Say what now lies in the pipe."""
    if not facts.sleeves:
        return [("Sleeve", "none recorded")]
    start, end = min(one.start_m for one in facts.sleeves), max(one.end_m for one in facts.sleeves)
    lots = [lot for one in facts.sleeves for lot in (one.kit_lot, *one.resin_lots)]
    uses = [one.expires_on for one in facts.sleeves if one.expires_on]
    return [
        (
            "Sleeve" if len(facts.sleeves) == 1 else f"{len(facts.sleeves)} sleeves",
            f"{metres(start)} to {metres(end)} from {facts.repair.datum_ref}",
        ),
        ("Lots", f"{listed(list(dict.fromkeys(lots)))}{_use_by(uses)}"),
    ]


def _use_by(uses: list[date]) -> str:
    """Say the earliest date a lot had to be used by."""
    return f"; use by {min(uses).isoformat()}" if uses else ""


def prescribed(facts: CloseoutFacts) -> list[tuple[str, str]]:
    """Say what was to be done, and by which versions of the rules."""
    plan = facts.prescription
    sleeves = "1 sleeve" if plan.sleeve_count == 1 else f"{plan.sleeve_count} sleeves"
    total = f"A {kilograms(plan.resin_a_kg)}, B {kilograms(plan.resin_b_kg)}"
    return [
        ("Number", plan.number),
        ("Kit", f"{plan.kit_type}; {sleeves} of {metres(plan.sleeve_length_m)}"),
        ("Resin", total),
        ("At", celsius(plan.temperature_c)),
        ("Times", f"working {span(plan.working_min)}, cure {span(plan.cure_min)}"),
        ("Window", pressure_span(plan.window_low_kpa, plan.window_high_kpa)),
        ("Rules", f"chart {plan.chart_version}, rules {plan.rules_version}"),
        ("Requirements", f"{plan.requirement_set}, version {plan.requirement_set_version}"),
    ]


def who(facts: CloseoutFacts) -> list[tuple[str, str]]:
    """Say who did the work."""
    others = [name for name in facts.crew.members if name != facts.crew.lead]
    return [
        ("Contractor", facts.contractor_name),
        ("Crew", f"{facts.crew.name}; lead {facts.crew.lead}"),
        ("With", listed(others)),
    ]
