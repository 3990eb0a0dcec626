"""Gathers everything the rules may look at: from rows and sealed files to one pure value."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from dispatch.models import Equipment, Lot
from qa.domain.evidence_kind import EvidenceKind
from qa.domain.pressure_record import put_together, wall_readings
from qa.domain.repair_facts import (
    LotFacts,
    PackerFacts,
    Prescribed,
    RepairFacts,
    Returned,
)
from qa.domain.return_reason import reason_words
from qa.evidence_files import file_of, readable_logs
from qa.models import Evidence, SecondReview
from repairs.domain.clocks import cure_inputs, working_inputs
from repairs.domain.event_order import moment_of
from repairs.domain.field_event import OFFICE_KINDS, EventKind
from repairs.domain.limits import Limits, limits_from
from repairs.domain.progress import Progress, of_sleeve
from repairs.domain.stored_prescription import clock_basis
from repairs.domain.temperature_log import Reading
from repairs.models import FieldEvent, Prescription, Repair
from repairs.selectors import (
    order_changed_since,
    prescription_in_force,
    prescription_mixed_under,
    standing_steps_of,
)


def facts_of(repair: Repair, *, attempt: int, now: datetime) -> RepairFacts:
    """Return the facts of one attempt as they had come in by `now`.

    An attempt that was opened by a return carries on what was done before,
    until resin is mixed anew.
    """
    limits = limits_from(repair.work_order.requirement_set.limits)
    standing = standing_steps_of(repair, attempt=attempt, received_until=now)
    progress, since = standing.progress, standing.since
    prescription = standing_prescription(repair, attempt=attempt, since=since)
    # A sleeve that lies in the pipe is judged by what it was mixed under, whatever came after.
    mixed = progress.event(EventKind.MIXING_STARTED) is not None
    under = prescription_mixed_under(repair, attempt=attempt, since=since) if mixed else None
    prescribed = prescribed_of(under or prescription, limits)
    rows = list(evidence_of(repair, attempt=attempt, now=now, since=since))
    logs = readable_logs(rows)
    run = repair.run
    whole = RepairFacts(
        repair_ref=repair.ref,
        datum_ref=repair.datum.ref,
        other_end_ref=other_end_of(repair),
        run_length_m=run.length_m,
        diameter_mm=run.diameter_mm,
        distance_m=repair.distance_m,
        defect_extent_m=repair.defect_extent_m,
        work_date=_work_date(progress, run.site.time_zone, now),
        limits=limits,
        progress=progress,
        prescribed=prescribed,
        working_inputs=None,
        cure_inputs=None,
        evidence=tuple(file_of(row, now=now) for row in rows),
        pressure=put_together(logs, prescribed.window_kpa if prescribed else None),
        lots=_lots(progress),
        packers=_packers(progress),
        attempt=attempt,
        returned=_returned(repair, attempt, now),
        order_changed_since=prescription is not None and order_changed_since(repair, prescription),
        run_ref=run.ref,
        asked=frozenset(row["code"] for row in repair.work_order.requirement_set.requirements),
        second_reviewers=_second_reviewers(repair, attempt, now, rows),
        installers=tuple(sorted(installers_of(repair, attempt=attempt))),
    )
    wall = wall_readings([log for _, log in logs])
    return _with_sleeves(_with_clocks(whole, wall), wall)


def _with_clocks(facts: RepairFacts, wall: tuple[Reading, ...]) -> RepairFacts:
    """Add what the clocks rest on, read from the progress of these facts."""
    if facts.prescribed is None:
        return facts
    basis, progress, limits = facts.prescribed.basis, facts.progress, facts.limits
    return replace(
        facts,
        working_inputs=working_inputs(progress, basis, limits),
        cure_inputs=cure_inputs(progress, basis, limits, logged_wall=wall),
    )


def _with_sleeves(facts: RepairFacts, wall: tuple[Reading, ...]) -> RepairFacts:
    """Add the facts of each sleeve by itself, where the prescription asks for several."""
    if facts.prescribed is None or facts.prescribed.sleeve_count == 1:
        return facts
    each = tuple(
        _with_clocks(
            replace(facts, progress=of_sleeve(facts.progress, number), sleeve=number), wall
        )
        for number in range(1, facts.prescribed.sleeve_count + 1)
    )
    return replace(facts, sleeves=each)


def other_end_of(repair: Repair) -> str:
    """Return the access point at the end of the run from which nothing is measured."""
    run = repair.run
    return (run.downstream if repair.datum_id == run.upstream_id else run.upstream).ref


def standing_prescription(repair: Repair, *, attempt: int, since: int) -> Prescription | None:
    """Return the prescription that stands: the attempt's own, or that of what it carries on."""
    for number in range(attempt, since - 1, -1):
        found = prescription_in_force(repair, attempt=number)
        if found is not None:
            return found
    return None


