"""The requirements there are, and how a contract's set is judged.

`RULES` is the whole list: a code, its title and the function that judges it.
A contract picks codes from it; adding one is a function and a line here.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from qa.domain.repair_facts import RepairFacts
from qa.domain.rules import (
    cure,
    films,
    finish,
    measured,
    photos,
    place,
    preparation,
    review,
    site,
)
from qa.domain.verdict import Outcome, Verdict, cannot_tell, incomplete
from repairs.domain.problem import Fault, shown

Judge = Callable[[RepairFacts], Verdict]

RULES: Mapping[str, tuple[str, Judge]] = {
    "residents_notified": ("Residents notified in time", site.residents_notified),
    "right_pipe": ("Right pipe and access point", site.right_pipe),
    "entry_on_record": ("Entry: permit and readings on record", site.entry_on_record),
    "pre_repair_film": ("Filmed before the repair", films.pre_repair_film),
    "distance_mark_photo": ("Photo of the distance mark", photos.distance_mark_photo),
    "prescription_current": (
        "Order unchanged since it was calculated",
        preparation.prescription_current,
    ),
    "pipe_ready": ("Pipe clean, no sharp edges, sleeve can pass", preparation.pipe_ready),
    "distances_agree": ("Counter, tape and order agree", place.distances_agree_rule),
    "dry_run_and_new_film": (
        "Dry run, then a new film on the packer",
        preparation.dry_run_and_new_film,
    ),
    "hold_test": ("Hold test of the packer", preparation.hold_test),
    "packer_in_test": ("Packer fits and is in test", preparation.packer_fits_and_in_test),
    "lots_traceable": ("Lots known and in date", preparation.lots_traceable),
    "lot_label_photo": ("Photo of the lot labels", photos.lot_label_photo),
    "mix_masses": ("Resin masses as prescribed", preparation.mix_masses),
    "wet_out_saturated": ("Sleeve saturated", preparation.wet_out_saturated),
    "wet_out_photo": ("Photo of the wet-out sleeve", photos.wet_out_photo),
    "working_time_kept": ("Inflated within the working time", cure.working_time_kept),
    "sleeve_covers_defect": ("Sleeve covers the defect", place.sleeve_covers_defect),
    "cure_pressure_held": ("Pressure inside the window, whole cure", cure.cure_pressure_held),
    "cured_before_deflation": ("Cure complete before deflation", cure.cured_before_deflation),
    "cured_sample_hard": ("Left-over sample hard", measured.cured_sample_hard),
    "post_repair_film": ("Filmed after the repair", films.post_repair_film),
    "film_in_time": ("Film handed in in time", review.film_in_time),
    "surface_in_order": ("Surface and ends in order", finish.surface_in_order),
    "wall_thickness": ("Wall thick enough", measured.wall_thickness),
    "leak_test": ("Leak test of the repair", measured.leak_test),
    "flow_restored": ("Flow restored, connections open", finish.flow_restored),
    "second_review": ("Looked through by a second reviewer", review.second_review),
}


PER_SLEEVE = frozenset(
    {
        "lots_traceable",
        "mix_masses",
        "wet_out_saturated",
        "working_time_kept",
        "cure_pressure_held",
        "cured_before_deflation",
        "cured_sample_hard",
    }
)
"""Requirements that each sleeve of a repair must fulfil by itself."""

_GRAVITY = {
    Outcome.MET: 0,
    Outcome.CANNOT_TELL: 1,
    Outcome.INCOMPLETE: 2,
    Outcome.NOT_MET: 3,
}


@dataclass(frozen=True, slots=True)
class Judged:
    """A requirement of the contract with its verdict and, where let go, who did so.

    `waiver` is (name, role, reason) of who let it go; `judgement` that of a reviewer who decided
    what the rule could not tell. A judgement says nothing against 'not met' or 'incomplete'.
    """

    code: str
    title: str
    source: str
    verdict: Verdict
    waiver: tuple[str, str, str] | None = None
    judgement: tuple[str, str, str] | None = None

    @property
    def closes(self) -> bool:
        """Whether this requirement stands in the way of closing no more."""
        judged = self.judgement is not None and self.verdict.outcome is Outcome.CANNOT_TELL
        return self.verdict.outcome is Outcome.MET or judged or self.waiver is not None


def judge(code: str, facts: RepairFacts) -> Verdict:
    """Judge one requirement, for each sleeve where each must prove it by itself.

    A rule that cannot reckon with what was reported says 'cannot tell' with its
    reason; it never brings the others down.
    """
    if code in PER_SLEEVE and facts.sleeves:
        verdict = _worst([(each.sleeve, _ask(code, each)) for each in facts.sleeves])
    else:
        verdict = _ask(code, facts)
    return _since_the_return(code, facts, verdict)


def judge_all(
    requirements: Sequence[Mapping[str, Any]],
    facts: RepairFacts,
    waivers: Mapping[str, tuple[str, str, str]],
    judgements: Mapping[str, tuple[str, str, str]] | None = None,
) -> tuple[Judged, ...]:
    """Judge each requirement of a set, in the set's order."""
    return tuple(
        Judged(
            code=row["code"],
            title=RULES[row["code"]][0],
            source=str(row.get("source", "")),
            verdict=judge(row["code"], facts),
            waiver=waivers.get(row["code"]),
            judgement=(judgements or {}).get(row["code"]),
        )
        for row in requirements
    )


