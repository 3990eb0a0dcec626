"""One package for a whole order or month: complete, found by pipe, checked by outside readers."""

import csv
import io
import json
import zipfile
from dataclasses import replace
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

import bagit
import geojson
import pypdf
import pytest
from django.utils import timezone

from qa.closeout.collection import quantities_csv
from qa.closeout.verify_package import problems
from qa.domain.collection import Collection, Member, index
from qa.models import CollectedPackage
from qa.sealed_files import package_path
from qa.services.answer import answer_package
from qa.services.close import close
from qa.services.collect import build_collection
from repairs.models import Account, Customer
from tests.callers import API, signed_in
from tests.factories import AccountFactory, CustomerFactory, RepairFactory
from tests.finished_package import a_package
from tests.page_reader import look
from tests.proved_repair import ProvedRepair, a_proved_repair, do_due_work
from tests.qa.closeout_example import example

pytestmark = pytest.mark.django_db
PATH = f"{API}/collections"


class OwnLease:
    """A lease nobody takes away."""

    def report(self, _percent: int) -> None:
        """Watch nothing."""

    def check(self) -> None:
        """Hold on."""


@pytest.fixture(scope="module")
def closed(module_rows: None, tmp_path_factory: pytest.TempPathFactory) -> ProvedRepair:  # noqa: ARG001
    """Return a repair whose package is ready, in an order with another one not closed."""
    ready = a_proved_repair(tmp_path_factory.mktemp("evidence"))
    close(repair=ready.repair, by=ready.reviewer, now=timezone.now())
    RepairFactory(work_order=ready.repair.work_order, run=ready.repair.run, ref="REP-LATER")
    do_due_work()
    return ready


def collected(account: Account, body: dict[str, Any], folder: Path) -> tuple[dict[str, Any], Path]:
    """Ask for a collection, have it built, fetch and unpack it."""
    caller = signed_in(account)
    asked = caller.post(PATH, body)
    assert asked.status_code == 201, asked.json()
    early = caller.get(f"{PATH}/{asked.json()['id']}/file")
    assert (early.status_code, early.json()["code"]) == (409, "not_ready")
    do_due_work()
    told = caller.get(f"{PATH}/{asked.json()['id']}").json()
    fetched = caller.get(f"{PATH}/{told['id']}/file")
    with zipfile.ZipFile(io.BytesIO(b"".join(fetched.streaming_content))) as archive:
        archive.extractall(folder)
        top = archive.namelist()[0].split("/")[0]
    return told, folder / top


def test_an_order_is_collected_with_what_is_still_open(
    closed: ProvedRepair, tmp_path: Path
) -> None:
    """The client gets a bag of bags: index, map, sums, packages, all of it checked by others."""
    client = AccountFactory(role="client", customer=closed.repair.work_order.customer)
    body = {"work_order": str(closed.repair.work_order_id)}
    told, folder = collected(client, body, tmp_path)

    assert (told["packages"], told["not_closed"]) == (1, ["REP-LATER"])
    assert told["progress_percent"] == 100
    bagit.Bag(str(folder)).validate()
    assert problems(folder) == []
    readme = (folder / "README.txt").read_text()
    assert "NOT CLOSED YET, so not here as they will be: REP-LATER" in readme
    key = json.loads((folder / "signature.json").read_text())["key_id"]
    assert f"by the key with this id:\n  {key}" in readme
    assert "pay by data/statement.csv" in " ".join(readme.split())
    (line,) = csv.DictReader((folder / "data/index.csv").open(newline=""))
    assert line["run_ref"] == closed.repair.run.ref
    assert line["repair_ref"] == closed.repair.ref
    assert (line["requirements"], line["met"]) == ("20", "20")
    places = geojson.loads((folder / "data/position.geojson").read_text())
    assert places.is_valid
    assert {each["properties"]["kind"] for each in places["features"]} == {
        "run", "access point", "defect", "sleeve",
    }  # fmt: skip
    statement = (folder / "data/statement.csv").read_bytes()
    assert b"not answered yet" in statement
    printed = pypdf.PdfReader(folder / "data/statement.pdf")
    assert sha256(statement).hexdigest() in printed.pages[0].extract_text()
    assert {"data/statement.pdf", "data/statement.csv"} <= set(readme.split())
    inner = next((folder / "data/packages").iterdir())
    with zipfile.ZipFile(inner) as archive:
        archive.extractall(tmp_path / "inner")
    bagit.Bag(str(next((tmp_path / "inner").iterdir()))).validate()


def test_a_month_is_that_of_the_site(closed: ProvedRepair, tmp_path: Path) -> None:
    """Closed now: this month by the site's calendar, and not another one."""
    customer = closed.repair.work_order.customer.code
    month = timezone.now().astimezone(UTC)
    body = {"customer": customer, "month": f"{month:%Y-%m}"}

    told, folder = collected(closed.dispatcher, body, tmp_path)
    other = signed_in(closed.dispatcher).post(PATH, {"customer": customer, "month": "2001-01"})

    assert told["of"] == body["month"]
    assert len(list((folder / "data/packages").iterdir())) == 1
    assert (other.status_code, other.json()["code"]) == (409, "nothing_to_collect")


