"""Requirement sets through the API: examples, check before use, copy, compare, who may waive."""

import copy
from pathlib import Path
from typing import Any

import pytest

from qa.example_sets import example_sets
from repairs.models import Account, RequirementSet
from tests.callers import API, post_event, signed_in, with_token
from tests.factories import AccountFactory, RequirementSetFactory, now
from tests.field_sequence import event
from tests.proved_repair import ProvedRepair, a_proved_repair, do_due_work

pytestmark = pytest.mark.django_db
SETS = f"{API}/requirement-sets"
PERSON = {"name": "Invented Person", "role": "Client's Engineer", "reason": "seen on site"}


def test_an_example_is_copied_changed_and_compared(dispatcher: Account) -> None:
    """Read, change, post; then what differs stands line by line."""
    office = signed_in(dispatcher)
    body = next(each for each in office.get(f"{SETS}/examples").json() if "lateral" in each["name"])
    first = office.post(SETS, body)
    body["version"], body["limits"]["leak_min"] = 2, {"value": 3, "source": "our contract"}
    second = office.post(SETS, body)

    assert (first.status_code, second.status_code) == (201, 201), second.json()
    compared = office.get(f"{SETS}/{first.json()['id']}/compare?with={second.json()['id']}").json()
    assert [each["words"] for each in compared] == ["limits leak_min: 2 becomes 3"]
    assert RequirementSet.objects.get(pk=first.json()["id"]).limits["leak_min"]["value"] == 2


def test_a_set_that_contradicts_itself_is_told_before_use_and_refused(dispatcher: Account) -> None:
    """The check stores nothing and names the field; so does the refusal."""
    office = signed_in(dispatcher)
    body = copy.deepcopy(example_sets()["lateral"])
    del body["limits"]["leak_min"]

    checked = office.post(f"{SETS}/check", body).json()
    refused = office.post(SETS, body)

    assert checked["usable"] is False
    assert checked["faults"] == [
        {"field": "limits.leak_min", "found": "nothing",
         "expected": "a value: the set asks for leak_test"}
    ]  # fmt: skip
    assert refused.status_code == 422
    assert "limits.leak_min" in str(refused.json())
    assert RequirementSet.objects.count() == 0


def test_a_usable_set_may_have_remarks(dispatcher: Account) -> None:
    """They are said, and nothing is refused for them."""
    checked = signed_in(dispatcher).post(f"{SETS}/check", example_sets()["minimal"]).json()

    assert checked["usable"] is True
    assert "distances alone do not prove the cover" in checked["remarks"][0]


@pytest.mark.parametrize("asked", ["", "?with=other", "?with="])
def test_a_comparison_wants_another_set(dispatcher: Account, asked: str) -> None:
    """Named wrongly: which parameter, and what would be right."""
    row = RequirementSetFactory()
    answer = signed_in(dispatcher).get(f"{SETS}/{row.id}/compare{asked}")

    assert answer.status_code == 422
    assert "the id of another requirement set" in str(answer.json())


@pytest.fixture(scope="module")
def proved(module_rows: None, tmp_path_factory: pytest.TempPathFactory) -> ProvedRepair:  # noqa: ARG001
    """Return a proved repair; only the client's engineer waives the second look it lacks."""
    ready = a_proved_repair(tmp_path_factory.mktemp("evidence"))
    contract = ready.repair.work_order.requirement_set
    contract.requirements = copy.deepcopy(contract.requirements)  # the factory's are everybody's
    look = {"code": "second_review", "source": "invented", "waived_by": ["client's engineer"]}
    contract.requirements.append(look)
    contract.save()
    return ready


def path(proved: ProvedRepair, what: str) -> str:
    """Return an address of the repair."""
    return f"{API}/repairs/{proved.repair.id}/{what}"


def verdict(proved: ProvedRepair, code: str) -> dict[str, Any]:
    """Return one verdict as the API tells it."""
    told = signed_in(proved.reviewer).get(path(proved, "verdicts")).json()["verdicts"]
    return next(each for each in told if each["code"] == code)


