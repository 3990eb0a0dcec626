"""Turns a closing into the one value a closeout package is made of."""

from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.conf import settings

from dispatch.selectors import live_assignment
from qa.domain.closeout import (
    AccessPointFact,
    ClosedByFact,
    CloseoutFacts,
    CrewFact,
    CureFact,
    EvidenceFact,
    HoldTestFact,
    NonconformanceFact,
    PrescriptionFact,
    QuantityFact,
    RepairFact,
    RequirementFact,
    RunFact,
    SiteFact,
    SleeveFact,
    StepFact,
    WaiverFact,
    WorkingTimeFact,
)
from qa.domain.event_words import say
from qa.domain.evidence_kind import EvidenceKind, media_of
from qa.domain.repair_facts import RepairFacts
from qa.domain.rules.place import from_datum
from qa.facts import evidence_of, facts_of
from qa.models import Closing, Evidence, Nonconformance
from qa.sealed_files import path_of
from repairs.domain.cure_clock import cure_clock
from repairs.domain.defect_codes import meaning_of
from repairs.domain.event_order import moment_of
from repairs.domain.field_event import Event, EventKind
from repairs.domain.working_time import working_time
from repairs.models import AccessPoint, Prescription, Repair
from repairs.selectors import prescription_in_force

LATE_AFTER_S = 3600.0
"""A step received this long after it happened is marked as reported late."""

CAUTIONS = (
    (
        "Entry into confined spaces, work under compressed air and in traffic, handling of resin "
        "and contact with live sewage can injure or kill. This report records what was done; it "
        "declares nothing safe. Local codes, permits and licensed practice decide."
    ),
    "The calculations are screening figures. Structural design belongs to a licensed engineer.",
)
_TOLD = frozenset({"width", "height", "duration_s", "codec", "samples", "pressure_unit"})
"""Facts of a file that a client can use; the rest stays with the record of intake."""

_MEDIA_KIND = {"film": "video", "photo": "photo", "series": "pressure_log"}


def files_of(closing: Closing) -> dict[str, Path]:
    """Return where the bytes of each evidence file of the closing lie, by evidence id."""
    rows = evidence_of(closing.repair, attempt=closing.attempt, now=closing.closed_at)
    return {str(row.pk): path_of(row.sha256) for row in rows}


