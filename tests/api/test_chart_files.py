"""Charts by file: each is answered by itself. All charts are invented."""

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from repairs.models import Account, Chart
from tests.callers import API, signed_in
from tests.factories import ResinSystemFactory

pytestmark = pytest.mark.django_db

HEAD = (
    "resin_system,purpose,version,diameter_min_mm,diameter_max_mm,clock_start,rounding_min,"
    "source,temperature_c,minutes"
)


def _send(dispatcher: Account, text: str) -> dict[str, Any]:
    file = SimpleUploadedFile("charts.csv", text.encode())
    answer = signed_in(dispatcher).post(f"{API}/chart-files", {"file": file}, format="multipart")
    assert answer.status_code == 200, answer.json()
    return dict(answer.json())


def test_whole_charts_are_stored_and_the_others_told_why(dispatcher: Account) -> None:
    """One good, one doubtful (stored with a warning), one of an unknown resin."""
    ResinSystemFactory(code="RESIN-F")
    cure = "RESIN-F,cure,1,150,400,inflation,5,invented"
    odd = "RESIN-F,working,1,150,400,mixing,1,invented"
    lines = [
        HEAD,
        f"{cure},5,400",
        f"{cure},10,300",
        f"{odd},10,600",
        f"{odd},15,20",
        "RESIN-UNKNOWN,cure,1,150,400,inflation,5,invented,5,400",
    ]

    found = _send(dispatcher, "\n".join(lines))

    assert (found["stored"], found["not_stored"]) == (2, 1)
    good, doubtful, unknown = found["charts"]
    assert Chart.objects.get(pk=good["chart_id"]).rows == [[5.0, 400.0], [10.0, 300.0]]
    assert "Is a row mistyped?" in doubtful["warnings"][0]
    assert unknown["faults"][0]["field"] == "resin_system"


def test_the_same_file_again_changes_nothing(dispatcher: Account) -> None:
    """A chart that is there stays as it is; a corrected one is the next version."""
    ResinSystemFactory(code="RESIN-F")
    text = f"{HEAD}\nRESIN-F,cure,1,150,400,inflation,5,invented,5,400\n"

    assert _send(dispatcher, text)["stored"] == 1
    again = _send(dispatcher, text)

    assert (again["stored"], again["already_there"], again["not_stored"]) == (0, 1, 0)
    assert again["charts"][0]["faults"][0]["field"] == "version"


def test_a_file_without_a_heading_is_told_its_columns(dispatcher: Account) -> None:
    """The first columns are named."""
    file = SimpleUploadedFile("charts.csv", b"hello")
    answer = signed_in(dispatcher).post(f"{API}/chart-files", {"file": file}, format="multipart")

    assert answer.status_code == 422
    assert "resin_system,purpose" in answer.json()["errors"][0]["expected"]
