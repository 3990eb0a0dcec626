"""Photos somebody must be able to look at, and what the crew leaves behind."""

from collections.abc import Callable
from typing import Any

import pytest

from qa.domain.evidence_kind import EvidenceKind
from qa.domain.repair_facts import EvidenceFile, RepairFacts
from qa.domain.rules import photos
from qa.domain.rules.finish import flow_restored, surface_in_order
from qa.domain.verdict import Outcome, Verdict
from tests.qa.facts_example import a_day, a_file

MET, NOT_MET, INCOMPLETE = Outcome.MET, Outcome.NOT_MET, Outcome.INCOMPLETE

Rule = Callable[[RepairFacts], Verdict]
PHOTOS = [
    (photos.distance_mark_photo, EvidenceKind.DISTANCE_MARK_PHOTO),
    (photos.lot_label_photo, EvidenceKind.LOT_LABEL_PHOTO),
    (photos.wet_out_photo, EvidenceKind.WET_OUT_PHOTO),
]

GOOD: dict[str, Any] = {}
UNREAD = {"probed": False}
BROKEN = {"problem": "no picture"}
REUSED = {"also_used_for": ("REP-7",)}


@pytest.mark.parametrize(("rule", "kind"), PHOTOS)
@pytest.mark.parametrize(
    ("files", "outcome"),
    [
        ([], INCOMPLETE),
        ([GOOD], MET),
        ([UNREAD], INCOMPLETE),
        ([BROKEN], INCOMPLETE),
        ([REUSED], NOT_MET),  # the photo of another repair
        ([BROKEN, GOOD], MET),  # one good photo is enough
        ([GOOD, BROKEN], MET),
        ([REUSED, GOOD], MET),
        ([UNREAD, REUSED], NOT_MET),
        ([BROKEN, UNREAD], INCOMPLETE),
    ],
)
def test_one_own_readable_photo_is_enough(
    rule: Rule, kind: EvidenceKind, files: list[dict[str, Any]], outcome: Outcome
) -> None:
    """Whatever else was handed in, a readable photo of this repair meets it."""
    evidence = tuple(a_file(kind, **each) for each in files)

    assert rule(a_day(evidence=evidence)).outcome is outcome


@pytest.mark.parametrize(("rule", "kind"), PHOTOS)
def test_a_photo_of_something_else_does_not_count(rule: Rule, kind: EvidenceKind) -> None:
    """Each requirement looks at its own purpose only."""
    others: tuple[EvidenceFile, ...] = tuple(
        a_file(each) for each in EvidenceKind if each is not kind
    )

    assert rule(a_day(evidence=others)).outcome is INCOMPLETE


def _filmed(**data: Any) -> dict[str, Any]:
    return {"data": {"filmed": data}}


@pytest.mark.parametrize(
    ("changed", "outcome"),
    [
        (_filmed(wrinkle_m=0.006), MET),  # 2 % of 300 mm is 6 mm, and so is the floor
        (_filmed(wrinkle_m=0.0061), NOT_MET),
        ({**_filmed(wrinkle_m=0.010), "diameter_mm": 500.0}, MET),  # 2 % of a bigger pipe
        ({**_filmed(wrinkle_m=0.0101), "diameter_mm": 500.0}, NOT_MET),
        ({**_filmed(wrinkle_m=0.006), "diameter_mm": 200.0}, MET),  # the floor holds
        (_filmed(wrinkle_m=0.0, ends_sealed=True), MET),
        (_filmed(wrinkle_m=0.0, ends_sealed=False), NOT_MET),  # an end stands off
        (_filmed(ends_sealed=None), INCOMPLETE),  # nobody looked
        ({"data": {"withdrawn": {"film_came_out": False}}}, NOT_MET),  # it stayed in the pipe
        ({"data": {"withdrawn": {"film_came_out": True}}}, MET),
        (_filmed(wrinkle_m=None), INCOMPLETE),
        ({"data": {"filmed": None}}, INCOMPLETE),
    ],
)
def test_wrinkles_are_low_and_ends_lie_close(changed: dict[str, Any], outcome: Outcome) -> None:
    """The larger of 2 % of the bore and 6 mm."""
    assert surface_in_order(a_day(**changed)).outcome is outcome


@pytest.mark.parametrize(
    ("data", "outcome"),
    [
        ({"connections_open": True}, MET),
        ({"connections_open": None}, INCOMPLETE),  # nobody looked at the connections
        ({"flow_restored": True, "connections_open": False}, NOT_MET),
        ({"flow_restored": False}, NOT_MET),
        (None, INCOMPLETE),
    ],
)
def test_flow_is_restored_and_connections_open(
    data: dict[str, Any] | None, outcome: Outcome
) -> None:
    """Only a clear yes lets the crew leave in order."""
    assert flow_restored(a_day(data={"left": data})).outcome is outcome
