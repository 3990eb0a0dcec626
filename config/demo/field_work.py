"""One invented repair in the street: its events and its evidence, as a crew's phone keeps them."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any
from uuid import UUID

from config.demo import evidence

KPA_PER_PSI = 6.894757
READ_EVERY_MIN = 10
WALL_C = 22.0
RESIN_C = 21.0


@dataclass(frozen=True)
class Plan:
    """How the work goes, and what goes wrong.

    Parameters
    ----------
    hold_min : int
        Minutes under pressure; the invented chart and log ask for about 115.
    film_after_min : int
        Start of the post-repair film, minutes after the deflation (negative: before).
    live : bool
        The day ends while the sleeve is still under pressure.
    """

    repair: dict[str, Any]
    crew: str
    packer: str
    lot: str
    resin_lots: tuple[str, str]
    masses_kg: tuple[float, float]
    starts_at: datetime
    hold_min: int = 125
    film_after_min: int = 15
    dip: bool = False
    live: bool = False
    seed: int = 1


@dataclass
class Notebook:
    """What the phone has written down so far: events, and files with their fields."""

    plan: Plan
    folder: Path
    events: list[dict[str, Any]] = field(default_factory=list)
    files: list[tuple[Path, dict[str, str]]] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Begin the notebook with ids that are the same in each run of the day."""
        self.random = Random(self.plan.repair["id"])
        self.folder.mkdir(parents=True, exist_ok=True)

    def note(self, kind: str, at: datetime, **data: Any) -> None:
        """Write down an event."""
        self.events.append(
            {
                "specversion": "1.0",
                "id": str(UUID(int=self.random.getrandbits(128), version=4)),
                "source": f"phone-{self.plan.crew}",
                "type": f"curewright.field.{kind}",
                "subject": self.plan.repair["id"],
                "time": at.isoformat(timespec="seconds"),
                "sequence": len(self.events) + 1,
                "datacontenttype": "application/json",
                "data": data,
            }
        )

    def keep(self, name: str, kind: str, title: str, at: datetime) -> Path:
        """Keep a file and return where to write it."""
        path = self.folder / name
        fields = {
            "repair": self.plan.repair["id"],
            "kind": kind,
            "title": title,
            "device": f"phone-{self.plan.crew}",
            "captured_at": at.isoformat(timespec="seconds"),
        }
        self.files.append((path, fields))
        return path


def work(plan: Plan, folder: Path) -> Notebook:
    """Do the whole repair on paper: every step with its time, every file with its content."""
    book = Notebook(plan, folder)
    mixing_at = _prepare(book)
    inflated_at = _install(book, mixing_at)
    if plan.live:
        _read_temperatures(book, inflated_at, minutes=20)
        return book
    deflated_at = _cure(book, inflated_at)
    _finish(book, deflated_at)
    return book


def new_film(book: Notebook, at: datetime) -> None:
    """Film the finished repair again."""
    path = book.keep("post-again.mp4", "post_repair_film", "Finished repair, filmed again", at)
    ref = book.plan.repair["ref"]
    evidence.film(path, title="Finished repair", repair_ref=ref, started_at=at)
    book.note("filmed", at, wrinkle=_mm(3), ends_sealed=True, connections_open=True)


def _prepare(book: Notebook) -> datetime:
    plan, t = book.plan, book.plan.starts_at
    ref, distance = plan.repair["ref"], plan.repair["distance"]["value"]
    datum = plan.repair["datum"]
    book.note("loaded_out", t, packer=plan.packer, kit_lot=plan.lot, checked=["kit", "packer"])
    book.note("arrived", t + _min(12))
    book.note(
        "made_safe",
        t + _min(20),
        traffic_set=True,
        flow_controlled=True,
        entry_planned=False,
        oxygen_percent=20.8,
        flammable_percent_lel=0,
        hydrogen_sulphide_ppm=1,
        carbon_monoxide_ppm=0,
    )
    film = book.keep("pre.mp4", "pre_repair_film", "Before the repair", t + _min(24))
    evidence.film(film, title="Before", repair_ref=ref, started_at=t + _min(24))
    book.note("inspected", t + _min(26), clean=True, sharp_edges=False, sleeve_can_pass=True)
    book.note(
        "distance_marked", t + _min(32), datum=datum, counter=_m(distance), tape=_m(distance + 0.04)
    )
    photo = book.keep("mark.jpg", "distance_mark_photo", "Mark at the access edge", t + _min(33))
    evidence.photo(
        photo,
        sketch="cable_mark",
        title=f"{ref}  distance mark",
        lines=[f"counter {distance:.2f} m, tape {distance + 0.04:.2f} m from {datum}"],
        at=t + _min(33),
        value=distance,
        seed=plan.seed,
    )
    _test_the_packer(book)
    return t + _min(54)