def test_built_again_it_is_the_same_file(closed: ProvedRepair) -> None:
    """After a crash in the middle there is one package with one hash."""
    body = {"work_order": str(closed.repair.work_order_id)}
    asked = signed_in(closed.dispatcher).post(PATH, body).json()
    do_due_work()
    row = CollectedPackage.objects.get(pk=asked["id"])
    package_path(row.storage_key).unlink()

    again = build_collection(package_id=row.pk, lease=OwnLease(), now=timezone.now())  # type: ignore[arg-type]

    assert (again.sha256, again.size) == (row.sha256, row.size_bytes)


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"month": "2031-03"},
        {"customer": "TOWN-ONE"},
        {"customer": "TOWN-ONE", "month": "2031-13"},
        {"customer": "TOWN-ONE", "month": "0000-01"},
        {"work_order": "7", "customer": "TOWN-ONE", "month": "2031-03"},
    ],
)
def test_what_is_collected_must_be_said(dispatcher: Account, body: dict[str, str]) -> None:
    """An order, or customer and month; nothing else, and nothing half."""
    answer = signed_in(dispatcher).post(PATH, body)

    assert answer.status_code == 422, answer.json()
    assert "pattern" not in answer.json()["detail"]


def test_what_is_not_closed_stands_in_the_order_people_count_in(dispatcher: Account) -> None:
    """R-6 before R-10, in the answer, on the page and in the statement."""
    client = AccountFactory(role="client", customer=CustomerFactory(code="TOWN-TWO"))
    order = a_package(client, "R-1").closing.repair.work_order
    run = order.repairs.get().run
    for ref in ("R-11", "R-6", "R-10"):
        RepairFactory(work_order=order, run=run, ref=ref)
    office = signed_in(dispatcher)

    told = office.post(PATH, {"work_order": str(order.pk)}).json()
    statement = office.get(f"{API}/statements", {"work_order": str(order.pk)}).json()

    assert told["not_closed"] == statement["not_closed"] == ["R-6", "R-10", "R-11"]
    assert "R-6, R-10, R-11" in look(dispatcher, "/packages").text


def test_the_index_counts_its_pipes_as_people_do(tmp_path: Path) -> None:
    """Run 9 before run 10; in a run by the distance."""
    facts = example(tmp_path, photos=0).facts
    members = [
        Member(replace(facts, run=replace(facts.run, ref=ref)), ref, "x.zip", "ab" * 32, 1, "")
        for ref in ("RUN-10", "RUN-9")
    ]

    assert [line.run_ref for line in index(members)] == ["RUN-9", "RUN-10"]


def test_an_order_is_not_cut_to_a_month(dispatcher: Account, customer: Customer) -> None:
    """Both together are refused, each field that is one too many by its name; none is ignored."""
    order = RepairFactory(customer=customer).work_order
    body = {"work_order": str(order.pk), "customer": customer.code, "month": "2031-03"}

    answer = signed_in(dispatcher).post(PATH, body)

    assert answer.status_code == 422
    assert [each["field"] for each in answer.json()["errors"]] == ["customer", "month"]
    assert not CollectedPackage.objects.exists()


def test_a_client_collects_only_its_own(client_user: Account) -> None:
    """Another town's order and month are not there."""
    other = AccountFactory(role="client", customer=CustomerFactory(code="TOWN-TWO"))
    package = a_package(other)
    own = signed_in(client_user)

    order = own.post(PATH, {"work_order": str(package.closing.repair.work_order_id)})
    month = own.post(PATH, {"customer": "TOWN-TWO", "month": "2031-03"})

    assert (order.status_code, month.status_code) == (404, 404)


def test_a_returned_repair_is_open_again(client_user: Account) -> None:
    """Its first attempt is collected, and it is named as not closed: the newest has no package."""
    package = a_package(client_user)
    order = package.closing.repair.work_order
    other = a_package(client_user, ref="REP-2")
    other.closing.repair.work_order = order
    other.closing.repair.save()
    reasons = [{"requirement": "hold_test", "note": "not to be read"}]
    answer_package(
        package=package, answer="returned", reasons=reasons, note="", by=client_user,
        now=timezone.now(),
    )  # fmt: skip

    told = signed_in(client_user).post(PATH, {"work_order": str(order.id)}).json()
    paid = signed_in(client_user).get(f"{API}/statements", {"work_order": str(order.id)}).json()

    assert (told["packages"], told["not_closed"]) == (2, [package.closing.repair.ref])
    assert paid["not_closed"] == [package.closing.repair.ref]


def test_the_index_is_sorted_by_pipe_and_nothing_is_summed_twice(tmp_path: Path) -> None:
    """Three repairs of two pipes: the owner walks along the pipe; the statement alone has sums."""
    made = example(tmp_path, photos=1).facts
    members = tuple(
        Member(
            replace(
                made,
                repair=replace(made.repair, ref=ref, defect_distance_m=at),
                run=replace(made.run, ref=run),
            ),
            ref, f"{ref}.zip", "ab" * 32, 10, "accepted",
        )
        for ref, run, at in (("R-3", "RUN-B", 5.0), ("R-1", "RUN-A", 30.0), ("R-2", "RUN-A", 7.5))
    )  # fmt: skip
    whole = Collection("id", "2031-03", "Town", "TOWN", "Contractor", members, (),
                       datetime(2031, 4, 1, tzinfo=UTC), True, "")  # fmt: skip

    assert [each.repair_ref for each in index(members)] == ["R-2", "R-1", "R-3"]
    rows = csv.DictReader(io.StringIO(quantities_csv(whole).decode(), newline=""))
    assert [row["repair_ref"] for row in rows if row["pay_item"] == "4.02"] == ["R-3", "R-1", "R-2"]
