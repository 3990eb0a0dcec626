"""Files made to do harm give facts or a problem, and never a fault of ours."""

import random
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from rest_framework.test import APIClient

from dispatch.models import Crew
from duework.models import WorkItem
from qa.models import Evidence
from qa.probe.run import probe
from repairs.models import Account
from tests.callers import API, with_token
from tests.factories import RepairFactory
from tests.faults.hostile_files import NAMES, crafted_files, mutated, run_forked, whole_files
from tests.proof_factories import AssignmentFactory
from tests.proved_repair import do_due_work

pytestmark = pytest.mark.slow

KINDS = {"photo": "other_photo", "film": "pre_repair_film", "series": "pressure_log"}
AT_THE_DOOR = ("pixel-bomb.png", "polyglot.jpg", "playlist.mp4", "deep.json", "cut-50-good.heif")


def test_crafted_and_mutated_files_are_read_or_have_a_problem() -> None:
    """The short form of ``python -m tests.faults.hostile_files``: each in a process of its own."""
    found = run_forked(90, 3)

    assert found.asked == 90
    assert found.neither == []
    assert found.facts > 5


def test_whole_files_of_every_form_are_read(tmp_path: Path) -> None:
    """What is bent here is in order before."""
    for name, (kind, content) in whole_files().items():
        path = tmp_path / name
        path.write_bytes(content)

        assert probe(path, kind).problem is None, name  # type: ignore[arg-type]


@pytest.mark.django_db
def test_no_file_and_no_name_stops_the_door_or_the_queue(crew: Crew, crew_lead: Account) -> None:
    """Each is taken, sealed, and read by due work to facts or a problem; nothing is left over."""
    repair = AssignmentFactory(repair=RepairFactory(), crew=crew).repair
    phone, whole = with_token(crew_lead), whole_files()
    crafted = crafted_files(whole)
    files = [crafted[name] for name in AT_THE_DOOR]
    files += [(kind, mutated(content, random.Random(5))) for kind, content in whole.values()]

    answers = [
        hand_in(phone, repair.id, KINDS[kind], NAMES[number % len(NAMES)], content)
        for number, (kind, content) in enumerate(files)
    ]
    do_due_work()

    assert {answer.status_code for answer in answers} <= {200, 201}
    rows = Evidence.objects.filter(repair=repair)
    assert rows.count() == len({answer.json()["id"] for answer in answers})
    assert [
        row.file_name for row in rows if not (row.probed_at and (row.facts or row.problem))
    ] == []
    assert [row.file_name for row in rows if "/" in row.file_name or "\\" in row.file_name] == []
    assert not WorkItem.objects.exclude(last_error="").exists()


def hand_in(phone: APIClient, repair_id: Any, kind: str, name: str, content: bytes) -> Any:
    """Upload a file under a name that the wire lets through."""
    file = SimpleUploadedFile("x", content, content_type="image/jpeg")
    # Django's own test file strips folders from a name; the wire does not.
    file._name = name  # noqa: SLF001
    body = {"repair": str(repair_id), "kind": kind, "file": file}
    return phone.post(f"{API}/evidence", body, format="multipart")