def closeout_facts(closing: Closing) -> CloseoutFacts:
    """Return what the package says: the attempt as it stood at the moment of closing."""
    repair = closing.repair
    facts = facts_of(repair, attempt=closing.attempt, now=closing.closed_at)
    prescription = prescription_in_force(repair, attempt=closing.attempt)
    if prescription is None or prescription.result is None:
        raise ValueError(f"{repair.ref} was closed without a prescription")
    window = prescription.result["window"]
    return CloseoutFacts(
        repair=_repair(repair, closing.attempt),
        run=_run(repair),
        site=SiteFact(repair.run.site.ref, repair.run.site.street, repair.run.site.time_zone),
        crew=_crew(repair, closing.attempt),
        prescription=_prescription(prescription),
        sleeves=_sleeves(facts),
        timeline=tuple(_step(event) for event in facts.progress.steps),
        cure=_cure(facts),
        working_time=_working_time(facts),
        hold_test=_hold_test(closing, facts),
        pressure_kpa=_pressure(facts),
        temperature_c=_temperature(facts),
        window_low_kpa=window["low_kpa"],
        window_high_kpa=window["high_kpa"],
        evidence=_evidence(closing),
        requirements=tuple(_requirement(row) for row in closing.verdicts),
        nonconformances=_nonconformances(closing),
        quantities=_quantities(facts),
        closed_at=closing.closed_at,
        closed_by=ClosedByFact(closing.closed_by.display_name, closing.closed_by.role),
        contractor_name=settings.CONTRACTOR_NAME,
        cautions=CAUTIONS,
        invented=settings.INVENTED_DATA,
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


def _crew(repair: Repair, attempt: int) -> CrewFact:
    assignment = live_assignment(repair, attempt=attempt)
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


def _sleeves(facts: RepairFacts) -> tuple[SleeveFact, ...]:
    placed = facts.progress.event(EventKind.PLACED)
    mixing = facts.progress.event(EventKind.MIXING_STARTED)
    centre = from_datum(facts, placed, "distance_m") if placed is not None else None
    if facts.prescribed is None or mixing is None or centre is None:
        return ()
    length, count = facts.prescribed.sleeve_length_m, facts.prescribed.sleeve_count
    step = length - facts.prescribed.overlap_m
    first = centre - (length + (count - 1) * step) / 2
    lot = facts.lots.get(str(mixing.data["kit_lot"]))
    return tuple(
        SleeveFact(
            start_m=first + n * step,
            end_m=first + n * step + length,
            kit_lot=str(mixing.data["kit_lot"]),
            resin_lots=(str(mixing.data["lot_a"]), str(mixing.data["lot_b"])),
            expires_on=lot.expires_on if lot else None,
        )
        for n in range(count)
    )


def _step(event: Event) -> StepFact:
    moment = moment_of(event)
    late_s = (event.received_at - moment.latest).total_seconds()
    return StepFact(
        kind=event.kind.value,
        words=say(event),
        at=moment.best,
        device=event.device,
        reported_late=late_s > LATE_AFTER_S,
        note=str(event.data.get("note", "")),
    )


def _cure(facts: RepairFacts) -> CureFact | None:
    deflated = facts.moment(EventKind.DEFLATED)
    if facts.cure_inputs is None or facts.cure_inputs.started_at is None or deflated is None:
        return None
    clock = cure_clock(facts.cure_inputs, deflated.earliest)
    if clock.early is None or clock.best is None or clock.late is None or clock.hold_until is None:
        return None
    return CureFact(
        started_at=facts.cure_inputs.started_at,
        early_at=clock.early,
        best_at=clock.best,
        late_at=clock.late,
        hold_until_at=clock.hold_until,
        deflated_at=deflated.best,
        working=clock.working,
    )


def _working_time(facts: RepairFacts) -> WorkingTimeFact | None:
    mixing, inflated = facts.moment(EventKind.MIXING_STARTED), facts.moment(EventKind.INFLATED)
    if facts.working_inputs is None or mixing is None or inflated is None:
        return None
    deadline = working_time(facts.working_inputs, inflated.latest).deadline_early
    if deadline is None:
        return None
    return WorkingTimeFact(mixing.best, inflated.best, deadline)


def _hold_test(closing: Closing, facts: RepairFacts) -> HoldTestFact | None:
    event = facts.progress.event(EventKind.HOLD_TEST_DONE)
    row = next((each for each in closing.verdicts if each["code"] == "hold_test"), None)
    if event is None or row is None:
        return None
    return HoldTestFact(f"{say(event)}. {row['reason']}", _word(row))


def _pressure(facts: RepairFacts) -> tuple[tuple[datetime, float], ...]:
    if facts.pressure is None:
        return ()
    samples = sorted(
        set(
            zip(facts.pressure.times_s.tolist(), facts.pressure.pressures_kpa.tolist(), strict=True)
        )
    )
    return tuple((datetime.fromtimestamp(at, UTC), kpa) for at, kpa in samples)


def _temperature(facts: RepairFacts) -> tuple[tuple[datetime, float], ...]:
    if facts.cure_inputs is None:
        return ()
    return tuple(
        sorted({(reading.at, reading.temperature_c) for reading in facts.cure_inputs.readings})
    )


def _evidence(closing: Closing) -> tuple[EvidenceFact, ...]:
    rows = evidence_of(closing.repair, attempt=closing.attempt, now=closing.closed_at)
    return tuple(_evidence_fact(row) for row in rows)


def _evidence_fact(row: Evidence) -> EvidenceFact:
    kind = EvidenceKind(row.kind)
    return EvidenceFact(
        id=str(row.pk),
        kind=_MEDIA_KIND[media_of(kind)],
        title=row.title or row.kind.replace("_", " ").capitalize(),
        file_name=row.file_name,
        sha256=row.sha256,
        size_bytes=row.size_bytes,
        media_type=row.media_type,
        captured_at=row.captured_at,
        facts={
            name: value
            for name, value in sorted(row.facts.items())
            if name in _TOLD and isinstance(value, str | int | float)
        },
    )


def _requirement(row: dict[str, Any]) -> RequirementFact:
    waiver = row["waiver"]
    return RequirementFact(
        code=row["code"],
        title=row["title"],
        verdict="waived" if waiver and row["outcome"] != "met" else _word(row),
        reason=row["reason"],
        numbers=row["numbers"],
        evidence_ids=tuple(row["evidence"]),
        waiver=WaiverFact(**waiver) if waiver else None,
    )


def _word(row: dict[str, Any]) -> Any:
    return row["outcome"].replace(" ", "_")


def _nonconformances(closing: Closing) -> tuple[NonconformanceFact, ...]:
    rows = Nonconformance.objects.filter(
        repair=closing.repair,
        attempt=closing.attempt,
        withdrawn_at__isnull=True,
        opened_at__lte=closing.closed_at,
    )
    return tuple(
        NonconformanceFact(
            row.code,
            row.words,
            row.opened_at,
            f"{row.disposition}: {row.disposition_reason}" if row.disposition else "",
        )
        for row in rows
    )


def _quantities(facts: RepairFacts) -> tuple[QuantityFact, ...]:
    if facts.prescribed is None:
        return ()
    length = facts.prescribed.sleeve_length_m * facts.prescribed.sleeve_count
    return (
        QuantityFact("sleeve", "Sleeve installed", "each", Decimal(facts.prescribed.sleeve_count)),
        QuantityFact("sleeve_length", "Installed sleeve length", "m", Decimal(f"{length:.2f}")),
        QuantityFact("film", "Filming before and after", "each", Decimal(2)),
    )
