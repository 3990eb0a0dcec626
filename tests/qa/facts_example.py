"""A whole day's facts as the rules see them: everything in order unless a test changes it."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import NAMESPACE_OID, uuid5

import numpy as np

from qa.domain.evidence_kind import EvidenceKind
from qa.domain.repair_facts import (
    EvidenceFile,
    LotFacts,
    PackerFacts,
    Prescribed,
    PressureRecord,
    RepairFacts,
)
from repairs.domain.clocks import ClockBasis, cure_inputs, working_inputs
from repairs.domain.event_order import Moment
from repairs.domain.field_event import Event, EventKind
from repairs.domain.limits import limits_from
from repairs.domain.progress import fold
from repairs.domain.temperature_log import Reading
from tests.chart_example import CURE, WORKING
from tests.contract_example import LIMITS
from tests.field_sequence import MINUTES

SEVEN = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
TODAY = date(2026, 11, 25)
CONTRACT = limits_from(LIMITS)
BASIS = ClockBasis(WORKING, CURE, 0.05, declared_wall_c=20.0, declared_resin_c=20.0)

DATA: dict[str, dict[str, Any]] = {
    "loaded_out": {"packer": "PK-1", "kit_lot": "LOT-1"},
    "inspected": {"clean": True, "sharp_edges": False},
    "distance_marked": {"datum": "AP-1", "counter_m": 14.2, "tape_m": 14.2},
    "dry_run_done": {"reached_mark": True},
    "hold_test_done": {
        "start_pressure_kpa": 33.1,
        "end_pressure_kpa": 33.1,
        "duration_min": 5.0,
        "gauge_resolution_kpa": 0.7,
        "packer": "PK-1",
        "fully_round": True,
    },
    "mixing_started": {
        "resin_temperature_c": 20.0,
        "kit_lot": "LOT-1",
        "lot_a": "A-1",
        "lot_b": "B-1",
        "mass_a_kg": 2.0,
        "mass_b_kg": 1.0,
    },
    "wet_out_done": {"saturated": True},
    "placed": {"datum": "AP-1", "distance_m": 14.2},
    "deflated": {"sample_hard": True},
    "filmed": {"wrinkle_m": 0.002, "ends_sealed": True},
    "left": {"flow_restored": True, "connections_open": True},
}

PRESCRIBED = Prescribed(
    kit_code="KIT-300",
    sleeve_length_m=1.0,
    sleeve_count=1,
    overlap_m=0.05,
    part_a_kg=2.0,
    part_b_kg=1.0,
    target_kpa=33.0,
    low_kpa=15.0,
    high_kpa=49.0,
    basis=BASIS,
)


def at(step: str, *, plus_s: float = 0.0) -> datetime:
    """Return when a step of the day happens."""
    return SEVEN + timedelta(minutes=MINUTES[step], seconds=plus_s)


WALL = tuple(Reading(at("inflated", plus_s=600.0 * number), 20.0) for number in range(20))
"""The pipe wall's temperature beside the pressure: 20 degC every ten minutes."""


def moment(best: datetime, *, spread_s: float = 0.0) -> Moment:
    """Return an instant known within some seconds to either side."""
    spread = timedelta(seconds=spread_s)
    return Moment(best - spread, best, best + spread)


def a_file(kind: EvidenceKind, taken: Moment | None = None, **more: Any) -> EvidenceFile:
    """Return a file that was read without a problem."""
    given: dict[str, Any] = {
        "id": f"file-{kind.value}",
        "sha256": "0" * 64,
        "captured": taken,
        "container_start": None,
        "duration_s": 60.0,
        "probed": True,
        "problem": "",
    }
    return EvidenceFile(kind=kind, **{**given, **more})


def a_log(changed: Mapping[int, float] | None = None, *, step_s: int = 30) -> PressureRecord:
    """Return a log of 33 kPa over the whole cure; `changed` gives single samples other values."""
    begin, end = at("inflated").timestamp(), at("deflated").timestamp()
    times = np.arange(begin, end + 1, step_s)
    pressures = np.full(times.size, 33.0)
    for index, value in (changed or {}).items():
        pressures[index] = value
    return PressureRecord(("file-log",), times, pressures)


def a_day(
    *,
    data: Mapping[str, Mapping[str, Any] | None] | None = None,
    minutes: Mapping[str, float] | None = None,
    offsets_s: Mapping[str, float] | None = None,
    **facts: Any,
) -> RepairFacts:
    """Return the facts of a day on which all went well, but for what is changed.

    `data` changes what steps carry (None: the step is not reported), `minutes`
    when they happen, `offsets_s` how many seconds their clock may be off, and
    `facts` anything else.
    """
    wanted, when, off = data or {}, {**MINUTES, **(minutes or {})}, offsets_s or {}
    events = [
        _event(step, when[step], {**DATA.get(step, {}), **(wanted.get(step) or {})}, off.get(step))
        for step in when
        if not (step in wanted and wanted[step] is None)
    ]
    progress = fold(events, attempt=1)
    whole = RepairFacts(
        repair_ref="REP-1",
        datum_ref="AP-1",
        other_end_ref="AP-2",
        run_length_m=40.0,
        diameter_mm=300.0,
        distance_m=14.2,
        defect_extent_m=0.3,
        work_date=TODAY,
        limits=CONTRACT,
        progress=progress,
        prescribed=PRESCRIBED,
        working_inputs=working_inputs(progress, BASIS, CONTRACT),
        cure_inputs=cure_inputs(progress, BASIS, CONTRACT, logged_wall=WALL),
        evidence=(
            a_file(EvidenceKind.PRE_REPAIR_FILM, moment(at("inspected"))),
            a_file(EvidenceKind.POST_REPAIR_FILM, moment(at("filmed"))),
            a_file(EvidenceKind.DISTANCE_MARK_PHOTO),
            a_file(EvidenceKind.LOT_LABEL_PHOTO),
            a_file(EvidenceKind.WET_OUT_PHOTO),
        ),
        pressure=a_log(),
        lots={"LOT-1": LotFacts("LOT-1", "KIT-300", "A-1", "B-1", expires_on=TODAY)},
        packers={"PK-1": PackerFacts("PK-1", 200.0, 320.0, test_due_on=TODAY)},
    )
    return replace(whole, **facts)


def _event(step: str, minute: float, data: dict[str, Any], off_s: float | None) -> Event:
    when = SEVEN + timedelta(minutes=minute)
    spread = off_s or 0.0
    return Event(
        id=uuid5(NAMESPACE_OID, step),
        kind=EventKind(step),
        device="phone",
        device_time=when,
        received_at=when + timedelta(hours=12),
        offset_low_s=-spread,
        offset_high_s=spread,
        data=data,
    )
