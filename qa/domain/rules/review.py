"""Did a second pair of eyes look, and did the film come in time."""

from datetime import timedelta

from qa.domain.evidence_kind import EvidenceKind
from qa.domain.repair_facts import RepairFacts
from qa.domain.verdict import Verdict, cannot_tell, incomplete, met, not_met
from repairs.domain.field_event import EventKind

_DAY_S = 86_400


def second_review(facts: RepairFacts) -> Verdict:
    """Somebody who did not install looked through the proof, beside whoever closes."""
    others = [name for name in facts.second_reviewers if name not in facts.installers]
    if others:
        return met(f"looked through by {', '.join(others)}, who did not install")
    if facts.second_reviewers:
        return not_met(
            f"{', '.join(facts.second_reviewers)} looked through it and reported the work",
            "have somebody look through it who did not install",
        )
    return incomplete(
        "no second reviewer has looked through it since the film of the finished repair came in",
        "ask another reviewer to look through it",
    )


def film_in_time(facts: RepairFacts) -> Verdict:
    """The film of the finished repair was handed in within the contract's days."""
    days = facts.limits.film_deadline_days
    if days is None:
        return cannot_tell("the contract says no deadline", "add it to the contract")
    films = [
        film
        for film in facts.files(EvidenceKind.POST_REPAIR_FILM)
        if film.received_at is not None and film.probed and not film.problem
    ]
    deflated = facts.moment(EventKind.DEFLATED)
    if deflated is None:
        return incomplete("the deflation has not been reported", "report when it was deflated")
    if not films:
        due = deflated.best + timedelta(days=days)
        return incomplete(
            f"no film has been handed in; the contract's {days:g} days end {due:%Y-%m-%d}",
            "upload the film",
        )
    first = min(films, key=lambda film: film.received_at or deflated.best)
    came = first.received_at or deflated.best
    took = (came - deflated.best).total_seconds() / _DAY_S
    words = f"handed in {took:.1f} days after the deflation, {days:g} are allowed"
    numbers = {"days": took, "allowed_days": days}
    if came <= deflated.earliest + timedelta(days=days):
        return met(words, evidence=(first.id,), **numbers)
    if came <= deflated.latest + timedelta(days=days):
        return cannot_tell(f"{words}; the clocks leave it open", "a reviewer decides", **numbers)
    return not_met(words, "ask the client", evidence=(first.id,), **numbers)
