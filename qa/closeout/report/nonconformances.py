"""What was not as required: what was decided, what it came from, which files show it."""

from zoneinfo import ZoneInfo

from reportlab.platypus import Flowable, Spacer

from qa.closeout.report.block import ROOM, Cell, ruled, section
from qa.closeout.report.readable import named
from qa.closeout.report.requirements import evidence_numbers
from qa.closeout.report.style import BOLD, CELL, QUIET, SMALL
from qa.closeout.report.tagged import Paragraph
from qa.closeout.report.words import NB, listed, moment, xml
from qa.domain.closeout import CloseoutFacts, NonconformanceFact

UNDER = "Each with what was decided. Files are named by the numbers of the evidence list."
SHARES = (0.32, 0.15, 0.4, 0.13)


def nonconformances(facts: CloseoutFacts, width: float) -> list[Flowable]:
    """Set the section; a repair without any has none, and page one says so."""
    if not facts.nonconformances:
        return []
    zone, numbers = ZoneInfo(facts.site.time_zone), evidence_numbers(facts)
    rows: list[list[Cell]] = [
        [
            Paragraph(_what(one, facts), CELL),
            Paragraph(moment(one.opened_at, zone), QUIET),
            Paragraph(_decided(one, zone), SMALL),
            Paragraph(" ".join(_files(one, numbers)), QUIET),
        ]
        for one in facts.nonconformances
    ]
    head = ("What was not as required", "Since", "What was decided", "Files")
    table = ruled(head, rows, [width * share for share in SHARES])
    return [*section("Nonconformances", UNDER, room=ROOM), table, Spacer(1, 20)]


def _what(one: NonconformanceFact, facts: CloseoutFacts) -> str:
    about = xml(named(one.code, facts))
    return f"{xml(one.words)} <font size='6.4' color='#5a6472'>{about}</font>"


def _decided(one: NonconformanceFact, zone: ZoneInfo) -> str:
    """Say what was decided and by whom, its cause, when it was done, and what is not packed."""
    words = [xml(one.disposition) or "Still open."]
    if one.decided_by:
        at = f", {moment(one.decided_at, zone)}" if one.decided_at else ""
        words[0] += f" <font color='#5a6472'>({xml(one.decided_by + at)})</font>"
    if one.root_cause:
        words.append(f"<font name='{BOLD}'>It came from</font> {xml(one.root_cause)}")
    if one.done_at is not None:
        words.append(f"<font name='{BOLD}'>Carried out</font> {moment(one.done_at, zone)}")
    if one.other_files:
        many = "Files" if len(one.other_files) > 1 else "A file"
        named = xml(listed(list(one.other_files)))
        words.append(f"<font color='#5a6472'>{many} not in this package: {named}</font>")
    return "<br/>".join(words)


def _files(one: NonconformanceFact, numbers: dict[str, str]) -> list[str]:
    """Name the files of the decision, then those that show it done."""
    decided = sorted(numbers[each] for each in one.evidence_ids)
    done = sorted(numbers[each] for each in one.done_evidence_ids)
    return [*decided, *([f"done:{NB}{done[0]}", *done[1:]] if done else [])]
