"""A repair that is truly proved: prescribed, assigned, reported and shown, through the API.

Only the clock is helped: the day lies so far back that its last step is over.
The files are the demonstration's own invented photos, films and pressure log.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from rest_framework.test import APIClient

from config.demo.evidence import film, photo, pressure_csv
from dispatch.models import Crew, CrewMember, Equipment, Lot
from duework.runner import run_due
from repairs.domain.roles import Role
from repairs.models import Account, Repair
from tests.callers import API, post_batch, signed_in, with_token
from tests.factories import (
    AccountFactory,
    CrewMemberFactory,
    EquipmentFactory,
    KitStockFactory,
    KitTypeFactory,
    QualificationFactory,
    RepairFactory,
    now,
)
from tests.field_sequence import LAST_MIN, MINUTES, whole_sequence

DAY_ENDED_MIN = 12
"""The last step lies so long back, so that every clock's error is over."""

SKETCH_OF = {
    "distance_mark_photo": "cable_mark",
    "lot_label_photo": "kit_label",
    "wet_out_photo": "wet_out",
}


@dataclass(frozen=True)
class ProvedRepair:
    """A repair with everybody and everything that belongs to it."""

    repair: Repair
    crew: Crew
    lead: Account
    dispatcher: Account
    reviewer: Account
    packer: Equipment
    lot: Lot
    start: datetime
    evidence: dict[str, str]

    def at(self, step: str) -> datetime:
        """Return when a step happened."""
        return self.start + timedelta(minutes=MINUTES[step])


def a_ready_crew(*, crew: Crew | None = None) -> tuple[CrewMember, Equipment, Lot]:
    """Return a lead whose crew has the qualification, the packer and the kits in date."""
    lead = CrewMemberFactory(lead=True) if crew is None else CrewMemberFactory(lead=True, crew=crew)
    QualificationFactory(member=lead)
    packer = EquipmentFactory(crew=lead.crew)
    stock = KitStockFactory(crew=lead.crew, lot__kit_type=KitTypeFactory())
    return lead, packer, stock.lot


def prescribed(dispatcher: Account, repair: Repair, wall_c: float = 20.0) -> dict[str, Any]:
    """Have the repair prescribed by the API and return the answer."""
    body = {
        "wall_temperature": {"value": wall_c, "unit": "degC"},
        "resin_temperature": {"value": 20, "unit": "degC"},
    }
    answer = signed_in(dispatcher).post(f"{API}/repairs/{repair.id}/prescriptions", body)
    assert answer.status_code == 201, answer.json()
    return dict(answer.json())


def assigned(dispatcher: Account, repair: Repair, crew: Crew, start: datetime) -> dict[str, Any]:
    """Have the repair assigned by the API and return the answer."""
    body = {
        "repair": str(repair.id),
        "crew": crew.code,
        "starts_at": start.isoformat(),
        "ends_at": (start + timedelta(minutes=LAST_MIN)).isoformat(),
    }
    answer = signed_in(dispatcher).post(f"{API}/assignments", body)
    assert answer.status_code == 201, answer.json()
    return dict(answer.json())


def a_planned_repair(**given: Any) -> ProvedRepair:
    """Return a repair that is prescribed and assigned, with nothing reported yet."""
    lead, packer, lot = a_ready_crew()
    repair = RepairFactory(**given)
    dispatcher = AccountFactory()
    start = now() - timedelta(minutes=LAST_MIN + DAY_ENDED_MIN)
    prescribed(dispatcher, repair)
    assigned(dispatcher, repair, lead.crew, start)
    reviewer = AccountFactory(role=Role.REVIEWER.value)
    return ProvedRepair(
        repair, lead.crew, lead.account, dispatcher, reviewer, packer, lot, start, {}
    )


def report(planned: ProvedRepair, *, skip: frozenset[str] = frozenset()) -> list[dict[str, Any]]:
    """Post the whole field sequence but the steps to `skip`, as one batch; return what was sent."""
    row = planned.repair.prescriptions.order_by("-number").first()
    assert row is not None
    assert row.result is not None
    resin = row.result["resin"]
    events = [
        event
        for event in whole_sequence(
            planned.repair,
            planned.start,
            lot=planned.lot,
            packer=planned.packer.serial,
            masses=(resin["part_a_kg"], resin["part_b_kg"]),
        )
        if event["type"].rpartition(".")[2] not in skip
    ]
    told = {"Device-Time": now().isoformat()}
    answer = post_batch(with_token(planned.lead), events, **told)
    assert {item["status"] for item in answer.json()} == {"stored"}, answer.json()
    return events


def make_files(planned: ProvedRepair, folder: Path) -> dict[str, tuple[Path, datetime]]:
    """Make each file the contract asks for, with the time it was taken."""
    ref = planned.repair.ref
    before, after = planned.at("inspected"), planned.at("filmed")
    inflated, deflated = planned.at("inflated"), planned.at("deflated")
    made = {
        "pre_repair_film": (folder / "before.mp4", before),
        "post_repair_film": (folder / "after.mp4", after),
        "distance_mark_photo": (folder / "mark.jpg", planned.at("distance_marked")),
        "lot_label_photo": (folder / "lots.jpg", planned.at("mixing_started")),
        "wet_out_photo": (folder / "wet.jpg", planned.at("wet_out_done")),
        "pressure_log": (folder / "log.csv", inflated),
    }
    for kind in ("pre_repair_film", "post_repair_film"):
        path, at = made[kind]
        film(path, title=kind, repair_ref=ref, started_at=at, seconds=0.5)
    for kind, sketch in SKETCH_OF.items():
        path, at = made[kind]
        photo(path, sketch=sketch, title=kind, lines=[ref], at=at)
    pressure_csv(
        made["pressure_log"][0],
        start=inflated,
        end=deflated,
        hold_kpa=33.0,
        wall_start_c=22.0,
        wall_settled_c=20.0,
    )
    return made


def hand_in(
    client: APIClient, repair: Repair, kind: str, path: Path, at: datetime | None, **more: Any
) -> Any:
    """Upload one file."""
    with path.open("rb") as file:
        body = {"repair": str(repair.id), "kind": kind, "file": file, **more}
        if at is not None:
            body["captured_at"] = at.isoformat()
        told = {"Device-Time": now().isoformat()}
        return client.post(f"{API}/evidence", body, format="multipart", headers=told)


def a_proved_repair(
    folder: Path, *, without: frozenset[str] = frozenset(), **given: Any
) -> ProvedRepair:
    """Return a repair of which everything is reported and shown, so that it may close.

    `without` names steps not reported and files not handed in.
    """
    planned = a_planned_repair(**given)
    report(planned, skip=without)
    phone = with_token(planned.lead)
    for kind, (path, at) in make_files(planned, folder).items():
        if kind not in without:
            answer = hand_in(phone, planned.repair, kind, path, at)
            assert answer.status_code == 201, answer.json()
            planned.evidence[kind] = answer.json()["id"]
    do_due_work()
    return planned


def do_due_work() -> None:
    """Do everything that is due, and what becomes due by it."""
    while run_due():
        pass
