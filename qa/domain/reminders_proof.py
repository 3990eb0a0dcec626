"""Which reminders the proof of a repair asks for: what is missing, and the client's answer."""

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
    unanswered_since : datetime or None
        The client has had the package since then.
    answer_within : timedelta
        How long the contract gives the client.
    """

    ready_to_mix_at: datetime | None
    finished_at: datetime | None
    missing_before_mixing: tuple[str, ...]
    missing: tuple[str, ...]
    unanswered_since: datetime | None
    answer_within: timedelta


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
    since = facts.unanswered_since
    if since is not None:
        due = since + facts.answer_within
        yield Found(due, due + ANSWER_NOW, about=since)


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
)
