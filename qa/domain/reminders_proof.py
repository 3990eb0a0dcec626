"""Which reminders the proof of a repair asks for: what is missing, and the client's answer.

What is told to the client rests on nothing but its own package; what it answered is told to the
office.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from dispatch.domain.reminder import Found, Row, Rung

READY_TO_MIX = timedelta(minutes=1)
"""How long a crew has to hand in what is missing before mixing. Common practice, no source."""

PACKING_UP = timedelta(minutes=5)
"""How long a crew has to hand in its last files. Common practice, no source."""

STILL_NEAR = timedelta(hours=2)
"""How long a crew that has finished in the pipe can still be asked. Common practice, no source."""

ANSWER_NOW = timedelta(days=60)
"""How long it is of use to ask a client for an answer. Common practice, no source."""

ACCEPTED_NEWS = timedelta(days=3)
"""How long it is of use to read that a client accepted. Common practice, no source."""

RETURNED_NEWS = timedelta(days=14)
"""How long it is of use to read why a client returned a package. Common practice, no source."""

REWORK_NEWS = timedelta(days=14)
"""How long it is of use to read that a repair is to be done again. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Unanswered:
    """A package the client has and has not answered.

    Parameters
    ----------
    id, name, page : str
        The package, what it is in words, and where it is answered.
    since, until : datetime
        From when the client has it, and when its answer is due.
    until_words : str
        The same end on the clock of the site.
    remind_before : timedelta
        How long before that end the client is reminded; nothing: it is not.
    """

    id: str
    name: str
    page: str
    since: datetime
    until: datetime
    until_words: str
    remind_before: timedelta


@dataclass(frozen=True, slots=True)
class Answer:
    """What the client said of the last package it answered."""

    accepted: bool
    name: str
    at: datetime
    words: str


@dataclass(frozen=True, slots=True)
class Rework:
    """A decision to do the repair again: when it was taken, and on what."""

    at: datetime
    words: str


@dataclass(frozen=True, slots=True)
class ProofFacts:
    """What the reminders of the proof rest on.

    Parameters
    ----------
    ready_to_mix_at : datetime or None
        The hold test is done and no resin is mixed yet.
    finished_at : datetime or None
        The packer is out of the pipe and the crew has not left.
    missing_before_mixing, missing : tuple of str
        Titles of what is not handed in, of the files that can only be made before mixing,
        and of all that the contract asks for.
    unanswered : Unanswered or None
        The package whose answer is awaited.
    answer : Answer or None
        The last answer there is.
    rework : Rework or None
        Why the attempt under way was opened, as long as no crew has it.
    """

    ready_to_mix_at: datetime | None
    finished_at: datetime | None
    missing_before_mixing: tuple[str, ...]
    missing: tuple[str, ...]
    unanswered: Unanswered | None
    answer: Answer | None
    rework: Rework | None = None


def _before_mixing(facts: ProofFacts, _now: datetime) -> Iterator[Found]:
    at = facts.ready_to_mix_at
    if at is not None and facts.missing_before_mixing:
        given = {"missing": "; ".join(facts.missing_before_mixing)}
        yield Found(at + READY_TO_MIX, at + STILL_NEAR, about=at, given=given)


def _on_site(facts: ProofFacts, _now: datetime) -> Iterator[Found]:
    at = facts.finished_at
    if at is not None and facts.missing:
        given = {"missing": "; ".join(facts.missing), "count": str(len(facts.missing))}
        yield Found(at + PACKING_UP, at + STILL_NEAR, about=at, given=given)


def _no_answer(facts: ProofFacts, _now: datetime) -> Iterator[Found]:
    waits = facts.unanswered
    if waits is not None:
        yield Found(waits.until, waits.until + ANSWER_NOW, about=waits.since)


def _answer_due(facts: ProofFacts, _now: datetime) -> Iterator[Found]:
    waits = facts.unanswered
    if waits is None:
        return
    due = waits.until - waits.remind_before
    # Sooner the client has only just been told that it has the package.
    if waits.since < due < waits.until:
        given = {"name": waits.name, "until": waits.until_words, "page": waits.page}
        yield Found(due, waits.until, about=waits.until, item=waits.id, given=given)


def _accepted(facts: ProofFacts, _now: datetime) -> Iterator[Found]:
    found = facts.answer
    if found is not None and found.accepted:
        given = {"name": found.name, "words": found.words}
        yield Found(found.at, found.at + ACCEPTED_NEWS, given=given)


def _returned(facts: ProofFacts, _now: datetime) -> Iterator[Found]:
    found = facts.answer
    if found is not None and not found.accepted:
        given = {"name": found.name, "words": found.words}
        yield Found(found.at, found.at + RETURNED_NEWS, given=given)


def _rework(facts: ProofFacts, _now: datetime) -> Iterator[Found]:
    found = facts.rework
    if found is not None:
        yield Found(found.at, found.at + REWORK_NEWS, given={"words": found.words})


TABLE: tuple[Row[ProofFacts], ...] = (
    Row(
        code="proof_missing_before_mixing",
        condition="the hold test is done, no resin is mixed, and something that can only be "
        "shown before is not handed in",
        lead="none: 1 min after the hold test",
        useful="2 h after the hold test",
        to=Rung.CREW_LEAD,
        live=False,
        find=_before_mixing,
        words="Before you mix, hand in what can not be made up for later: {missing}.",
        on_site=True,
    ),
    Row(
        code="evidence_missing_on_site",
        condition="the packer is out, the crew has not reported leaving, and something the "
        "contract asks for is not handed in",
        lead="none: 5 min after the last step in the pipe",
        useful="2 h after that step",
        to=Rung.CREW_LEAD,
        live=False,
        find=_on_site,
        words="Before you leave: {count} not handed in yet: {missing}.",
        on_site=True,
    ),
    Row(
        code="client_has_not_answered",
        condition="the client has the package and has neither accepted nor returned it",
        lead="none: the contract's `answer_days` after the package was ready",
        useful="60 days",
        to=Rung.DISPATCHER,
        live=False,
        find=_no_answer,
        words="The client has not answered the package within the time of the contract. Ask them.",
    ),
    Row(
        code="client_answer_due",
        condition="the client has the package and has neither accepted nor returned it",
        lead="the contract's `answer_remind_days` before the end of its `answer_days`",
        useful="the end of its `answer_days`",
        to=Rung.CLIENT,
        live=False,
        find=_answer_due,
        words="Your answer to {name} is expected by {until}. Accept it, or return it with "
        "reasons: {page}",
    ),
    Row(
        code="client_accepted",
        condition="the client accepted a package of the repair",
        lead="none: at once",
        useful="3 days",
        to=Rung.OFFICE,
        live=False,
        find=_accepted,
        words="The client accepted {name}{words}.",
    ),
    Row(
        code="client_returned",
        condition="the client returned a package of the repair",
        lead="none: at once",
        useful="14 days",
        to=Rung.OFFICE,
        live=False,
        find=_returned,
        words="The client returned {name}{words}. The repair is open again.",
    ),
    Row(
        code="rework_waits",
        condition="somebody decided to do the repair again, and no crew has it yet",
        lead="none: at once",
        useful="14 days",
        to=Rung.DISPATCHER,
        live=False,
        find=_rework,
        words="To be done again ({words}). Prescribe it and send a crew.",
    ),
)
