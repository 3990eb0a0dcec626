"""Everything the rules may look at: one value, gathered once, never changed."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
from numpy.typing import NDArray

from qa.domain.camera_clock import CameraOffset, Contradiction
from qa.domain.evidence_kind import EvidenceKind
from repairs.domain.clocks import ClockBasis
from repairs.domain.cure_clock import CureInputs
from repairs.domain.event_order import Moment, moment_of
from repairs.domain.field_event import EventKind
from repairs.domain.limits import Limits
from repairs.domain.progress import Progress
from repairs.domain.working_time import WorkingInputs


@dataclass(frozen=True, slots=True)
class EvidenceFile:
    """An uploaded file as the rules see it.

    Parameters
    ----------
    captured : Moment or None
        When it was taken, by the device that took it.
    container_start : datetime or None
        For a film: the start written in the file itself, a weak witness.
    probed : bool
        Whether the file has been opened and read yet.
    problem : str
        Why it could not be read; empty when it could.
    also_used_for : tuple of str
        Other repairs, or other purposes, the same bytes were handed in for.
    camera : CameraOffset, Contradiction or None
        For a film: how far its camera's clock is off by clock photos; None without any.
    """

    id: str
    kind: EvidenceKind
    sha256: str
    captured: Moment | None
    container_start: datetime | None
    duration_s: float | None
    probed: bool
    problem: str
    also_used_for: tuple[str, ...] = ()
    received_at: datetime | None = None
    camera: CameraOffset | Contradiction | None = None


@dataclass(frozen=True, slots=True)
class Returned:
    """Why the client returned the attempt before: the requirements named, and when.

    `notes` maps a requirement's code to what the client wrote.
    """

    at: datetime
    notes: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class PressureRecord:
    """The samples of every readable pressure log of the attempt, put together.

    `to_ask` holds what looks odd about a log, as questions; they decide nothing.
    """

    evidence: tuple[str, ...]
    times_s: NDArray[np.float64]
    pressures_kpa: NDArray[np.float64]
    to_ask: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LotFacts:
    """A kit lot as the stock knows it."""

    number: str
    kit_code: str
    resin_lot_a: str
    resin_lot_b: str
    expires_on: date


@dataclass(frozen=True, slots=True)
class PackerFacts:
    """A packer as the equipment list knows it."""

    serial: str
    diameter_min_mm: float
    diameter_max_mm: float
    test_due_on: date


@dataclass(frozen=True, slots=True)
class Prescribed:
    """What the crew went out with."""

    kit_code: str
    sleeve_length_m: float
    sleeve_count: int
    overlap_m: float
    part_a_kg: float
    part_b_kg: float
    low_kpa: float
    high_kpa: float
    target_kpa: float
    basis: ClockBasis

    @property
    def window_kpa(self) -> tuple[float, float]:
        """Lowest and highest pressure of the cure."""
        return self.low_kpa, self.high_kpa


@dataclass(frozen=True, slots=True)
class Laid:
    """Of one attempt only where its sleeves lie: enough to count what is paid, and cheap to get.

    The names are those of `RepairFacts`, and mean the same.
    """

    datum_ref: str
    other_end_ref: str
    run_length_m: float
    progress: Progress
    prescribed: Prescribed | None
    sleeves: tuple["Laid", ...] = ()


@dataclass(frozen=True, slots=True)
class RepairFacts:
    """One attempt at one repair, complete.

    Parameters
    ----------
    distance_m : float
        Datum to the centre of the defect, as ordered.
    work_date : date
        The day of the work in the site's time zone: lots and tests must be in date on it.
    sleeves : tuple of RepairFacts
        For a repair with several sleeves: the same facts with the steps of each sleeve
        alone, in order. Empty where one sleeve does it.
    sleeve : int
        Which sleeve these facts are of, from 1.
    returned : Returned or None
        Why the attempt before came back.
    order_changed_since : bool
        Whether the order was corrected after the prescription the crew carries.
    asked : frozenset of str
        The requirements of the contract: hold points of its own are shown only where it has them.
    second_reviewers, installers : tuple of str
        Who has looked at the whole proof beside whoever closes it, and who reported the work.
    """

    repair_ref: str
    datum_ref: str
    other_end_ref: str
    run_length_m: float
    diameter_mm: float
    distance_m: float
    defect_extent_m: float
    work_date: date
    limits: Limits
    progress: Progress
    prescribed: Prescribed | None
    working_inputs: WorkingInputs | None
    cure_inputs: CureInputs | None
    evidence: tuple[EvidenceFile, ...]
    pressure: PressureRecord | None
    lots: Mapping[str, LotFacts]
    packers: Mapping[str, PackerFacts]
    attempt: int = 1
    sleeves: tuple["RepairFacts", ...] = ()
    sleeve: int = 1
    returned: Returned | None = None
    order_changed_since: bool = False
    run_ref: str = ""
    asked: frozenset[str] = frozenset()
    second_reviewers: tuple[str, ...] = ()
    installers: tuple[str, ...] = ()

    def moment(self, kind: EventKind) -> Moment | None:
        """Return when the deciding event of a kind happened."""
        event = self.progress.event(kind)
        return None if event is None else moment_of(event)

    def files(self, kind: EvidenceKind) -> tuple[EvidenceFile, ...]:
        """Return the files handed in for a purpose, in order of intake."""
        return tuple(each for each in self.evidence if each.kind is kind)
