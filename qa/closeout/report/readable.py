"""The facts as people read them: sentences, on the clock of the site.

Rules and crews write for every reader, programs among them: half sentences, instants in UTC, codes.
record.json keeps all of it as it was written; the report says the same in words.
"""

from collections.abc import Mapping
from dataclasses import replace

from qa.domain.as_sentence import as_sentence
from qa.domain.closeout import (
    CloseoutFacts,
    FactValue,
    NonconformanceFact,
    RequirementFact,
    StepFact,
    WaiverFact,
)
from qa.domain.requirement import RULES
from qa.domain.site_clock import with_site_clock


def readable(facts: CloseoutFacts) -> CloseoutFacts:
    """Return the facts with every text of a rule or calculation in words for people."""
    zone, cure = facts.site.time_zone, facts.cure
    return replace(
        facts,
        requirements=tuple(_requirement(one, zone) for one in facts.requirements),
        nonconformances=tuple(_nonconformance(one, zone) for one in facts.nonconformances),
        timeline=tuple(_step(one, zone) for one in facts.timeline),
        cure=cure and replace(cure, working=tuple(with_site_clock(e, zone) for e in cure.working)),
        hold_test=facts.hold_test
        and replace(facts.hold_test, summary=_sentence(facts.hold_test.summary, zone)),
    )


def named(code: str, facts: CloseoutFacts) -> str:
    """Return what a nonconformance is about: a requirement's title, or else its code in words."""
    titles = {one.code: one.title for one in facts.requirements}
    known = titles.get(code) or (RULES[code][0] if code in RULES else "")
    plain = code.replace("_", " ").replace("-", " ").strip()
    return known or f"{plain[:1].upper()}{plain[1:]}"


def _requirement(one: RequirementFact, zone: str) -> RequirementFact:
    return replace(
        one,
        reason=_sentence(one.reason, zone),
        numbers=_numbers(one.numbers, zone),
        waiver=_waiver(one.waiver),
        judgement=_waiver(one.judgement),
    )


def _numbers(numbers: Mapping[str, FactValue], zone: str) -> dict[str, FactValue]:
    return {
        name: with_site_clock(value, zone) if isinstance(value, str) else value
        for name, value in numbers.items()
    }


def _waiver(one: WaiverFact | None) -> WaiverFact | None:
    return one and replace(one, reason=as_sentence(one.reason))


def _nonconformance(one: NonconformanceFact, zone: str) -> NonconformanceFact:
    return replace(
        one,
        words=_sentence(one.words, zone),
        disposition=_sentence(one.disposition, zone),
        root_cause=_sentence(one.root_cause, zone),
    )


def _step(one: StepFact, zone: str) -> StepFact:
    return replace(one, words=with_site_clock(one.words, zone))


def _sentence(words: str, zone: str) -> str:
    return as_sentence(with_site_clock(words, zone))
