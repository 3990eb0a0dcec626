"""Two versions of a contract's set side by side: what was added, taken out, changed."""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

PARTS = ("limits", "fitness_rules", "requirements", "qualifications", "escalation", "terms",
         "pay", "accepts_as_is")  # fmt: skip
_KEYS = {"fitness_rules": "code", "requirements": "code", "pay": "item"}


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that differs; `before` or `after` is None where it is not there."""

    part: str
    name: str
    before: Any
    after: Any

    @property
    def of_source_only(self) -> bool:
        """Return whether nothing differs but where it comes from."""
        both = self.before, self.after
        if not (isinstance(both[0], Mapping) and isinstance(both[1], Mapping)):
            return False
        old, new = ({k: v for k, v in each.items() if k != "source"} for each in both)
        return old == new

    @property
    def words(self) -> str:
        """Say it in a line."""
        if self.before is None:
            return f"{self.part} {self.name}: added"
        if self.after is None:
            return f"{self.part} {self.name}: taken out"
        if self.of_source_only:
            return f"{self.part} {self.name}: same value, another source"
        return f"{self.part} {self.name}: {_changed(self.before, self.after)}"


def compare(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[Difference, ...]:
    """Return every difference, part by part; the order of rows counts for requirements only.

    What differs in its source only comes last.
    """
    found = [
        Difference(part, name, old, new)
        for part in PARTS
        for name, old, new in _parted(_named(part, before), _named(part, after))
    ]
    orders = [
        [row["code"] for row in each.get("requirements") or () if _in(row, before, after)]
        for each in (before, after)
    ]
    if orders[0] != orders[1]:
        found.append(Difference("requirements", "their order", orders[0], orders[1]))
    return tuple(sorted(found, key=lambda each: each.of_source_only))


def _in(row: Mapping[str, Any], *sets: Mapping[str, Any]) -> bool:
    return all(
        row["code"] in {other["code"] for other in each.get("requirements") or ()} for each in sets
    )


def _named(part: str, body: Mapping[str, Any]) -> dict[str, Any]:
    value = body.get(part) or {}
    if isinstance(value, Mapping):
        return {str(name): each for name, each in value.items()}
    rows: Sequence[Any] = value
    key = _KEYS.get(part)
    if key is None:
        return {str(row): row for row in rows}
    return {str(row[key]): row for row in rows}


def _parted(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[tuple[str, Any, Any]]:
    for name in dict.fromkeys((*old, *new)):
        if old.get(name) != new.get(name):
            yield name, old.get(name), new.get(name)


def _changed(before: Any, after: Any) -> str:
    """Say a value by itself, and of a row the columns that differ, its source left out."""
    if not (isinstance(before, Mapping) and isinstance(after, Mapping)):
        return f"{_short(before)} becomes {_short(after)}"
    found = []
    for name, old, new in _parted(before, after):
        # A limit's value needs no name: that of the limit stands before it.
        column = "" if name == "value" else f"{name.replace('_', ' ')} "
        if name != "source":
            found.append(f"{column}{_short(old)} becomes {_short(new)}")
    return "; ".join(found)


def _short(value: Any) -> str:
    """Return a value as a person writes it down."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return _short(value["value"]) if "value" in value else json.dumps(value, default=str)
    if isinstance(value, list | tuple):
        return ", ".join(map(_short, value)) or "(nothing)"
    return "(nothing)" if value in (None, "") else str(value)
