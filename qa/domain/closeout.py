"""Everything a closeout package says about one attempt at one repair.

The package (report, record, places, quantities, bag) is made from these facts and the evidence
bytes alone, so the same facts and bytes always give the same package. Times are aware UTC;
distances along the run are metres from the datum access point.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Literal

from qa.domain.closeout_check import check, known

FactValue = str | int | float | bool | None
Series = tuple[tuple[datetime, float], ...]
Paper = Literal["A4", "Letter"]
VerdictWord = Literal[
    "met", "judged", "waived", "not_applicable", "not_met", "incomplete", "cannot_tell"
]


@dataclass(frozen=True, slots=True)
class RepairFact:
    """The repair and the defect it answers."""

    id: str
    ref: str
    attempt: int
    work_order: str
    customer_name: str
    customer_code: str
    defect_code: str
    defect_words: str  # what the code means, in our own words
    defect_extent_m: float  # along the pipe
    defect_distance_m: float  # datum to the defect's centre
    datum_ref: str  # the access point distances are measured from
    clock_from: int | None = None  # 1..12, 12 at the crown
    clock_to: int | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class AccessPointFact:
    """One end of the run; without a surveyed position both degrees are None (WGS 84)."""

    ref: str
    lat_deg: float | None
    lon_deg: float | None


@dataclass(frozen=True, slots=True)
class RunFact:
    """The pipe between two access points."""

    ref: str
    diameter_mm: float
    material: str
    length_m: float
    upstream: AccessPointFact
    downstream: AccessPointFact
    depth_m: float | None = None
    groundwater_above_invert_m: float | None = None


@dataclass(frozen=True, slots=True)
class SiteFact:
    """Where the crew worked; `time_zone` is an IANA name."""

    ref: str
    street: str
    time_zone: str


@dataclass(frozen=True, slots=True)
class CrewFact:
    """Who did the work."""

    name: str
    lead: str
    members: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PrescriptionFact:
    """What was prescribed, frozen at dispatch, and the versions it was calculated with."""

    number: str
    sleeve_length_m: float
    sleeve_count: int
    kit_type: str
    resin_a_kg: float
    resin_b_kg: float
    temperature_c: float  # the temperature working time and cure were calculated for
    working_min: float
    cure_min: float
    window_low_kpa: float
    window_high_kpa: float
    chart_version: str
    rules_version: str
    requirement_set: str
    requirement_set_version: str


@dataclass(frozen=True, slots=True)
class SleeveFact:
    """One sleeve as installed, with the lots it was made of."""

    start_m: float
    end_m: float
    kit_lot: str
    resin_lots: tuple[str, ...]
    expires_on: date | None


@dataclass(frozen=True, slots=True)
class StepFact:
    """One reported field event in the words the client reads."""

    kind: str
    words: str
    at: datetime
    device: str
    reported_late: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class CureFact:
    """The cure clock as it stood at closing."""

    started_at: datetime
    early_at: datetime
    best_at: datetime
    late_at: datetime
    hold_until_at: datetime  # earliest deflation: never before the maker's chart allows
    deflated_at: datetime | None
    working: tuple[str, ...] = ()  # the calculation, line by line


@dataclass(frozen=True, slots=True)
class WorkingTimeFact:
    """The working time: from mixing to inflation, against its deadline."""

    mixing_at: datetime
    inflated_at: datetime
    deadline_at: datetime


@dataclass(frozen=True, slots=True)
class HoldTestFact:
    """The packer's hold test before the repair."""

    summary: str
    verdict: VerdictWord
    pressure_kpa: Series = ()


@dataclass(frozen=True, slots=True)
class EvidenceFact:
    """One evidence file as declared at intake; its bytes are passed beside, by `id`."""

    id: str
    kind: str  # photo, video, pressure_log, temperature_log, document
    title: str
    file_name: str
    sha256: str
    size_bytes: int
    media_type: str
    captured_at: datetime | None
    facts: Mapping[str, FactValue]


@dataclass(frozen=True, slots=True)
class WaiverFact:
    """Who let a requirement go, or judged it, in which role, why; who wrote that down, and when."""

    name: str
    role: str
    reason: str
    recorded_by: str = ""
    recorded_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class RequirementFact:
    """One requirement of the set, its verdict, and what proves it."""

    code: str
    title: str
    verdict: VerdictWord
    reason: str
    numbers: Mapping[str, FactValue]
    evidence_ids: tuple[str, ...] = ()
    waiver: WaiverFact | None = None
    judgement: WaiverFact | None = None  # of a reviewer, on what the rule could not tell


@dataclass(frozen=True, slots=True)
class NonconformanceFact:
    """Something that was not as required; `disposition` is empty while it is open."""

    code: str
    words: str
    opened_at: datetime
    disposition: str = ""
    root_cause: str = ""  # empty where nobody said what it came from
    evidence_ids: tuple[str, ...] = ()  # what the decision rests on
    done_at: datetime | None = None  # when the decision was carried out
    done_evidence_ids: tuple[str, ...] = ()  # what shows that it was
    other_files: tuple[str, ...] = ()  # names of files it rests on that are not in the package
    decided_by: str = ""  # who wrote the decision down, name and role
    decided_at: datetime | None = None
    accepted_by: str = ""  # who on the client's side accepted it as it is, name and role


@dataclass(frozen=True, slots=True)
class QuantityFact:
    """One line the client pays by; a Decimal keeps the digits as agreed."""

    pay_item: str
    words: str
    unit: str
    quantity: Decimal


@dataclass(frozen=True, slots=True)
class ClosedByFact:
    """The person who closed the repair."""

    name: str
    role: str


@dataclass(frozen=True, slots=True)
class CloseoutFacts:
    """The one input of the package.

    Raises
    ------
    ValueError
        If a time is naive, a number is not finite, a hash is not 64 lower-case hex digits, an
        evidence id is used twice or unknown, or the datum is no access point of the run.
    """

    repair: RepairFact
    run: RunFact
    site: SiteFact
    crew: CrewFact
    prescription: PrescriptionFact
    sleeves: tuple[SleeveFact, ...]
    timeline: tuple[StepFact, ...]
    cure: CureFact | None
    working_time: WorkingTimeFact | None
    hold_test: HoldTestFact | None
    pressure_kpa: Series  # the packer, gauge, while the sleeve was held
    temperature_c: Series  # the pipe wall
    window_low_kpa: float
    window_high_kpa: float
    evidence: tuple[EvidenceFact, ...]
    requirements: tuple[RequirementFact, ...]
    nonconformances: tuple[NonconformanceFact, ...]
    quantities: tuple[QuantityFact, ...]
    closed_at: datetime
    closed_by: ClosedByFact
    contractor_name: str
    cautions: tuple[str, ...]
    invented: bool = False  # demo data: the report says so on every page
    paper: Paper = "A4"
    history_head: str = ""  # head of the history, for the client to keep

    def __post_init__(self) -> None:
        """Refuse facts no honest package could be made from."""
        check(self, "facts")
        ids = [one.id for one in self.evidence]
        if len(set(ids)) != len(ids):
            raise ValueError("evidence: an id is used twice")
        for wanted in self.requirements:
            known(f"requirement {wanted.code}", wanted.evidence_ids, ids)
        for one in self.nonconformances:
            named = (*one.evidence_ids, *one.done_evidence_ids)
            known(f"nonconformance {one.code}", named, ids)
        if self.repair.datum_ref not in {self.run.upstream.ref, self.run.downstream.ref}:
            raise ValueError(f"datum {self.repair.datum_ref!r} is no access point of the run")