def test_only_the_contracts_authority_waives(proved: ProvedRepair) -> None:
    """In whatever letters the role is written; anybody else is told who may."""
    office = signed_in(proved.reviewer)
    body = {"requirement": "second_review", **PERSON}

    refused = office.post(path(proved, "waivers"), {**body, "role": "foreman"})
    allowed = office.post(path(proved, "waivers"), body)

    assert (refused.status_code, refused.json()["code"]) == (403, "not_allowed")
    assert "only client's engineer may waive this, not 'foreman'" in refused.json()["detail"]
    assert allowed.status_code == 201


def test_the_second_reviewer_looks_and_another_closes(proved: ProvedRepair) -> None:
    """Two pairs of eyes, neither the installer's; the second one does not close alone."""
    other = AccountFactory(role="reviewer")
    first, second = signed_in(proved.reviewer), signed_in(other)
    assert verdict(proved, "second_review")["outcome"] == "incomplete"

    looked = second.post(path(proved, "second-reviews"), {"words": "film seen to the end"})
    again = second.post(path(proved, "second-reviews"), {"words": "once more"})
    alone = second.post(path(proved, "close"))
    closed = first.post(path(proved, "close"))

    assert looked.status_code == 201, looked.json()
    assert (again.status_code, again.json()["code"]) == (409, "already_there")
    assert (alone.status_code, alone.json()["code"]) == (403, "not_yours_to_review")
    assert closed.status_code == 201, closed.json()
    told = first.get(path(proved, "second-reviews?attempt=1")).json()
    assert [each["words"] for each in told] == ["film seen to the end"]


def test_what_a_rule_cannot_tell_a_reviewer_judges(proved: ProvedRepair, tmp_path: Path) -> None:
    """By name and reason; what is met or missing is nobody's to judge."""
    del tmp_path
    office = signed_in(proved.reviewer)
    second = signed_in(AccountFactory(role="reviewer"))
    second.post(path(proved, "second-reviews"), {"words": "seen"})
    unknown = event(
        proved.repair.id, "mixing_started", proved.at("mixing_started"),
        {**_data_of(proved, "mixing_started"), "kit_lot": "LOT-NOBODY-KNOWS"},
        corrects=str(proved.repair.field_events.get(kind="mixing_started").pk),
    )  # fmt: skip
    post_event(with_token(proved.lead), unknown, **{"Device-Time": now().isoformat()})
    do_due_work()
    assert verdict(proved, "lots_traceable")["outcome"] == "cannot tell"

    met = office.post(path(proved, "judgements"), {"requirement": "hold_test", "reason": "why"})
    body = {
        "requirement": "lots_traceable",
        "reason": "the label is on the photo",
    }
    judged = office.post(path(proved, "judgements"), body)
    again = office.post(path(proved, "judgements"), body)

    assert (met.status_code, met.json()["code"]) == (409, "not_for_judgement")
    assert judged.status_code == 201, judged.json()
    assert judged.json()["judged"] is True
    assert (again.status_code, again.json()["code"]) == (409, "already_there")
    told = verdict(proved, "lots_traceable")
    assert (told["outcome"], told["closes"]) == ("cannot tell", True)
    assert told["judgement"]["reason"] == body["reason"]
    closed = office.post(path(proved, "close"))
    assert closed.status_code == 201, closed.json()


def _data_of(proved: ProvedRepair, kind: str) -> dict[str, Any]:
    stored = proved.repair.field_events.get(kind=kind).data
    return {
        "resin_temperature": {"value": stored["resin_temperature_c"], "unit": "degC"},
        "lot_a": stored["lot_a"],
        "lot_b": stored["lot_b"],
        "mass_a": {"value": stored["mass_a_kg"], "unit": "kg"},
        "mass_b": {"value": stored["mass_b_kg"], "unit": "kg"},
    }


def test_a_judgement_of_no_requirement_is_named(proved: ProvedRepair) -> None:
    """With those there are."""
    answer = signed_in(proved.reviewer).post(
        path(proved, "judgements"), {"requirement": "lunch", "reason": "hungry"}
    )

    assert answer.status_code == 422
    assert "lots_traceable" in str(answer.json())
