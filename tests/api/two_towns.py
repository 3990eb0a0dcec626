"""Two towns with a crew each: what belongs to the second is 'other' for the cast of the first."""

import csv
import io
import json
import zipfile
from base64 import b64encode
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile

from dispatch.pages.plans.ask_form import first_values
from dispatch.services.remind import REMIND
from duework.models import WorkItem
from qa.calculations.registry import CALCULATIONS
from qa.sealed_files import package_path, seal
from qa.upload_parts import begin
from repairs.domain.roles import Role
from repairs.models import Account, Repair
from tests.api.example_catalogue import CATALOGUE, CHART_FILE, CONTRACT
from tests.factories import (
    AccountFactory,
    CrewFactory,
    CrewMemberFactory,
    CustomerFactory,
    DeviceTokenFactory,
    RepairFactory,
    YardFactory,
    now,
)
from tests.field_sequence import event
from tests.order_example import order_row
from tests.proof_factories import (
    AssignmentFactory,
    ClientAnswerFactory,
    CloseoutPackageFactory,
    CollectedPackageFactory,
    ContactFactory,
    EvidenceFactory,
    KnownWayFactory,
    LegalHoldFactory,
    NonconformanceFactory,
    NoticeFactory,
    OnCallFactory,
    PackageLinkFactory,
    PinFactory,
    PlanFactory,
    PlanRunFactory,
    PrescriptionFactory,
    SetAsideFactory,
    UploadFactory,
)
from tests.proved_repair import a_ready_crew

PASSWORD = "an invented password"
UPLOADS = "api/v1/uploads"
PIECE = "application/offset+octet-stream"
WAY_FILE = (
    "from_latitude,from_longitude,to_latitude,to_longitude,minutes,distance_km,note\n"
    "10.0,20.0,10.1,20.1,25,18,invented bridge\n"
)
CALCULATED = {f"api/v1/calculations/{name}": each.example for name, each in CALCULATIONS.items()}


@dataclass(frozen=True)
class Town:
    """A customer's repairs with the crew that does them: one closed, one under way, one to plan."""

    people: dict[str, Account]
    crew: Any
    done: Repair
    going: Repair
    spare: Repair
    ids: dict[str, str]
    """The object of each name in a route: ``repair_id``, ``package_id``..."""
    lists: dict[str, str]
    """For each list route the id that stands in it when the town is in sight."""