def _ask(code: str, facts: RepairFacts) -> Verdict:
    try:
        return RULES[code][1](facts)
    except (ValueError, ArithmeticError, KeyError, TypeError) as error:
        return cannot_tell(
            f"what was reported cannot be reckoned with: {error}",
            "correct the event, or a reviewer decides",
        )


def _worst(verdicts: list[tuple[int, Verdict]]) -> Verdict:
    """Return the gravest verdict of the sleeves, saying whose it is; all proof together."""
    number, worst = max(verdicts, key=lambda pair: _GRAVITY[pair[1].outcome])
    evidence = tuple(dict.fromkeys(each for _, verdict in verdicts for each in verdict.evidence))
    if worst.outcome is Outcome.MET:
        words = "; ".join(f"sleeve {n}: {verdict.reason}" for n, verdict in verdicts)
        return replace(worst, reason=words, evidence=evidence)
    return replace(worst, reason=f"sleeve {number}: {worst.reason}", evidence=evidence)


def _since_the_return(code: str, facts: RepairFacts, verdict: Verdict) -> Verdict:
    """Ask for something new where the client returned the repair for this requirement."""
    returned = facts.returned
    if returned is None or code not in returned.notes or verdict.outcome is not Outcome.MET:
        return verdict
    new_files = {
        each.id
        for each in facts.evidence
        if each.received_at is not None and each.received_at > returned.at
    }
    new_steps = any(step.received_at > returned.at for step in facts.progress.steps)
    has_news = bool(new_files & set(verdict.evidence)) if verdict.evidence else new_steps
    if has_news:
        return verdict
    return incomplete(
        f"the client returned it: {returned.notes[code]}",
        "hand in something new for it, or do it again",
        evidence=verdict.evidence,
    )


def requirement_faults(table: Sequence[Any]) -> Iterator[Fault]:
    """Name each row of a set's table that is no requirement, or stood there before."""
    if not table:
        yield Fault("requirements", "none", "at least one")
    codes = [row.get("code") if isinstance(row, Mapping) else None for row in table]
    for number, code in enumerate(codes):
        field = f"requirements[{number}].code"
        if not isinstance(code, str) or code not in RULES:
            yield Fault(field, shown(code), f"one of {', '.join(RULES)}")
        elif code in codes[:number]:
            yield Fault(field, shown(code), "each requirement once")
        else:
            yield from _row_faults(number, table[number])


def _row_faults(number: int, row: Mapping[str, Any]) -> Iterator[Fault]:
    """Name what is wrong beside the code: who may waive it, and columns nobody knows."""
    known = {"code", "source", "never_waived", "waived_by"}
    for name in row.keys() - known:
        yield Fault(f"requirements[{number}].{name}", shown(row[name]), f"only {sorted(known)}")
    if not isinstance(row.get("never_waived", False), bool):
        field = f"requirements[{number}].never_waived"
        yield Fault(field, shown(row["never_waived"]), "true or false")
    roles = row.get("waived_by", [])
    if not isinstance(roles, list) or not all(isinstance(each, str) and each for each in roles):
        field = f"requirements[{number}].waived_by"
        yield Fault(field, shown(roles), "a list of roles")
