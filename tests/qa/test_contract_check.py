"""What contradicts itself in a contract's set, one step to each side; and two sets compared."""

import copy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.escalation import escalation_faults
from dispatch.domain.terms import term_faults
from qa.domain.contract_check import contradictions, remarks
from qa.domain.contract_difference import PARTS, compare
from qa.domain.pay import pay_faults
from qa.domain.requirement import RULES, requirement_faults
from qa.example_sets import example_sets
from repairs.domain.limits import limits_from
from repairs.services.requirement_sets import contract_faults

NAMES = ("lateral", "minimal", "strict_municipal")


def changed(name: str, **limits: float | None) -> dict[str, Any]:
    """Return an example with some limits of another value, or taken out."""
    body = copy.deepcopy(example_sets()[name])
    for limit, value in limits.items():
        if value is None:
            del body["limits"][limit]
        else:
            body["limits"][limit] = {"value": value, "source": "invented"}
    return body


def fields_of(body: dict[str, Any]) -> list[str]:
    """Return the fields that contradict each other."""
    return [each.field for each in contradictions(body)]


@pytest.mark.parametrize("name", NAMES)
def test_an_example_can_be_used_as_it_is(name: str) -> None:
    """No fault, no contradiction, and every number says where it comes from."""
    body = example_sets()[name]

    assert contract_faults(body["limits"], body["fitness_rules"]) == ()
    assert [*requirement_faults(body["requirements"]), *term_faults(body["terms"])] == []
    assert [*pay_faults(body["pay"]), *escalation_faults(body.get("escalation", {}))] == []
    assert contradictions(body) == ()
    rows = [*body["limits"].values(), *body["fitness_rules"], *body["requirements"],
            *body["terms"].values(), *body["pay"]]  # fmt: skip
    assert all(row["source"].strip() for row in rows)


def test_the_examples_carry_the_published_numbers() -> None:
    """Public specifications, read in excerpts: the value in their own units beside ours."""
    strict, lateral, minimal = (
        limits_from(example_sets()[name]["limits"])
        for name in ("strict_municipal", "lateral", "minimal")
    )
    foot_m, psi_kpa = 0.3048, 6.894757
    # A special specification for internal point repair: at least 1 ft past either end.
    assert strict.end_coverage_m == pytest.approx(1 * foot_m, abs=5e-4)
    # A city's filming specification, 3.2: 0.5 % of the length or 1 ft, whichever is greater.
    assert strict.distance_tolerance_fraction == 0.005
    assert strict.distance_tolerance_m == pytest.approx(1 * foot_m, abs=5e-4)
    # EN ISO 11296-4 as quoted: 2 % or 6 mm; a handbook's table 7.10: 5 %.
    assert (strict.wrinkle_fraction, strict.wrinkle_m) == (0.02, 0.006)
    assert (minimal.wrinkle_fraction, minimal.wrinkle_m) == (0.05, 0.0)
    # An owner's clause on lined connections: 4 psi, 2 minutes, not below 3.0 psi.
    assert lateral.leak_start_kpa == pytest.approx(4 * psi_kpa, abs=0.01)
    assert lateral.leak_end_kpa == pytest.approx(3 * psi_kpa, abs=0.01)
    assert lateral.leak_min == 2
    # A city's lining specification: films within 7 days, mean of six readings.
    assert (strict.film_deadline_days, strict.wall_readings) == (7, 6)
    # A lateral liner specification, 9.4: no point below 87.5 %; a solicitation: 4.5 mm.
    assert (strict.wall_point_fraction, strict.wall_mm) == (0.875, 4.5)


@pytest.mark.parametrize(
    ("body", "field"),
    [
        (changed("lateral", leak_min=None), "limits.leak_min"),
        (changed("minimal", wall_mm=4.5), "limits.wall_mm"),
        (changed("strict_municipal", pressure_coverage=1.01), "limits.pressure_coverage.value"),
        (changed("strict_municipal", pressure_coverage=0), "limits.pressure_coverage.value"),
        (changed("strict_municipal", wall_point_fraction=1.1), "limits.wall_point_fraction.value"),
        (changed("strict_municipal", hold_test_min=4.9), "limits.hold_test_min.value"),
        (changed("strict_municipal", gauge_resolution_kpa=0.7), "limits.hold_test_min.value"),
        (changed("strict_municipal", allowed_drop_kpa_per_min=0),
         "limits.allowed_drop_kpa_per_min.value"),
        (changed("lateral", leak_end_kpa=27.6), "limits.leak_end_kpa.value"),
    ],
)  # fmt: skip
def test_limits_that_cannot_be_together_are_named(body: dict[str, Any], field: str) -> None:
    """A test without a limit, a share above one, a gauge too coarse for its test."""
    assert field in fields_of(body)


