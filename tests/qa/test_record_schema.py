"""record.json keeps to the schema beside it; judged by the jsonschema library."""

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator, FormatChecker

from qa.closeout.record import record_json, schema_json
from tests.qa.closeout_example import example

PUBLISHED = Path(__file__).resolve().parents[2] / "docs" / "record.schema.json"
VALIDATOR = Draft202012Validator(json.loads(schema_json()), format_checker=FormatChecker())


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Return the record of the example."""
    facts = example(tmp_path_factory.mktemp("files"), photos=2).facts
    paths = {one.id: f"data/evidence/{one.file_name}" for one in facts.evidence}
    return dict(json.loads(record_json(facts, paths)))


def test_the_schema_is_one() -> None:
    """Of the dialect it names."""
    Draft202012Validator.check_schema(json.loads(schema_json()))


def test_the_example_keeps_to_it(record: dict[str, Any]) -> None:
    """Every field is there, and of its kind."""
    assert [error.message for error in VALIDATOR.iter_errors(record)] == []


@pytest.mark.parametrize(
    ("path", "wrong"),
    [
        (("format",), "another-1"),
        (("closed_at",), "2031-03-14T07:00:00+01:00"),
        (("run", "length_m"), "41"),
        (("requirements", 0, "verdict"), "fine"),
        (("sleeves", 0, "more"), 1),
        (("pressure_kpa", 0), ["2031-03-14T07:00:00Z"]),
        (("quantities", 0, "quantity"), 1.5),
        (("evidence_paths", "x"), "elsewhere/x.jpg"),
    ],
)
def test_what_does_not_belong_there_is_refused(
    record: dict[str, Any], path: tuple[str | int, ...], wrong: object
) -> None:
    """A wrong kind, a word that is no verdict, a time that is not UTC, a field too many."""
    bent: Any = copy.deepcopy(record)
    inside = bent
    for step in path[:-1]:
        inside = inside[step]
    inside[path[-1]] = wrong

    assert not VALIDATOR.is_valid(bent)


@pytest.mark.parametrize("name", ["repair", "closed_by", "evidence_paths", "window_low_kpa"])
def test_what_is_missing_is_missed(record: dict[str, Any], name: str) -> None:
    """Every field is required; what is not known is null."""
    assert not VALIDATOR.is_valid({key: each for key, each in record.items() if key != name})


def test_each_part_says_what_it_is() -> None:
    """A reader in ten years has only this."""
    schema = json.loads(schema_json())

    assert all(part["description"] for part in schema["$defs"].values())
    assert Path(schema["$id"]).name == "urn:curewright-closeout-1"


def test_the_published_schema_is_this_one() -> None:
    """docs/record.schema.json; made anew by `python -m tests.qa.test_record_schema`."""
    assert PUBLISHED.read_bytes() == schema_json()


if __name__ == "__main__":
    PUBLISHED.write_bytes(schema_json())
