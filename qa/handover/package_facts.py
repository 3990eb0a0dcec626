"""The whole of a package: the attempt as it stood at the moment of closing."""

from pathlib import Path
from typing import Any

from django.conf import settings

from dispatch.selectors import live_assignment
from qa.domain.closeout import (
    AccessPointFact,
    ClosedByFact,
    CloseoutFacts,
    CrewFact,
    PrescriptionFact,
    RepairFact,
    RunFact,
    SiteFact,
)
from qa.domain.evidence_kind import EvidenceKind, media_of
from qa.domain.history import Checkpoint
from qa.facts import evidence_of, facts_of, prescribed_of
from qa.handover import counted, installed, proof
from qa.models import Closing
from qa.sealed_files import path_of
from repairs.domain.defect_codes import meaning_of
from repairs.models import AccessPoint, Prescription, Repair
from repairs.selectors import prescription_mixed_under, standing_steps_of

CAUTIONS = (
    (
        "Entry into confined spaces, work under compressed air and in traffic, handling of resin "
        "and contact with live sewage can injure or kill. This report records what was done; it "
        "declares nothing safe. Local codes, permits and licensed practice decide."
    ),
    "The calculations are screening figures. Structural design belongs to a licensed engineer.",
)


def files_of(closing: Closing) -> dict[str, Path]:
    """Return where the bytes of each evidence file of the closing lie, by evidence id."""
    rows = evidence_of(closing.repair, attempt=closing.attempt, now=closing.closed_at)
    return {str(row.pk): path_of(row.sha256) for row in rows}


def pictures_of(closing: Closing) -> dict[str, Path]:
    """Return where the pictures lie that were drawn anew of photos, by evidence id."""
    rows = evidence_of(closing.repair, attempt=closing.attempt, now=closing.closed_at)
    return {
        str(row.pk): path_of(row.derived_sha256)
        for row in rows
        if row.derived_sha256 and media_of(EvidenceKind(row.kind)) == "photo"
    }


def closeout_facts(closing: Closing, checkpoint: Checkpoint | None = None) -> CloseoutFacts:
    """Return what the package says: the attempt as it stood at the moment of closing."""
    repair = closing.repair
    facts = facts_of(repair, attempt=closing.attempt, now=closing.closed_at)
    contract = repair.work_order.requirement_set
    standing = standing_steps_of(repair, attempt=closing.attempt, received_until=closing.closed_at)
    prescription = prescription_mixed_under(repair, attempt=closing.attempt, since=standing.since)
    if prescription is None or prescription.result is None:
        raise ValueError(f"{repair.ref} was closed without a prescription")
    window, recorded = prescription.result["window"], proof.recorders(closing)
    laid = counted.laid(repair, facts.progress, prescribed_of(prescription, facts.limits))
    return CloseoutFacts(
        repair=_repair(repair, closing.attempt),
        run=_run(repair),
        site=SiteFact(repair.run.site.ref, repair.run.site.street, repair.run.site.time_zone),
        crew=_crew(repair, closing.attempt, standing.since),
        prescription=_prescription(prescription),
        sleeves=installed.sleeves(laid, facts.lots),
        timeline=installed.timeline(facts, standing.replaced),
        cure=installed.cure(facts),
        working_time=installed.working_time_kept(facts),
        hold_test=installed.hold_test(closing, facts),
        pressure_kpa=installed.pressure(facts),
        temperature_c=installed.temperature(facts),
        window_low_kpa=window["low_kpa"],
        window_high_kpa=window["high_kpa"],
        evidence=proof.evidence(closing),
        requirements=tuple(proof.requirement(row, recorded) for row in closing.verdicts),
        nonconformances=proof.nonconformances(closing, facts),
        quantities=counted.counted(laid, {each.kind for each in facts.evidence}, contract.pay),
        closed_at=closing.closed_at,
        closed_by=ClosedByFact(closing.closed_by.display_name, closing.closed_by.role),
        contractor_name=settings.CONTRACTOR_NAME,
        cautions=CAUTIONS,
        invented=settings.INVENTED_DATA,
        history_head=f"entry {checkpoint.entries}: {checkpoint.head}" if checkpoint else "",
        paper="Letter" if settings.REPORT_PAPER == "Letter" else "A4",
    )


def _repair(repair: Repair, attempt: int) -> RepairFact:
    return RepairFact(
        id=str(repair.pk),
        ref=repair.ref,
        attempt=attempt,
        work_order=repair.work_order.number,
        customer_name=repair.work_order.customer.name,
        customer_code=repair.work_order.customer.code,
        defect_code=repair.defect_code,
        defect_words=meaning_of(repair.defect_code),
        defect_extent_m=repair.defect_extent_m,
        defect_distance_m=repair.distance_m,
        datum_ref=repair.datum.ref,
        clock_from=repair.clock_from,
        clock_to=repair.clock_to,
        note=repair.note,
    )


def _run(repair: Repair) -> RunFact:
    run = repair.run
    return RunFact(
        ref=run.ref,
        diameter_mm=run.diameter_mm,
        material=run.material,
        length_m=run.length_m,
        upstream=_access_point(run.upstream),
        downstream=_access_point(run.downstream),
        depth_m=run.depth_m,
        groundwater_above_invert_m=run.groundwater_above_invert_m,
    )


def _access_point(row: AccessPoint) -> AccessPointFact:
    return AccessPointFact(row.ref, row.latitude, row.longitude)


def _crew(repair: Repair, attempt: int, since: int) -> CrewFact:
    found = (live_assignment(repair, attempt=n) for n in range(attempt, since - 1, -1))
    assignment = next((each for each in found if each is not None), None)
    if assignment is None:
        return CrewFact("not assigned", "")
    members = list(assignment.crew.members.order_by("-lead", "name"))
    lead = next((each.name for each in members if each.lead), "")
    return CrewFact(assignment.crew.name, lead, tuple(each.name for each in members))


def _prescription(row: Prescription) -> PrescriptionFact:
    result: dict[str, Any] = row.result or {}
    return PrescriptionFact(
        number=str(row.number),
        sleeve_length_m=result["sleeve_length_m"],
        sleeve_count=result["sleeve_count"],
        kit_type=result["kit_name"],
        resin_a_kg=result["resin"]["part_a_kg"],
        resin_b_kg=result["resin"]["part_b_kg"],
        temperature_c=row.inputs["conditions"]["wall_temperature_c"],
        working_min=result["working_min"] or 0.0,
        cure_min=result["cure_min"] or 0.0,
        window_low_kpa=result["window"]["low_kpa"],
        window_high_kpa=result["window"]["high_kpa"],
        chart_version=result["cure_chart"]["version"],
        rules_version=row.rules_version,
        requirement_set=row.requirement_set.name,
        requirement_set_version=str(row.requirement_set.version),
    )