@pytest.mark.parametrize(
    "body",
    [
        changed("strict_municipal", pressure_coverage=1.0),
        changed("strict_municipal", hold_test_min=5.0),  # 0.69 / 0.138 = 5.0 min
        changed("lateral", leak_end_kpa=27.58),
    ],
)
def test_just_at_the_limit_nothing_contradicts(body: dict[str, Any]) -> None:
    """One step to the other side."""
    assert fields_of(body) == []


def test_requirements_terms_and_rules_that_cannot_be_together_are_named() -> None:
    """Each at the field to change."""
    body = copy.deepcopy(example_sets()["strict_municipal"])
    body["requirements"] = [r for r in body["requirements"] if r["code"] != "post_repair_film"]
    body["requirements"][0] |= {"never_waived": True, "waived_by": ["engineer"]}
    body["terms"]["retention_years"] = {"value": 9, "source": "invented"}
    body["fitness_rules"].append(
        {"code": "step", "fact": "offset_mm", "compare": "above", "limit": 15,
         "answer": "yes after", "reason": "grind it", "source": "invented"}
    )  # fmt: skip

    assert fields_of(body) == [
        "requirements[0].waived_by",
        "requirements",
        "terms.retention_years",
        f"fitness_rules[{len(body['fitness_rules']) - 1}].limit",
    ]


def test_a_gentler_rule_below_the_hard_one_is_no_contradiction() -> None:
    """'Yes after' from 10 mm, 'no' from 15 mm."""
    body = copy.deepcopy(example_sets()["strict_municipal"])
    body["fitness_rules"].append(
        {"code": "step", "fact": "offset_mm", "compare": "above", "limit": 10,
         "answer": "yes after", "reason": "grind it", "source": "invented"}
    )  # fmt: skip

    assert fields_of(body) == []


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"code": "again"}, "limit"),  # the same rule once more
        ({"limit": 25}, "code"),  # another rule under the same code
        (
            {"code": "again", "answer": "yes after"},
            "limit",
        ),  # the same question, answered otherwise
    ],
)
def test_a_fitness_rule_that_is_there_twice_is_named(change: dict[str, Any], field: str) -> None:
    """At the later of the two, once."""
    body = copy.deepcopy(example_sets()["minimal"])
    rules = body["fitness_rules"]
    row = next(each for each in rules if each["code"] == "offset")
    rules.append({**row, **change})

    assert fields_of(body) == [f"fitness_rules[{len(rules) - 1}].{field}"]


def test_the_order_of_words_makes_no_other_rule() -> None:
    """'Running, gushing' asks what 'gushing, running' asks; another limit is another rule."""
    body = copy.deepcopy(example_sets()["minimal"])
    row = next(each for each in body["fitness_rules"] if each["code"] == "running")
    row["limit"] = ["running", "gushing"]
    body["fitness_rules"].append({**row, "code": "again", "limit": ["gushing", "running"]})
    assert fields_of(body) == [f"fitness_rules[{len(body['fitness_rules']) - 1}].limit"]

    body["fitness_rules"][-1]["limit"] = ["dripping"]
    assert fields_of(body) == []


def test_what_anybody_may_waive_and_high_wrinkles_are_remarked() -> None:
    """Possible, and worth a second thought."""
    body = changed("minimal", distance_tolerance_m=0.1, wrinkle_fraction=0.2)
    assert remarks(body) == ()

    body = changed("minimal", distance_tolerance_m=0.1, wrinkle_fraction=0.25)
    del body["requirements"][2]["waived_by"]
    assert remarks(body) == (
        "Anybody may waive hold_test: the row says neither never_waived nor waived_by.",
        "Wrinkles up to 25% of the diameter pass: that narrows the pipe much.",
    )


def test_another_source_of_the_same_value_is_told_as_that_and_last() -> None:
    """What really changed stands first."""
    after = changed("minimal")
    after["limits"]["end_coverage_m"]["source"] = "our contract, section 4"
    after["limits"]["hold_test_min"]["value"] = 6
    after["requirements"][0]["source"] = "our contract, section 5"

    assert [each.words for each in compare(example_sets()["minimal"], after)] == [
        "limits hold_test_min: 5 becomes 6",
        "limits end_coverage_m: same value, another source",
        "requirements prescription_current: same value, another source",
    ]


