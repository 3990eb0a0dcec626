"""May this defect be repaired this way? A table of rules, each with its reason.

A requirement set brings its own table, so a contract can be stricter than the
trade. One row says: when this fact is so, the answer is that, because.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from enum import StrEnum
from typing import Any

from repairs.domain.problem import Fault, refuse, shown


class Answer(StrEnum):
    """The verdict on a defect, from best to worst."""

    YES = "yes"
    YES_AFTER = "yes after"
    CANNOT_TELL = "cannot tell"
    NO = "no"


NOT_KNOWN: Mapping[str, str] = {
    "window_feasible": "the groundwater above the invert is not known; enter it on the run",
    "groundwater_above_invert_m": "the groundwater above the invert is not known; enter it on "
    "the run",
    "roots": "whether there are roots is not recorded",
    "deposits": "whether there are deposits is not recorded",
    "void_behind": "whether there is a void behind the pipe is not recorded",
    "connection_in_sleeve": "whether a connection lies under the sleeve is not recorded",
}
"""What is missing, in words a dispatcher can act on."""

_WORST = {answer: rank for rank, answer in enumerate(Answer)}


class Compare(StrEnum):
    """How a rule compares a fact with its limit."""

    IS = "is"
    IN = "in"
    NOT_IN = "not in"
    ABOVE = "above"
    BELOW = "below"


@dataclass(frozen=True, slots=True)
class FitnessFacts:
    """What is known of the defect and the pipe; None is 'not known'."""

    defect_code: str
    defect_extent_m: float
    diameter_mm: float
    material: str
    infiltration: str | None
    offset_mm: float | None
    deformation_percent: float | None
    roots: bool | None
    deposits: bool | None
    void_behind: bool | None
    connection_in_sleeve: bool | None
    groundwater_above_invert_m: float | None
    inspection_filmed: bool
    kit_for_diameter: bool
    sleeves_needed: int | None
    window_feasible: bool | None


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of a fitness table: when `fact` compares so with `limit`, `answer` for `reason`."""

    code: str
    fact: str
    compare: Compare
    limit: Any
    answer: Answer
    reason: str
    source: str


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a rule spoke: its words, the fact found, and where the rule comes from."""

    code: str
    answer: Answer
    reason: str
    found: str
    source: str


@dataclass(frozen=True, slots=True)
class Fitness:
    """The verdict with every reason for it, the gravest first."""

    answer: Answer
    reasons: tuple[Reason, ...]


def judge_fitness(facts: FitnessFacts, rules: Sequence[Rule]) -> Fitness:
    """Apply every rule and return the gravest answer with all reasons.

    A rule whose fact is not known answers 'cannot tell' and says what would
    settle it; it never counts as passed.
    """
    spoken = [reason for rule in rules if (reason := _apply(rule, facts)) is not None]
    return with_reasons(Fitness(Answer.YES, ()), spoken)


def with_reasons(fitness: Fitness, more: Sequence[Reason]) -> Fitness:
    """Return the verdict with further reasons, the gravest first; it can only get worse."""
    reasons = sorted((*fitness.reasons, *more), key=lambda reason: -_WORST[reason.answer])
    answer = reasons[0].answer if reasons else Answer.YES
    return Fitness(answer=answer, reasons=tuple(reasons))


def rules_from(table: Sequence[Mapping[str, Any]]) -> tuple[Rule, ...]:
    """Read a requirement set's fitness table.

    Raises
    ------
    ValueError
        Naming the row, the field, what was found and what was expected.
    """
    refuse(rule_faults(table))
    return tuple(_rule(row) for row in table)


def rule_faults(table: Sequence[Mapping[str, Any]]) -> tuple[Fault, ...]:
    """Name everything that is wrong with a fitness table, row by row from 0."""
    return tuple(
        Fault(f"fitness_rules[{number}].{name}", found, expected)
        for number, row in enumerate(table)
        for name, found, expected in _wrong(row)
    )


def _apply(rule: Rule, facts: FitnessFacts) -> Reason | None:
    found = getattr(facts, rule.fact)
    if found is None:
        return Reason(
            rule.code,
            Answer.CANNOT_TELL,
            f"{NOT_KNOWN.get(rule.fact, rule.fact.replace('_', ' ') + ' is not recorded')}. "
            f"It matters because: {rule.reason}",
            "not recorded",
            rule.source,
        )
    if not _holds(rule, found):
        return None
    return Reason(rule.code, rule.answer, rule.reason, str(found), rule.source)


def _holds(rule: Rule, found: Any) -> bool:
    match rule.compare:
        case Compare.IS:
            return bool(found == rule.limit)
        case Compare.IN:
            return found in rule.limit
        case Compare.NOT_IN:
            return found not in rule.limit
        case Compare.ABOVE:
            return bool(found > rule.limit)
        case Compare.BELOW:
            return bool(found < rule.limit)


def _wrong(row: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    for name in (item.name for item in fields(Rule)):
        if name not in row:
            yield name, "nothing", "a value"
        elif (words := _WORDS.get(name)) is not None and row[name] not in words:
            yield name, shown(row[name]), f"one of {', '.join(words)}"
    compare, limit = row.get("compare"), row.get("limit")
    if "limit" not in row:
        return
    # A yes is no number here, although Python counts with it.
    number = isinstance(limit, int | float) and not isinstance(limit, bool)
    if compare in (Compare.ABOVE, Compare.BELOW) and not number:
        yield "limit", shown(limit), "a number"
    if compare in (Compare.IN, Compare.NOT_IN) and not isinstance(limit, list):
        yield "limit", shown(limit), "a list"


_WORDS: Mapping[str, tuple[str, ...]] = {
    "fact": tuple(sorted(item.name for item in fields(FitnessFacts))),
    "compare": tuple(word.value for word in Compare),
    "answer": tuple(word.value for word in Answer),
}


def _rule(row: Mapping[str, Any]) -> Rule:
    return Rule(
        code=str(row["code"]),
        fact=str(row["fact"]),
        compare=Compare(row["compare"]),
        limit=tuple(row["limit"]) if isinstance(row["limit"], list) else row["limit"],
        answer=Answer(row["answer"]),
        reason=str(row["reason"]),
        source=str(row["source"]),
    )