def _test_the_packer(book: Notebook) -> None:
    plan, t = book.plan, book.plan.starts_at
    book.note("dry_run_done", t + _min(39), reached_mark=True)
    book.note("film_changed", t + _min(43))
    book.note(
        "hold_test_done",
        t + _min(50),
        start_pressure=_psi(4.8),
        end_pressure=_psi(4.8),
        duration=_minutes(6),
        gauge_resolution=_psi(0.05),
        start_temperature=_c(20),
        end_temperature=_c(20),
        packer=plan.packer,
        fully_round=True,
    )
    gauge = book.keep("hold.jpg", "hold_test_photo", "Gauge at the hold test", t + _min(50))
    evidence.photo(
        gauge,
        sketch="gauge",
        title=f"{plan.repair['ref']}  hold test",
        lines=["4.80 psi at the start and after 6 min", f"packer {plan.packer}"],
        at=t + _min(50),
        value=4.8,
        seed=plan.seed,
    )


def _install(book: Notebook, mixing_at: datetime) -> datetime:
    plan = book.plan
    ref, distance = plan.repair["ref"], plan.repair["distance"]["value"]
    book.note(
        "mixing_started",
        mixing_at,
        resin_temperature=_c(RESIN_C),
        kit_lot=plan.lot,
        lot_a=plan.resin_lots[0],
        lot_b=plan.resin_lots[1],
        mass_a={"value": round(plan.masses_kg[0], 2), "unit": "kg"},
        mass_b={"value": round(plan.masses_kg[1], 2), "unit": "kg"},
    )
    book.note("temperature_read", mixing_at + _min(1), temperature=_c(RESIN_C), where="resin")
    book.note("wet_out_done", mixing_at + _min(7), saturated=True, uniform_colour=True)
    photo = book.keep("wet-out.jpg", "wet_out_photo", "Sleeve wet out", mixing_at + _min(7))
    evidence.photo(
        photo,
        sketch="wet_out",
        title=f"{ref}  wet-out",
        lines=[f"lot {plan.lot}, both sides saturated"],
        at=mixing_at + _min(7),
        seed=plan.seed,
    )
    book.note(
        "placed",
        mixing_at + _min(12),
        datum=plan.repair["datum"],
        distance=_m(distance + 0.03),
        ends_seen=True,
    )
    inflated_at = mixing_at + _min(14)
    book.note("inflated", inflated_at, pressure=_psi(4.8))
    return inflated_at


def _cure(book: Notebook, inflated_at: datetime) -> datetime:
    plan = book.plan
    deflated_at = inflated_at + _min(plan.hold_min)
    _read_temperatures(book, inflated_at, minutes=plan.hold_min)
    log = book.keep("pressure.csv", "pressure_log", "Pressure through the cure", inflated_at)
    dip = evidence.Dip(inflated_at + _min(40), 18.0, 300) if plan.dip else None
    evidence.pressure_csv(
        log,
        start=inflated_at,
        end=deflated_at,
        hold_kpa=4.8 * KPA_PER_PSI,
        dip=dip,
        wall_start_c=WALL_C,
        wall_settled_c=WALL_C - 0.5,
        seed=plan.seed,
    )
    book.note("deflated", deflated_at, by_vacuum=True)
    return deflated_at


def _finish(book: Notebook, deflated_at: datetime) -> None:
    plan = book.plan
    film_at = deflated_at + _min(plan.film_after_min)
    book.note("withdrawn", deflated_at + _min(8), film_came_out=True)
    film = book.keep("post.mp4", "post_repair_film", "Finished repair", film_at)
    evidence.film(film, title="Finished repair", repair_ref=plan.repair["ref"], started_at=film_at)
    book.note("filmed", film_at, wrinkle=_mm(3), ends_sealed=True, connections_open=True)
    book.note(
        "left",
        deflated_at + _min(28),
        flow_restored=True,
        connections_open=True,
        site_clean=True,
        residents_told=True,
    )


def _read_temperatures(book: Notebook, inflated_at: datetime, *, minutes: int) -> None:
    for minute in range(0, minutes + 1, READ_EVERY_MIN):
        wall = evidence.wall_temperature(60.0 * minute, start_c=WALL_C, settled_c=WALL_C - 0.5)
        book.note(
            "temperature_read",
            inflated_at + _min(minute),
            temperature=_c(round(wall, 1)),
            where="pipe_wall",
        )


def _min(minutes: float) -> timedelta:
    return timedelta(minutes=minutes)


def _q(value: float, unit: str) -> dict[str, Any]:
    return {"value": round(value, 3), "unit": unit}


def _m(value: float) -> dict[str, Any]:
    return _q(value, "m")


def _mm(value: float) -> dict[str, Any]:
    return _q(value, "mm")


def _psi(value: float) -> dict[str, Any]:
    return _q(value, "psi")


def _c(value: float) -> dict[str, Any]:
    return _q(value, "degC")


def _minutes(value: float) -> dict[str, Any]:
    return _q(value, "min")
