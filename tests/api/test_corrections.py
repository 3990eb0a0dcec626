"""The office corrects and completes orders until work begins; nobody overwrites anybody."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from rest_framework.test import APIClient

from repairs.domain.progress import Stage
from repairs.models import Account, Repair
from tests.api.test_problems import check
from tests.callers import API, signed_in
from tests.factories import (
    AccessPointFactory,
    CrewFactory,
    EquipmentFactory,
    KitTypeFactory,
    RepairFactory,
    RunFactory,
    now,
)
from tests.proved_repair import a_ready_crew

pytestmark = pytest.mark.django_db
WARM = {"value": 20, "unit": "degC"}
DAY = {"wall_temperature": WARM, "resin_temperature": WARM}


@pytest.fixture
def office(dispatcher: Account) -> APIClient:
    """Return the dispatcher at the door."""
    return signed_in(dispatcher)


@pytest.fixture
def repair(db: None) -> Repair:  # noqa: ARG001 - rows need the database
    """Return a repair just ordered: DN 300, 40 m long, a crack at 14.2 m."""
    return RepairFactory()


def change(office: APIClient, path: str, body: dict[str, Any], seen: str | None = None) -> Any:
    """Fetch, then correct what was fetched."""
    seen = seen or office.get(f"{API}/{path}")["ETag"]
    return office.patch(f"{API}/{path}", body, headers={"If-Match": seen})


def prescribe(office: APIClient, repair: Repair) -> Any:
    """Calculate a prescription."""
    return office.post(f"{API}/repairs/{repair.id}/prescriptions", DAY)


def test_what_was_not_known_is_completed(office: APIClient) -> None:
    """The answer shows the order as it is now, and a repair that could not be judged is fit."""
    KitTypeFactory()
    repair = RepairFactory(void_behind=None)
    assert prescribe(office, repair).json()["fitness"] == "cannot tell"

    answer = change(office, f"repairs/{repair.id}", {"void_behind": False})

    assert answer.status_code == 200, answer.content
    assert (answer.json()["void_behind"], answer.json()["prescription_is_older"]) == (False, True)
    assert prescribe(office, repair).json()["fitness"] == "yes"
    assert office.get(f"{API}/repairs/{repair.id}").json()["prescription_is_older"] is False


@pytest.mark.parametrize(
    ("sent", "field", "stored"),
    [
        ({"defect_code": "bac"}, "defect_code", "BAC"),
        ({"defect_extent": {"value": 1, "unit": "ft"}}, "defect_extent_m", 0.3048),
        ({"distance": {"value": 40, "unit": "m"}}, "distance_m", 40.0),  # just at the end
        ({"clock_from": 12, "clock_to": None}, "clock_from", 12),
        ({"inspection_film_ref": ""}, "inspection_film_ref", ""),
        ({"inspection_filmed_on": None}, "inspection_filmed_on", None),
        ({"infiltration": "dripping"}, "infiltration", "dripping"),
        ({"offset": {"value": 0.5, "unit": "in"}}, "offset_mm", 12.7),
        ({"deformation_percent": 3}, "deformation_percent", 3.0),
        ({"roots": None}, "roots", None),  # known no more
        ({"deposits": True}, "deposits", True),
        ({"connection_in_sleeve": True}, "connection_in_sleeve", True),
        (
            {"not_before": "2031-05-06T08:00:00-05:00"},
            "not_before",
            datetime(2031, 5, 6, 13, tzinfo=UTC),
        ),
        ({"note": "invented"}, "note", "invented"),
    ],
)
def test_each_part_of_an_order_is_corrected(
    office: APIClient, repair: Repair, sent: dict[str, Any], field: str, stored: Any
) -> None:
    """Only what was sent changes, in SI; the edition is another one then."""
    before = office.get(f"{API}/repairs/{repair.id}")

    answer = change(office, f"repairs/{repair.id}", sent)

    assert answer.status_code == 200, answer.content
    assert getattr(Repair.objects.get(), field) == (
        pytest.approx(stored) if isinstance(stored, float) else stored
    )
    after = office.get(f"{API}/repairs/{repair.id}")
    assert after["ETag"] == answer["ETag"]
    same = getattr(repair, field) == stored
    assert (after["ETag"] == before["ETag"]) is same
    kept = set(before.json()) - {*sent, "changed_at"}
    assert {name: after.json()[name] for name in kept} == {n: before.json()[n] for n in kept}


def test_the_datum_is_one_of_the_two_ends(office: APIClient, repair: Repair) -> None:
    """It is named by its ref; another access point of the site is refused."""
    other = AccessPointFactory(site=repair.run.site)
    path = f"repairs/{repair.id}"

    refused = check(change(office, path, {"datum": other.ref}), 422, "malformed")
    taken = change(office, path, {"datum": repair.run.downstream.ref})

    assert refused["errors"][0]["field"] == "datum"
    assert taken.json()["datum"] == repair.run.downstream.ref


@pytest.mark.parametrize(
    ("sent", "field"),
    [
        ({"distance": {"value": 40.1, "unit": "m"}}, "distance"),  # beyond the end of the run
        ({"distance": {"value": 12, "unit": "psi"}}, "distance"),
        ({"inspection_filmed_on": "2999-01-01"}, "inspection_filmed_on"),  # a film of the future
        ({"not_after": "2031-05-06T08:00:00"}, "not_after"),  # no offset
        (
            {"not_before": "2031-05-06T08:00:00Z", "not_after": "2031-05-06T08:00:00Z"},
            "not_after",
        ),
        ({"defect_extent": None}, "defect_extent"),  # a defect has a length
        ({"clock_from": 13}, "clock_from"),
        ({"infiltration": "wet"}, "infiltration"),
        ({"stage": "closed"}, "stage"),  # derived from events, never set
        ({"note": "a\x00b"}, "note"),
    ],
)
def test_a_correction_that_makes_no_sense_is_refused_by_field(
    office: APIClient, repair: Repair, sent: dict[str, Any], field: str
) -> None:
    """Nothing is written."""
    body = check(change(office, f"repairs/{repair.id}", sent), 422, "malformed")

    assert [error["field"] for error in body["errors"]] == [field]
    assert Repair.objects.get().changed_at is None


def test_a_correction_names_the_edition_it_was_made_on(office: APIClient, repair: Repair) -> None:
    """Without one it is refused; the second of two who saw the same is told, and looks again."""
    path = f"repairs/{repair.id}"
    seen = office.get(f"{API}/{path}")["ETag"]

    check(office.patch(f"{API}/{path}", {"note": "a"}), 428, "if_match_required")
    assert change(office, path, {"note": "first"}, seen).status_code == 200
    check(change(office, path, {"roots": True}, seen), 412, "changed_meanwhile")
    check(change(office, path, {"roots": True}, f"W/{seen}"), 412, "changed_meanwhile")

    assert (Repair.objects.get().note, Repair.objects.get().roots) == ("first", False)
    assert change(office, path, {"roots": True}).status_code == 200
    assert change(office, path, {"roots": False}, "*").status_code == 200


def test_what_is_sent_unchanged_is_no_change(office: APIClient, repair: Repair) -> None:
    """No prescription becomes old by it."""
    answer = change(office, f"repairs/{repair.id}", {"roots": False, "note": ""})

    assert answer.json()["changed_at"] is None


@pytest.mark.parametrize("stage", Stage)
def test_once_work_has_begun_the_order_stays(office: APIClient, stage: Stage) -> None:
    """What a crew began with stays on record; before that, and after a return, it may change."""
    repair = RepairFactory(stage=stage.value)
    open_yet = stage in (Stage.ORDERED, Stage.PLANNED, Stage.RETURNED, Stage.REWORK)

    of_repair = change(office, f"repairs/{repair.id}", {"note": "x"})
    of_run = change(office, f"runs/{repair.run.id}", {"material": "clay"})

    for answer in (of_repair, of_run):
        if open_yet:
            assert answer.status_code == 200
        else:
            check(answer, 409, "work_has_begun")


def test_a_run_is_corrected_for_all_its_repairs(office: APIClient, repair: Repair) -> None:
    """The prescriptions of its repairs are older then."""
    KitTypeFactory()
    prescribe(office, repair)

    answer = change(
        office,
        f"runs/{repair.run.id}",
        {"groundwater_above_invert": {"value": 3, "unit": "ft"}, "depth": None},
    )

    assert answer.status_code == 200, answer.content
    assert answer.json()["groundwater_above_invert"]["value"] == pytest.approx(0.9144)
    assert answer.json()["prescription_is_older"] is True
    shown = office.get(f"{API}/repairs/{repair.id}").json()
    assert shown["prescription_is_older"] is True


@pytest.mark.parametrize(
    ("metres", "words"),
    [
        (14.1, "where REP-X lies"),  # a defect of it lies at 14.2 m
        (35.0, "straight line"),  # its ends are 55.6 m apart
    ],
)
def test_a_run_is_not_made_shorter_than_it_can_be(
    office: APIClient, metres: float, words: str
) -> None:
    """Its repairs must lie in it, and its ends not too far apart."""
    site = RunFactory().site
    far = AccessPointFactory(site=site, latitude=10.0005 if metres > 20 else 10.0)
    near = AccessPointFactory(site=site)
    run = RunFactory(site=site, upstream=near, downstream=far, length_m=60.0)
    RepairFactory(run=run, ref="REP-X")

    answer = change(office, f"runs/{run.id}", {"length": {"value": metres, "unit": "m"}})

    error = check(answer, 422, "malformed")["errors"][0]
    assert error["field"] == "length"
    assert words in error["found"] + error["expected"]


def assign(office: APIClient, repair: Repair, crew: str) -> Any:
    """Give the repair to a crew tomorrow."""
    start = now() + timedelta(days=1)
    body = {
        "repair": str(repair.id),
        "crew": crew,
        "starts_at": start.isoformat(),
        "ends_at": (start + timedelta(hours=5)).isoformat(),
    }
    return office.post(f"{API}/assignments", body)


def test_nobody_goes_out_with_a_prescription_older_than_its_order(
    office: APIClient, repair: Repair
) -> None:
    """Corrected, it is calculated again first; also when a crew had the old one before."""
    KitTypeFactory()
    crew = CrewFactory()
    a_ready_crew(crew=crew)
    prescribe(office, repair)
    first = assign(office, repair, crew.code).json()
    change(office, f"repairs/{repair.id}", {"defect_extent": {"value": 0.8, "unit": "m"}})
    office.post(f"{API}/assignments/{first['id']}/cancel", {"reason": "corrected"})

    refused = check(assign(office, repair, crew.code), 409, "no_prescription")
    prescribe(office, repair)
    second = assign(office, repair, crew.code)

    assert "calculate again" in refused["detail"]
    assert second.status_code == 201, second.content
    lengths = [answer["prescription"]["sleeve_length_m"] for answer in (first, second.json())]
    assert lengths[1] > lengths[0]


def test_gear_gets_its_new_test_date(office: APIClient) -> None:
    """The crew's list names its id; what it serves and whose it is may change as well."""
    row = EquipmentFactory()
    to = CrewFactory()
    listed = office.get(f"{API}/crews").json()["results"]
    ids = [each["id"] for crew in listed for each in crew["equipment"]]
    path = f"equipment/{ids[0]}"

    body = {
        "test_due_on": "2031-01-31",
        "crew": to.code,
        "limit": {"value": 10, "unit": "PSI"},
        "diameter_max": {"value": 12, "unit": "in"},
    }
    answer = change(office, path, body).json()

    row.refresh_from_db()
    assert (answer["test_due_on"], answer["crew"]) == ("2031-01-31", to.code)
    assert (row.limit_kpa, row.diameter_max_mm) == pytest.approx((68.94757, 304.8))
    check(office.patch(f"{API}/{path}", body), 428, "if_match_required")
    check(change(office, path, body, '"another"'), 412, "changed_meanwhile")


def test_gear_that_serves_no_bore_is_refused(office: APIClient) -> None:
    """From must not lie above to."""
    row = EquipmentFactory()

    answer = change(office, f"equipment/{row.id}", {"diameter_min": {"value": 400, "unit": "mm"}})

    assert check(answer, 422, "malformed")["errors"][0]["field"] == "diameter_max"


def test_the_figures_of_a_prescription_have_six_digits(office: APIClient, repair: Repair) -> None:
    """Nobody weighs resin to a millionth; the maker's chart stays as it was entered."""
    KitTypeFactory()

    result = prescribe(office, repair).json()["result"]

    figures = [
        *(value for value in result["resin"].values() if isinstance(value, float)),
        *(result["window"][name] for name in ("low_kpa", "high_kpa", "target_kpa")),
        *(result[name] for name in ("sleeve_length_m", "needed_m", "margin_m", "working_min")),
    ]
    assert figures
    assert [float(f"{figure:.6g}") for figure in figures] == figures
    assert result["resin"]["part_a_kg"] + result["resin"]["part_b_kg"] == pytest.approx(
        result["resin"]["mass_kg"], rel=2e-6
    )
