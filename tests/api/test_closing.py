"""A repair closes when everything is proved or waived, and says why as long as it is not."""

from pathlib import Path

import pytest

from tests.callers import API, signed_in
from tests.contract_example import REQUIREMENT_CODES
from tests.proved_repair import a_proved_repair

pytestmark = pytest.mark.django_db


def test_a_proved_repair_closes(tmp_path: Path) -> None:
    """With every requirement met the reviewer closes and a package is under way."""
    proved = a_proved_repair(tmp_path)
    office = signed_in(proved.reviewer)

    verdicts = office.get(f"{API}/repairs/{proved.repair.id}/verdicts").json()
    answer = office.post(f"{API}/repairs/{proved.repair.id}/close")

    assert {v["code"]: v["reason"] for v in verdicts["verdicts"] if v["outcome"] != "met"} == {}
    assert [v["code"] for v in verdicts["verdicts"]] == list(REQUIREMENT_CODES)
    assert answer.status_code == 201, answer.json()
