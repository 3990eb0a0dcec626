"""An invented repair with everything a closeout package can hold, and its evidence files."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

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
from tests.qa.closeout_evidence_example import MIXING, evidence_files, pressure, temperature

LONG_CUSTOMER = (
    "Municipal Wastewater and Stormwater Services of the United Parishes of Upper and Lower "
    "Quillhaven"
)
LONG_STREET = "Old Ropewalk between Tanner's Yard and the former Harbour Customs Weighing House"
LONG_CONTRACTOR = (
    "Lantern & Reed Underground Pipe Rehabilitation Cooperative of the Northern Shires"
)
WRITTEN = datetime(2031, 3, 16, 9, tzinfo=UTC)
REQUIREMENTS = (
    ("lot-in-date", "Kit and resin lots in date on the day of use", {"days_left": 212}),
    ("pipe-clean", "Pipe cleaned directly before the repair", {}),
    ("filmed-before", "Defect filmed before the repair, counter on screen", {"distance_m": 31.42}),
    (
        "distance-agrees",
        "Counter and transferred mark agree",
        {"difference_m": 0.06, "limit_m": 0.31},
    ),
    ("dry-run", "Dry run reached the mark with a protective film", {}),
    ("film-changed", "New protective film after the dry run", {}),
    ("hold-test", "Packer holds the repair pressure", {"minutes": 5, "drop_kpa": 0.2}),
    ("gas-test", "Atmosphere read before anybody entered", {"oxygen_percent": 20.8}),
    ("resin-mass", "Resin as prescribed, both components", {"a_kg": 1.62, "b_kg": 0.81}),
    (
        "working-time",
        "Full pressure before the working time ended",
        {"used_min": 38.0, "limit_min": 62.0},
    ),
    ("ends-seen", "Both sleeve ends seen by camera before inflation", {}),
    (
        "coverage",
        "Sleeve covers the defect and the margin at both ends",
        {"least_m": 0.35, "limit_m": 0.305},
    ),
    ("pressure-held", "Pressure inside the window for the whole cure", {"lowest_kpa": 32.6}),
    (
        "temperature",
        "Pipe wall temperature recorded through the cure",
        {"coldest_c": 11.2, "longest_gap_s": 61},
    ),
    ("cured", "Held to the end of the maker's chart", {"margin_min": 14}),
    ("filmed-after", "Finished repair filmed after deflation", {}),
    ("second-person", "Reviewed by a person who was not on the crew", {}),
)


@dataclass(frozen=True)
class Example:
    """The facts and where the bytes of their evidence lie."""

    facts: CloseoutFacts
    files: dict[str, Path]


def example(
    folder: Path,
    *,
    cure_h: float = 2.0,
    photos: int = 8,
    spotless: bool = False,
    long_names: bool = False,
    located: bool = True,
    datum_ref: str = "AP-2041",
    paper: str = "A4",
    invented: bool = True,
) -> Example:
    """Make the example; `folder` takes the evidence files."""
    evidence, files = evidence_files(folder, photos, cure_h)
    inflated = MIXING + timedelta(minutes=38)
    hold_until = inflated + timedelta(hours=cure_h)
    deflated = hold_until + timedelta(minutes=14)
    facts = CloseoutFacts(
        repair=RepairFact(
            id="0195f0aa-6c1e-7d20-9a31-5b0f6f0c1a77",
            ref="R-20417",
            attempt=2,
            work_order="WO-2031-088",
            customer_name=LONG_CUSTOMER if long_names else "Quillhaven Drainage Board",
            customer_code="QDB",
            defect_code="BAC",
            defect_words="break or collapse: pieces of pipe visibly moved, none missing",
            defect_extent_m=0.3,
            defect_distance_m=31.48,
            datum_ref=datum_ref,
            clock_from=10,
            clock_to=2,
            note="Light seep at the crown before the repair; dry on the day.",
        ),
        run=RunFact(
            ref="RUN-2041-2042",
            diameter_mm=200.0,
            material="vitrified clay",
            length_m=62.4,
            upstream=_end("AP-2041", 47.1234567, -12.7654321, located=located),
            downstream=_end("AP-2042", 47.1239012, -12.7649876, located=located),
            depth_m=2.8,
            groundwater_above_invert_m=0.6,
        ),
        site=SiteFact(
            "S-311",
            LONG_STREET if long_names else "Old Ropewalk",
            "CST6CDT",
        ),
        crew=CrewFact("Crew Heron", "Ida Marlowe", ("Ida Marlowe", "Tomas Wren", "Bo Larkspur")),
        prescription=PrescriptionFact(
            number="P-20417-2",
            sleeve_length_m=1.0,
            sleeve_count=1,
            kit_type="DN 200, 1.0 m, slow",
            resin_a_kg=1.62,
            resin_b_kg=0.81,
            temperature_c=11.0,
            working_min=62.0,
            cure_min=cure_h * 60,
            window_low_kpa=31.0,
            window_high_kpa=38.0,
            chart_version="slow-2030-09",
            rules_version="2031.1",
            requirement_set="Quillhaven sectional repair",
            requirement_set_version="3",
        ),
        sleeves=(SleeveFact(30.98, 31.98, "K-7731-04", ("A-55120", "B-55187"), date(2031, 10, 9)),),
        timeline=_timeline(deflated),
        cure=CureFact(
            started_at=inflated,
            early_at=inflated + (hold_until - inflated) * 0.72,
            best_at=inflated + (hold_until - inflated) * 0.83,
            late_at=inflated + (hold_until - inflated) * 0.94,
            hold_until_at=hold_until,
            deflated_at=deflated,
            working=(
                "Chart slow-2030-09 at the coldest recorded wall temperature, 11.2 C",
                "Early bound: warmest reading of each minute; late bound: coldest",
                "Gaps above 60 s counted at the coldest plausible value",
                f"Maker's chart {cure_h * 60:.0f} min, late bound {cure_h * 56.4:.0f} min",
            ),
        ),
        working_time=WorkingTimeFact(MIXING, inflated, MIXING + timedelta(minutes=62)),
        hold_test=HoldTestFact(
            "34.4 kPa for 5 min, drop 0.2 kPa, within the gauge's resolution of 0.5 kPa",
            "met",
            tuple(
                (MIXING - timedelta(minutes=40) + timedelta(seconds=10 * n), 34.4 - 0.2 * n / 30)
                for n in range(31)
            ),
        ),
        pressure_kpa=pressure(inflated, deflated),
        temperature_c=temperature(inflated, deflated),
        window_low_kpa=31.0,
        window_high_kpa=38.0,
        evidence=evidence,
        requirements=_requirements(evidence, spotless=spotless),
        nonconformances=()
        if spotless
        else (
            NonconformanceFact(
                "film-late",
                "The film after the repair arrived two days late.",
                deflated + timedelta(days=2),
                "Accepted: the film shows the finished repair.",
                root_cause="The truck had no signal for two days.",
                evidence_ids=(evidence[0].id,),
                done_at=deflated + timedelta(days=2, hours=1),
                done_evidence_ids=(evidence[0].id,),
                other_files=("sketch-of-attempt-1.jpg",),
                decided_by="Una Reed, QA reviewer",
                decided_at=WRITTEN,
            ),
        ),
        quantities=(
            QuantityFact("4.11", "Sectional sleeve DN 200, up to 1.0 m", "each", Decimal(1)),
            QuantityFact("4.02", "Cleaning before repair", "m", Decimal("62.40")),
            QuantityFact("=4.90", "Camera inspection, before and after", "each", Decimal(2)),
        ),
        closed_at=deflated + timedelta(days=2, hours=3),
        closed_by=ClosedByFact(
            "Wilhelmina Featherstonehaugh-Oyelaran" if long_names else "Una Reed", "QA reviewer"
        ),
        contractor_name=LONG_CONTRACTOR if long_names else "Lantern Pipe Repair",
        cautions=(
            "Nobody enters an access point on the strength of this report: the permit counts.",
            "Resin and hardener left over are waste of their own kind; local rules say which.",
        ),
        invented=invented,
        paper=paper,
        history_head="9f" * 32,
    )
    return Example(facts, files)


def _end(ref: str, lat_deg: float, lon_deg: float, *, located: bool) -> AccessPointFact:
    return AccessPointFact(ref, lat_deg, lon_deg) if located else AccessPointFact(ref, None, None)


def _timeline(deflated: datetime) -> tuple[StepFact, ...]:
    rows = (
        (-110, "arrived", "Crew on site", ""),
        (
            -92,
            "made_safe",
            "Traffic control set, atmosphere read",
            "Oxygen 20.8 %, nothing flammable",
        ),
        (-80, "cleaned", "Pipe cleaned", ""),
        (-66, "inspected", "Defect filmed", ""),
        (
            -58,
            "distance_marked",
            "Distance marked on cable and hose",
            "31.42 m by counter, 31.48 m by tape",
        ),
        (-50, "dry_run_done", "Dry run done, film changed", ""),
        (-40, "hold_test_done", "Hold test passed", "34.4 kPa, 5 min"),
        (0, "mixing_started", "Mixing started: the working time runs", "Resin 14.5 C"),
        (14, "wet_out_done", "Sleeve saturated and tied on", ""),
        (31, "placed", "Sleeve at the mark, both ends seen", ""),
        (38, "inflated", "Packer at full pressure: the cure clock runs", ""),
    )
    steps = [
        StepFact(kind, words, MIXING + timedelta(minutes=minute), "tablet-3", minute == 14, note)
        for minute, kind, words, note in rows
    ]
    steps.append(StepFact("deflated", "Packer deflated by vacuum", deflated, "tablet-3"))
    steps.append(
        StepFact(
            "withdrawn", "Packer withdrawn by the rope", deflated + timedelta(minutes=6), "tablet-3"
        )
    )
    steps.append(
        StepFact(
            "filmed",
            "Finished repair filmed",
            deflated + timedelta(minutes=25),
            "camera-1",
            True,
            "Sent two days later: no signal in the yard",
        )
    )
    return tuple(steps)


def _requirements(
    evidence: tuple[EvidenceFact, ...], *, spotless: bool
) -> tuple[RequirementFact, ...]:
    found = []
    for number, (code, title, numbers) in enumerate(REQUIREMENTS):
        waived = not spotless and code == "gas-test"
        proof = (evidence[number % len(evidence)].id, evidence[(number * 3 + 1) % len(evidence)].id)
        found.append(
            RequirementFact(
                code,
                title,
                "waived" if waived else "met",
                "Nobody entered; the meter's log was lost with the tablet."
                if waived
                else "Shown by the evidence named.",
                numbers,
                tuple(dict.fromkeys(proof)),
                WaiverFact(
                    "Oskar Linden",
                    "owner's engineer",
                    "No entry was made; risk to the repair none.",
                    recorded_by="Una Reed",
                    recorded_at=WRITTEN,
                )
                if waived
                else None,
            )
        )
    return tuple(found)