def test_a_warning_before_the_warranty_began_is_named() -> None:
    """Told 60 days before the end of one month."""
    body = copy.deepcopy(example_sets()["minimal"])
    body["terms"]["warranty_months"]["value"] = 1
    body["terms"]["warranty_lead_days"] = {"value": 28, "source": "invented"}
    assert fields_of(body) == []

    body["terms"]["warranty_lead_days"]["value"] = 29
    assert fields_of(body) == ["terms.warranty_lead_days"]


@pytest.mark.parametrize(("days", "before", "wrong"), [(7, 6, False), (7, 7, True), (0, 0, False)])
def test_a_reminder_with_the_package_itself_is_named(days: int, before: int, wrong: bool) -> None:
    """The client is reminded after it was told; without a word of it nothing contradicts."""
    body = copy.deepcopy(example_sets()["minimal"])
    body["terms"]["answer_days"] = {"value": days, "source": "invented"}
    silent = fields_of(body)
    body["terms"]["answer_remind_days"] = {"value": before, "source": "invented"}

    assert silent == []
    assert fields_of(body) == (["terms.answer_remind_days"] if wrong else [])


def test_what_is_possible_and_odd_is_remarked() -> None:
    """Distances that agree within more than the sleeve allows for; no film afterwards."""
    body = copy.deepcopy(example_sets()["strict_municipal"])
    assert "distances alone do not prove the cover" in remarks(body)[0]

    close = changed("minimal", distance_tolerance_m=0.1)
    assert remarks(close) == ()
    close["requirements"] = [r for r in close["requirements"] if r["code"] != "post_repair_film"]
    assert remarks(close) == (
        "No film of the finished repair is asked for: nobody will see it again.",
    )


@pytest.mark.parametrize(
    ("row", "field"),
    [
        ({"code": "hold_test", "waived_by": "engineer"}, "requirements[0].waived_by"),
        ({"code": "hold_test", "waived_by": [""]}, "requirements[0].waived_by"),
        ({"code": "hold_test", "never_waived": "yes"}, "requirements[0].never_waived"),
        ({"code": "hold_test", "waved_by": []}, "requirements[0].waved_by"),
    ],
)
def test_a_wrong_row_of_requirements_is_named(row: dict[str, Any], field: str) -> None:
    """Roles are a list, and a word with a slip of the pen is no column."""
    assert [each.field for each in requirement_faults([row])] == [field]


def test_two_versions_are_told_apart_line_by_line() -> None:
    """Added, taken out, changed, put in another order."""
    before = example_sets()["strict_municipal"]
    after = changed("strict_municipal", film_deadline_days=10)
    after["requirements"] = [after["requirements"][1], after["requirements"][0],
                             *after["requirements"][3:]]  # fmt: skip
    after["qualifications"].append("first aid")

    assert [each.words for each in compare(before, after)] == [
        "limits film_deadline_days: 7 becomes 10",
        "requirements entry_on_record: taken out",
        "qualifications first aid: added",
        "requirements their order: "
        + ", ".join(r["code"] for r in before["requirements"] if r["code"] != "entry_on_record")
        + " becomes "
        + ", ".join(r["code"] for r in after["requirements"]),
    ]


def test_of_a_changed_row_only_the_columns_that_differ_are_said() -> None:
    """A row has ten columns; nobody finds the one that changed in two of them printed whole."""
    before = example_sets()["strict_municipal"]
    after = changed("strict_municipal")
    row = after["pay"][0]
    rounded = row["rounding"]
    row["rounding"] = "up" if rounded != "up" else "down"
    row["source"] = "our contract, section 9"
    asked = next(r for r in after["requirements"] if r["code"] == "hold_test")
    asked["waived_by"] = ["engineer", "inspector"]
    was = next(r for r in before["requirements"] if r["code"] == "hold_test").get("waived_by")

    told = [each.words for each in compare(before, after)]

    assert told == [
        f"requirements hold_test: waived by {', '.join(was or [])} becomes engineer, inspector",
        f"pay {row['item']}: rounding {rounded} becomes {row['rounding']}",
    ]
    assert "{" not in "".join(told)


@given(st.sampled_from(NAMES), st.sampled_from(NAMES))
def test_a_comparison_turned_round_says_the_same(one: str, other: str) -> None:
    """What is added one way is taken out the other; nothing differs from itself."""
    there = compare(example_sets()[one], example_sets()[other])
    back = compare(example_sets()[other], example_sets()[one])

    assert {(each.part, each.name) for each in there} == {(each.part, each.name) for each in back}
    assert bool(there) is (one != other)
    assert {each.part for each in there} <= set(PARTS)


def test_between_them_the_examples_use_every_rule() -> None:
    """A rule that no example shows would be found by nobody."""
    used = {row["code"] for body in example_sets().values() for row in body["requirements"]}

    assert set(RULES) == used
