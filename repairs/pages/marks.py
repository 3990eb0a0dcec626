"""The shape beside each word: whoever sees no colours tells states apart by it."""

from collections.abc import Mapping

from repairs.domain.progress import Stage

STAGE_MARKS: Mapping[str, str] = {
    Stage.ORDERED: "circle",
    Stage.PLANNED: "dot",
    Stage.ON_SITE: "cone",
    Stage.PREPARED: "cone-full",
    Stage.WET_OUT: "drop",
    Stage.IN_PLACE: "drop-full",
    Stage.CURING: "glass",
    Stage.CURED: "glass-full",
    Stage.WITHDRAWN: "square",
    Stage.FILMED: "square-full",
    Stage.CLOSED: "box-tick",
    Stage.ACCEPTED: "tick",
    Stage.RETURNED: "back",
    Stage.REWORK: "again",
}

VERDICT_MARKS: Mapping[str, str] = {
    "met": "tick",
    "not met": "cross",
    "incomplete": "dots",
    "cannot tell": "question",
    "waived": "wave",
    "judged": "tick",
}

PACKAGE_MARKS: Mapping[str, str] = {
    "being built": "dots",
    "waiting for an answer": "circle",
    "accepted": "tick",
    "returned": "back",
}


def mark_of(word: str) -> str:
    """Return the shape of a stage, verdict or state of a package."""
    return {**STAGE_MARKS, **VERDICT_MARKS, **PACKAGE_MARKS}.get(word, "circle")