def a_town(number: str) -> Town:
    """Make a town with everything a route can name."""
    customer, crew = CustomerFactory(code=f"TOWN-{number}"), CrewFactory(code=f"CREW-{number}")
    member, _, lot = a_ready_crew(crew=crew)
    people = _people(number, customer, member)
    done, going, spare = (RepairFactory(customer=customer) for _ in range(3))
    assignment = AssignmentFactory(repair=going, crew=crew)
    AssignmentFactory(repair=done, crew=crew, starts_at=now() - timedelta(days=2))
    PrescriptionFactory(repair=spare)
    # Sealed under their own hash: the doors of the files are tried with real bytes.
    sealed = seal([f"film of {number}".encode()], most_bytes=100)
    evidence = EvidenceFactory(
        repair=done, kind="clock_photo", sha256=sealed.sha256, derived_sha256=sealed.sha256
    )
    package = CloseoutPackageFactory(closing__repair=done, ready_at=now())
    _put(package_path(package.storage_key))
    collected = CollectedPackageFactory(customer=customer, ready_at=now())
    _put(package_path(collected.storage_key))
    link = PackageLinkFactory(package=package)
    earlier = RepairFactory(customer=customer)
    accepted = ClientAnswerFactory(package__closing__repair=earlier)
    notice = NoticeFactory(crew=crew, repair=going)
    contact = ContactFactory(account=member.account)
    rota = OnCallFactory(account=member.account)
    kept = SetAsideFactory(posted_by=people["crew_lead"])
    plan, run, pin = PlanFactory(), PlanRunFactory(), PinFactory(repair=going, crew=crew)
    yard = YardFactory()
    return Town(
        people=people,
        crew=crew,
        done=done,
        going=going,
        spare=spare,
        ids={
            "repair_id": str(going.id),
            "run_id": str(going.run.id),
            "crew_id": str(crew.id),
            "member_id": str(member.id),
            "token_id": str(DeviceTokenFactory(account=member.account).id),
            "assignment_id": str(assignment.id),
            "equipment_id": str(crew.equipment.get().id),
            "evidence_id": str(evidence.id),
            "nonconformance_id": str(NonconformanceFactory(repair=going).id),
            "package_id": str(package.id),
            "collection_id": str(collected.id),
            "link_id": str(link.id),
            "order_id": str(going.work_order_id),
            "hold_id": str(LegalHoldFactory(work_order=going.work_order).id),
            "item_id": str(a_dead_item(number).id),
            "report_id": str(kept.id),
            "upload_id": str(UploadFactory(repair=going, created_by=people["crew_lead"]).id),
            "notice_id": str(notice.id),
            "contact_id": str(contact.id),
            "on_call_id": str(rota.id),
            "plan_id": str(plan.id),
            "plan_run_id": str(run.id),
            "pin_id": str(pin.id),
            "way_id": str(KnownWayFactory().id),
            "set_id": str(going.work_order.requirement_set_id),
        },
        lists={
            "api/v1/customers": str(customer.id),
            "api/v1/sites": str(going.run.site.id),
            "api/v1/runs": str(going.run.id),
            "api/v1/work-orders": str(going.work_order.id),
            "api/v1/repairs": str(going.id),
            "api/v1/assignments": str(assignment.id),
            "api/v1/notices": str(notice.id),
            "api/v1/notices/stream": str(notice.id),
            "api/v1/contacts": str(contact.id),
            "api/v1/set-aside": str(kept.id),
            "api/v1/packages": str(package.id),
            "api/v1/collections": str(collected.id),
            "api/v1/warranty-inspections": str(accepted.id),
            "packages": str(package.id),
            "api/v1/evidence": str(evidence.id),
            "api/v1/plans": str(plan.id),
            "api/v1/plan-runs": str(run.id),
            "api/v1/pins": str(pin.id),
            "api/v1/yards": str(yard.id),
            "lot": lot.number,
        },
    )


def a_dead_item(number: str) -> WorkItem:
    """Make a piece of due work that was given up."""
    return WorkItem.objects.create(
        kind=REMIND,
        subject_type="repair",
        subject_id=number,
        dedupe_key=f"invented:{number}",
        due_at=now(),
        wanted_at=now(),
        finished_at=now(),
        state=WorkItem.State.DEAD,
        attempts=8,
        last_error="RuntimeError: invented",
    )


def _people(number: str, customer: Any, lead: Any) -> dict[str, Account]:
    member = CrewMemberFactory(crew=lead.crew, account__role=Role.CREW_MEMBER.value)
    people = {
        role.value: AccountFactory(
            role=role.value, customer=customer if role is Role.CLIENT else None
        )
        for role in Role
        if role not in (Role.CREW_LEAD, Role.CREW_MEMBER)
    }
    signer = AccountFactory.build(username=f"signer-{number}")
    signer.set_password(PASSWORD)
    signer.save()
    return {**people, "crew_lead": lead.account, "crew_member": member.account, "signer": signer}


def body_of(route: str, town: Town) -> tuple[Any, str]:
    """Return a body that the route understands, about the town, and its format or media type."""
    sent = {
        **_places(town),
        **_work(town),
        **_plans(town),
        **_proof(town),
        **CATALOGUE,
        **CALCULATED,
    }.get(route, {})
    if route.startswith(UPLOADS):
        return b"", PIECE
    files = tuple(
        f"api/v1/{name}" for name in ("order-files", "chart-files", "known-way-files", "evidence")
    )
    if route in files or not route.startswith("api/"):
        return sent, "multipart"
    return json.dumps(sent), "application/json"


def headers_of(route: str, method: str, town: Town) -> dict[str, str]:
    """Return the headers that make a request to the route a good one."""
    if not route.startswith(UPLOADS):
        return {"If-Match": "*"} if method == "PATCH" else {}
    # Its bytes are no row: what an earlier request removed is not rolled back.
    begin(town.ids["upload_id"])
    said = {"repair": str(town.going.id), "kind": "other_photo"}
    words = ",".join(f"{key} {b64encode(value.encode()).decode()}" for key, value in said.items())
    return {
        "Tus-Resumable": "1.0.0",
        "Upload-Offset": "0",
        "Upload-Length": "12",
        "Upload-Metadata": words,
        "X-HTTP-Method-Override": "PATCH",
    }


