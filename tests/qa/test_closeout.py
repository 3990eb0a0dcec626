"""What facts a closeout refuses, and what its record says."""

import json
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from qa.closeout.record import record_json
from qa.domain.closeout import AccessPointFact
from qa.domain.closeout_record import RECORD_FORMAT, record
from tests.qa.closeout_example import Example, example


@pytest.fixture
def made(tmp_path: Path) -> Example:
    """One finished repair."""
    return example(tmp_path, photos=2)


def test_the_record_holds_only_what_json_can(made: Example) -> None:
    """The record goes through JSON and comes back the same."""
    found = record(made.facts)

    assert json.loads(json.dumps(found, allow_nan=False)) == found
    assert found["format"] == RECORD_FORMAT


def test_the_record_says_times_in_utc(made: Example) -> None:
    """A time ends in Z, whatever zone it came in."""
    local = made.facts.closed_at.astimezone(datetime.fromisoformat("2031-03-13T00:00-05:00").tzinfo)

    assert record(replace(made.facts, closed_at=local))["closed_at"] == "2031-03-13T19:54:00Z"


def test_the_record_keeps_the_digits_of_a_quantity(made: Example) -> None:
    """62.40 m stays 62.40 and does not become 62.4."""
    quantities = record(made.facts)["quantities"]

    assert [line["quantity"] for line in quantities] == ["1", "62.40", "2"]


def test_the_record_is_the_same_bytes_each_time(made: Example) -> None:
    """Figures given in another order are the same figures."""
    one = made.facts.requirements[3]
    turned = replace(one, numbers=dict(reversed(list(one.numbers.items()))))
    facts = replace(
        made.facts,
        requirements=(*made.facts.requirements[:3], turned, *made.facts.requirements[4:]),
    )

    assert record_json(facts, {}) == record_json(made.facts, {})


def test_a_time_without_zone_is_refused(made: Example) -> None:
    """Nobody could say when a naive time was."""
    with pytest.raises(ValueError, match="closed_at: found a time without a zone"):
        replace(made.facts, closed_at=made.facts.closed_at.replace(tzinfo=None))


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_a_number_that_is_none_is_refused(made: Example, value: float) -> None:
    """A reading that is not a number has no place in a proof."""
    readings = ((made.facts.closed_at, value),)

    with pytest.raises(ValueError, match=r"pressure_kpa\[0\]\[1\]: found .*needs a finite number"):
        replace(made.facts, pressure_kpa=readings)


def test_a_malformed_hash_is_refused(made: Example) -> None:
    """Evidence without a whole SHA-256 is no evidence."""
    broken = replace(made.facts.evidence[0], sha256="ab")

    with pytest.raises(ValueError, match=r"evidence\[0\].sha256"):
        replace(made.facts, evidence=(broken, *made.facts.evidence[1:]))


def test_an_evidence_id_used_twice_is_refused(made: Example) -> None:
    """Two files under one id could be exchanged unseen."""
    with pytest.raises(ValueError, match="an id is used twice"):
        replace(made.facts, evidence=(*made.facts.evidence, made.facts.evidence[0]))


def test_a_proof_that_is_not_in_the_package_is_refused(made: Example) -> None:
    """A requirement names only evidence the client gets."""
    with pytest.raises(ValueError, match="unknown evidence"):
        replace(made.facts, evidence=made.facts.evidence[1:])


def test_a_datum_on_another_run_is_refused(made: Example) -> None:
    """Distances from an access point of another run would mean another place."""
    run = replace(made.facts.run, upstream=AccessPointFact("AP-9999", None, None))

    with pytest.raises(ValueError, match="is no access point of the run"):
        replace(made.facts, run=run)
