"""The numbers a contract sets: all of them, each with its source, none made up by us."""

from dataclasses import asdict, fields
from typing import Any

import pytest

from repairs.domain.limits import NEEDED_BY, Limits, limit_faults, limits_from
from tests.contract_example import LIMITS

OF_SOME = {name for names in NEEDED_BY.values() for name in names}
NAMES = [item.name for item in fields(Limits) if item.name not in OF_SOME]


def test_a_whole_table_is_read() -> None:
    """Every limit comes out as the number that stands in the table."""
    read = asdict(limits_from(LIMITS))

    assert {name: read[name] for name in NAMES} == {name: LIMITS[name]["value"] for name in NAMES}
    assert {read[name] for name in OF_SOME} == {None}


@pytest.mark.parametrize("name", sorted(OF_SOME))
def test_a_limit_of_some_contracts_may_be_missing_and_is_read_where_it_stands(name: str) -> None:
    """Whether a requirement asks for it is judged with the whole set."""
    table = {**LIMITS, name: {"value": 3, "source": "invented"}}

    assert getattr(limits_from(table), name) == 3


@pytest.mark.parametrize("name", NAMES)
def test_no_limit_may_be_missing(name: str) -> None:
    """There is no default: what the contract does not say is asked for by name."""
    with pytest.raises(ValueError, match=f"limits.{name}: found nothing"):
        limits_from({key: value for key, value in LIMITS.items() if key != name})


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        (0.1, "limits.end_coverage_m: found 0.1"),  # a bare number has no source
        ({"value": 0.1}, "limits.end_coverage_m.source"),
        ({"value": 0.1, "source": "  "}, "limits.end_coverage_m.source"),
        ({"value": "0.1", "source": "x"}, "expected a number"),
        ({"value": True, "source": "x"}, "expected a number"),
        ({"value": float("nan"), "source": "x"}, "expected a number"),
        ({"value": float("inf"), "source": "x"}, "expected a number"),
        ({"value": 10**400, "source": "x"}, "expected a number"),  # more than a float holds
        ({"value": -0.1, "source": "x"}, "expected 0 or more"),
        ({"source": "x"}, "limits.end_coverage_m: found"),
    ],
)
def test_a_limit_that_is_no_sourced_number_is_refused(entry: Any, said: str) -> None:
    """The refusal names the limit, what was found and what was expected."""
    with pytest.raises(ValueError, match=r"limits\.end_coverage_m") as refused:
        limits_from({**LIMITS, "end_coverage_m": entry})

    assert said in str(refused.value)


@pytest.mark.parametrize("value", [0, 0.0, 0.5, 1000])
def test_zero_and_whole_numbers_are_limits(value: float) -> None:
    """A contract may forbid any drop at all."""
    entry = {"value": value, "source": "common practice, no source"}

    assert limits_from({**LIMITS, "wrinkle_m": entry}).wrinkle_m == value


def test_a_limit_nobody_knows_is_refused() -> None:
    """A misspelt limit would otherwise be lost silently."""
    with pytest.raises(ValueError, match=r"limits\.wrinkle_mm: .* no limit of this name"):
        limits_from({**LIMITS, "wrinkle_mm": {"value": 6, "source": "x"}})


def test_everything_wrong_is_named_at_once() -> None:
    """Nobody sends a contract ten times to learn of ten faults."""
    table = {**LIMITS, "wrinkle_mm": 6, "wrinkle_m": {"value": -1, "source": "x"}}
    del table["hold_test_min"]

    assert [fault.field for fault in limit_faults(table)] == [
        "limits.wrinkle_mm",
        "limits.hold_test_min",
        "limits.wrinkle_m.value",
    ]


def test_a_good_table_has_no_faults() -> None:
    """The example's own."""
    assert limit_faults(LIMITS) == ()