def _places(town: Town) -> dict[str, Any]:
    customer = town.going.work_order.customer.code
    contract = str(town.going.work_order.requirement_set_id)
    row = order_row(work_order="WO-NEW", site="S-NEW")
    sheet = io.StringIO()
    writer = csv.DictWriter(sheet, list(row))
    writer.writeheader()
    writer.writerow(row)
    orders = SimpleUploadedFile("orders.csv", sheet.getvalue().encode())
    signer = town.people["signer"].username
    phone = town.people["crew_lead"].username
    zone = "CET"
    return {
        "api/v1/session": {"username": signer, "password": PASSWORD},
        "login": {"username": signer, "password": PASSWORD},
        "api/v1/device-tokens": {"username": phone, "label": "invented phone"},
        "api/v1/customers": {"code": "TOWN-NEW", "name": "Invented new town"},
        "api/v1/sites": {"customer": customer, "ref": "S-NEW", "street": "x", "time_zone": zone},
        "api/v1/work-orders": {"customer": customer, "requirement_set": contract, "rows": [row]},
        "api/v1/order-files": {"customer": customer, "requirement_set": contract, "file": orders},
        "api/v1/chart-files": {"file": SimpleUploadedFile("charts.csv", CHART_FILE.encode())},
        "api/v1/known-way-files": {"file": SimpleUploadedFile("ways.csv", WAY_FILE.encode())},
        "api/v1/crews": {"code": "CREW-NEW", "name": "Invented", "time_zone": zone},
    }


def _work(town: Town) -> dict[str, Any]:
    tomorrow = now() + timedelta(days=1)
    warm = {"value": 20, "unit": "degC"}
    day = tomorrow.date().isoformat()
    photo = SimpleUploadedFile("photo.jpg", b"invented photo")
    crew = "api/v1/crews/<uuid:crew_id>"
    return {
        "api/v1/repairs/<uuid:repair_id>/prescriptions": {
            "wall_temperature": warm,
            "resin_temperature": warm,
        },
        "api/v1/repairs/<uuid:repair_id>": {"note": "an invented correction"},
        "api/v1/wall-forecasts": {
            "site": str(town.going.run.site_id),
            "day": day,
            "wall_temperature": warm,
            "source": "invented",
        },
        "api/v1/packages/<uuid:package_id>/links": {"hours": 24},
        "api/v1/work-orders/<uuid:order_id>/legal-holds": {"reason": "invented claim"},
        "api/v1/legal-holds/<uuid:hold_id>/lift": {"reason": "invented settlement"},
        "api/v1/collections": {"work_order": str(town.done.work_order_id)},
        "api/v1/runs/<uuid:run_id>": {"material": "invented clay"},
        "api/v1/equipment/<uuid:equipment_id>": {"test_due_on": day},
        "api/v1/evidence/<uuid:evidence_id>/shown-time": {
            "shown_at": now().isoformat(),
            "trusted": True,
        },
        "api/v1/evidence/<uuid:evidence_id>/take-back": {"reason": "invented mistake"},
        "set-aside": {"report": town.ids["report_id"], "reason": "invented", "drop": "1"},
        "api/v1/set-aside/<uuid:report_id>/drop": {"reason": "invented mistake"},
        "api/v1/set-aside/<uuid:report_id>/send-again": {
            "event": event(str(town.going.id), "arrived", now())
        },
        f"{crew}/members": {"name": "Invented newcomer"},
        f"{crew}/equipment": {"kind": "gauge", "serial": "G-NEW", "test_due_on": day},
        f"{crew}/kits": {"lot": town.lists["lot"], "quantity": 3},
        "api/v1/crew-members/<uuid:member_id>/qualifications": {
            "kind": "first aid",
            "expires_on": day,
        },
        "api/v1/lots": {
            "number": "LOT-NEW",
            "kit_type": "KIT-300",
            "resin_lot_a": "A",
            "resin_lot_b": "B",
            "expires_on": day,
        },
        "api/v1/assignments": {
            "repair": str(town.spare.id),
            "crew": town.crew.code,
            "starts_at": tomorrow.isoformat(),
            "ends_at": (tomorrow + timedelta(hours=5)).isoformat(),
        },
        "api/v1/due-work/items/<uuid:item_id>/ruling": {"word": "retry", "reason": "invented"},
        "api/v1/assignments/<uuid:assignment_id>/cancel": {"reason": "invented rain"},
        "api/v1/contacts": {"channel": "webhook", "address": "https://gateway.example/told"},
        "contacts": {"channel": "webhook", "address": "https://gateway.example/told"},
        "api/v1/on-call": {
            "account": town.people["dispatcher"].username,
            "starts_at": now().isoformat(),
            "ends_at": tomorrow.isoformat(),
        },
        "notices/<uuid:notice_id>/acknowledge": {"back": "/"},
        "api/v1/field-events": event(town.going.id, "arrived", now()),
        "api/v1/evidence": {"repair": str(town.going.id), "kind": "other_photo", "file": photo},
    }