def _returned(repair: Repair, attempt: int, now: datetime) -> Returned | None:
    """Return why the attempt before this one came back from the client."""
    row = FieldEvent.objects.filter(
        repair=repair, attempt=attempt - 1, kind=EventKind.RETURNED, received_at__lte=now
    ).first()
    if row is None:
        return None
    reasons = row.data.get("reasons", [])
    words: dict[str, list[str]] = {}
    for each in reasons:
        words.setdefault(each["requirement"], []).append(reason_words(each))
    return Returned(row.received_at, {code: "; ".join(said) for code, said in words.items()})


def evidence_of(
    repair: Repair, *, attempt: int, now: datetime, since: int | None = None
) -> QuerySet[Evidence]:
    """Return the files that stand for an attempt and had come in by `now`, in order of intake.

    A file that was taken back proves nothing; once its attempt is closed none is taken back.
    """
    first = standing_steps_of(repair, attempt=attempt).since if since is None else since
    return Evidence.objects.filter(
        repair=repair,
        attempt__gte=first,
        attempt__lte=attempt,
        received_at__lte=now,
        taken_back_at__isnull=True,
    )


def installers_of(repair: Repair, *, attempt: int) -> frozenset[str]:
    """Return the accounts that posted what stands for the attempt; none of them reviews it."""
    office = [kind.value for kind in OFFICE_KINDS]
    since = standing_steps_of(repair, attempt=attempt).since
    rows = FieldEvent.objects.filter(repair=repair, attempt__gte=since, attempt__lte=attempt)
    rows = rows.exclude(kind__in=office)
    return frozenset(rows.values_list("posted_by__username", flat=True).distinct())


def _second_reviewers(
    repair: Repair, attempt: int, now: datetime, files: Sequence[Evidence]
) -> tuple[str, ...]:
    """Return who looked through the proof once the finished repair's film was there to see."""
    films = [row.received_at for row in files if row.kind == EvidenceKind.POST_REPAIR_FILM]
    rows = SecondReview.objects.filter(
        repair=repair,
        attempt=attempt,
        reviewed_at__lte=now,
        reviewed_at__gte=min(films, default=now),
    )
    return tuple(rows.order_by("reviewed_at").values_list("reviewer__username", flat=True))


def prescribed_of(prescription: Prescription | None, limits: Limits) -> Prescribed | None:
    """Return what the crew went out with; None where no sleeve was prescribed."""
    if prescription is None or prescription.result is None:
        return None
    basis = clock_basis(prescription.inputs, prescription.result)
    if basis is None:
        return None
    result = prescription.result
    return Prescribed(
        kit_code=result["kit"],
        sleeve_length_m=result["sleeve_length_m"],
        sleeve_count=result["sleeve_count"],
        overlap_m=limits.sleeve_overlap_m,
        part_a_kg=result["resin"]["part_a_kg"],
        part_b_kg=result["resin"]["part_b_kg"],
        low_kpa=result["window"]["low_kpa"],
        high_kpa=result["window"]["high_kpa"],
        target_kpa=result["window"]["target_kpa"],
        basis=basis,
    )


def _work_date(progress: Progress, zone: str, now: datetime) -> date:
    """Return the day of the work where it was done: lots and tests must be in date on it."""
    for kind in (EventKind.MIXING_STARTED, EventKind.ARRIVED, EventKind.LOADED_OUT):
        event = progress.event(kind)
        if event is not None:
            return moment_of(event).best.astimezone(ZoneInfo(zone)).date()
    return now.astimezone(ZoneInfo(zone)).date()


def _lots(progress: Progress) -> dict[str, LotFacts]:
    named = {
        str(event.data["kit_lot"])
        for kind in (EventKind.LOADED_OUT, EventKind.MIXING_STARTED)
        for event in progress.all_of(kind)
        if event.data.get("kit_lot")
    }
    rows = Lot.objects.select_related("kit_type").filter(number__in=named)
    return {
        row.number: LotFacts(
            row.number, row.kit_type.code, row.resin_lot_a, row.resin_lot_b, row.expires_on
        )
        for row in rows
    }


def _packers(progress: Progress) -> dict[str, PackerFacts]:
    named = {
        str(event.data["packer"])
        for kind in (EventKind.LOADED_OUT, EventKind.HOLD_TEST_DONE)
        if (event := progress.event(kind)) is not None and event.data.get("packer")
    }
    rows = Equipment.objects.filter(kind="packer", serial__in=named)
    return {
        row.serial: PackerFacts(
            row.serial, row.diameter_min_mm or 0.0, row.diameter_max_mm or 0.0, row.test_due_on
        )
        for row in rows
    }
