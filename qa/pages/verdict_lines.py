"""Requirements as a page shows them: word, mark, reason, what would settle it, who let it go."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from qa.domain.as_sentence import as_sentence
from qa.domain.requirement import RULES
from qa.domain.site_clock import with_site_clock
from repairs.pages.marks import mark_of

_ORDER = ("not met", "cannot tell", "incomplete", "waived", "judged", "met")

_CLOSES = ("met", "judged", "waived")


@dataclass(frozen=True, slots=True)
class VerdictLine:
    """One requirement."""

    code: str
    title: str
    word: str
    mark: str
    reason: str
    settle: str
    found: str
    waived_by: str
    waived_why: str
    written: str = ""

    @property
    def waived(self) -> bool:
        """Return whether somebody let it go unproved."""
        return self.word == "waived"

    @property
    def judged(self) -> bool:
        """Return whether a reviewer decided what the rule could not tell."""
        return self.word == "judged"

    @property
    def open(self) -> bool:
        """Return whether it stands in the way of closing."""
        return self.word not in _CLOSES


def verdict_line(row: Mapping[str, Any], zone: str, written: str = "") -> VerdictLine:
    """Return the line of a verdict as stored, on the site's clock.

    `written` says who wrote down that it was let go.
    """
    code, outcome = str(row["code"]), str(row["outcome"])
    waiver: Mapping[str, str] = row.get("waiver") or {}
    judgement: Mapping[str, str] = row.get("judgement") or {}
    word = "judged" if judgement and outcome == "cannot tell" else outcome
    if waiver and outcome != "met":
        word = "waived"
    said = waiver or judgement
    return VerdictLine(
        code=code,
        title=str(row.get("title") or RULES[code][0]),
        word=word,
        mark=mark_of(word),
        reason=sentence(str(row.get("reason", "")), zone),
        settle="" if word in _CLOSES else sentence(str(row.get("settle", "")), zone),
        found=outcome,
        waived_by=f"{said['name']}, {said['role']}" if said else "",
        waived_why=str(said.get("reason", "")),
        written=written if said else "",
    )


def sentence(words: str, zone: str = "") -> str:
    """Return a rule's words as a sentence; with a `zone`, its instants are on that clock."""
    return as_sentence(with_site_clock(words, zone) if zone else words)


def open_ones_first(lines: Iterable[VerdictLine]) -> tuple[VerdictLine, ...]:
    """Return what needs somebody first, then what was let go, then what is proved."""
    return tuple(sorted(lines, key=lambda line: _ORDER.index(line.word)))