def _plans(town: Town) -> dict[str, Any]:
    day = (now() + timedelta(days=1)).date().isoformat()
    crew = "api/v1/crews/<uuid:crew_id>"
    where = {"latitude": 1, "longitude": 2}
    return {
        "api/v1/yards": {"code": "YARD-NEW", "name": "Invented", **where},
        f"{crew}/planning": {"most_overtime_min": 30},
        f"{crew}/hours": {"on": day, "note": "invented holiday"},
        "api/v1/pins": {"repair": str(town.spare.id), "on": day, "reason": "invented"},
        "api/v1/plan-prices": {"prices": {"change_s": 7200}},
        "api/v1/plans": {"starts_on": day, "days": 1},
        "api/v1/plans/<uuid:plan_id>/move": {"repair": str(town.spare.id)},
        "plans": {**first_values(now().date()), "starts_on": day, "ends_on": day},
        "plans/<uuid:plan_id>/what-if": {"search_s": 1},
        "known-ways": {"file": SimpleUploadedFile("ways.csv", WAY_FILE.encode())},
        "plans/<uuid:plan_id>/repairs/<uuid:repair_id>": {
            "act": "pin",
            "pin-on": day,
            "pin-reason": "invented",
        },
    }


def _proof(town: Town) -> dict[str, Any]:
    repair = "api/v1/repairs/<uuid:repair_id>"
    person = {"name": "Invented Person", "role": "engineer", "reason": "invented"}
    return {
        f"{repair}/waivers": {"requirement": "wet_out_photo", **person},
        "api/v1/requirement-sets/check": CONTRACT,
        f"{repair}/judgements": {"requirement": "wet_out_photo", "reason": "invented"},
        f"{repair}/second-reviews": {"words": "invented"},
        f"{repair}/nonconformances": {"code": "seen", "words": "invented"},
        "api/v1/nonconformances/<uuid:nonconformance_id>/decision": {
            "disposition": "dig and refer",
            "reason": "invented",
        },
        "api/v1/nonconformances/<uuid:nonconformance_id>/withdraw": {"reason": "invented"},
        "api/v1/packages/<uuid:package_id>/answer": {"answer": "accepted"},
        "packages/<uuid:package_id>": {"answer": "accepted", "note": ""},
        "packages": {"order": town.done.work_order.number},
        "packages/<uuid:package_id>/share": {"hours": "24"},
        **_at_the_repair(town, person),
    }


def _at_the_repair(town: Town, person: dict[str, str]) -> dict[str, Any]:
    page, seen = "repairs/<uuid:repair_id>", {"attempt": "1"}
    return {
        f"{page}/waive": {**seen, "requirement": "wet_out_photo", **person},
        f"{page}/judge": {**seen, "requirement": "wet_out_photo", "reason": "invented"},
        f"{page}/look": {**seen, "words": "invented"},
        f"{page}/close": {**seen, "sure": "yes"},
        f"{page}/decide": {
            **seen,
            "nonconformance": town.ids["nonconformance_id"],
            "disposition": "dig and refer",
            "reason": "invented",
        },
        f"{page}/seen": {**seen, "words": "invented"},
        f"{page}/withdraw": {
            **seen,
            "nonconformance": town.ids["nonconformance_id"],
            "reason": "invented",
        },
        f"{page}/done": {"nonconformance": town.ids["nonconformance_id"], "attempt": "1"},
    }


def _put(path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("invented/data/report.pdf", b"%PDF-1.7 invented")
