"""Was the pipe filmed before and after, and does each film show what it should."""

from collections.abc import Callable
from datetime import datetime, timedelta

from qa.domain.camera_clock import Contradiction, film_starts, zone_apart_s
from qa.domain.evidence_kind import EvidenceKind
from qa.domain.repair_facts import EvidenceFile, RepairFacts
from qa.domain.verdict import WAIT, Outcome, Verdict, cannot_tell, incomplete, met, not_met
from repairs.domain.event_order import Moment, starts_after
from repairs.domain.field_event import EventKind

_UPLOAD = "upload the film"
_CLOCK_PHOTO = "hand in a clock photo of the camera"


def pre_repair_film(facts: RepairFacts) -> Verdict:
    """The pipe was filmed before the resin was mixed."""
    return _of_the_films(facts, EvidenceKind.PRE_REPAIR_FILM, _filmed_before)


def _of_the_films(
    facts: RepairFacts, kind: EvidenceKind, judged: Callable[[RepairFacts, EvidenceFile], Verdict]
) -> Verdict:
    """Judge the newest film of a purpose, or an older one where that is met and it is not.

    A wrong film that was handed in later takes nothing from the right one.
    """
    verdicts = [
        usable if isinstance(usable, Verdict) else judged(facts, usable)
        for usable in _usable(facts, kind)
    ]
    return next((each for each in verdicts if each.outcome is Outcome.MET), verdicts[0])


def _filmed_before(facts: RepairFacts, film: EvidenceFile) -> Verdict:
    mixing = facts.moment(EventKind.MIXING_STARTED)
    start = film_start(film, facts.limits.clock_uncertainty_s)
    if isinstance(start, Verdict):
        return start
    if mixing is None:
        return incomplete("mixing has not been reported", "report when mixing started")
    before = starts_after(mixing, start)
    times = {
        "film_starts": start.best.isoformat(timespec="seconds"),
        "mixing_starts": mixing.best.isoformat(timespec="seconds"),
    }
    if before:
        return met("filmed before mixing", evidence=(film.id,), **times)
    if before is None:
        words = "the clocks cannot tell whether the film starts before mixing"
        return cannot_tell(words, "a reviewer looks at the film", evidence=(film.id,), **times)
    return not_met(
        "the film starts after mixing, so it is no pre-repair film",
        "hand in the film from before the repair",
        evidence=(film.id,),
        **times,
    )


def post_repair_film(facts: RepairFacts) -> Verdict:
    """The finished repair was filmed, and the film starts after the deflation."""
    return _of_the_films(facts, EvidenceKind.POST_REPAIR_FILM, _filmed_after)


def _filmed_after(facts: RepairFacts, film: EvidenceFile) -> Verdict:
    deflated = facts.moment(EventKind.DEFLATED)
    start = film_start(film, facts.limits.clock_uncertainty_s)
    if isinstance(start, Verdict):
        return start
    if deflated is None:
        return incomplete("the deflation has not been reported", "report when it was deflated")
    after = starts_after(start, deflated)
    times = {
        "film_starts": start.best.isoformat(timespec="seconds"),
        "deflated": deflated.best.isoformat(timespec="seconds"),
    }
    if after:
        return met("filmed after the deflation", evidence=(film.id,), **times)
    if after is None:
        words = "the clocks cannot tell whether the film starts after the deflation"
        return cannot_tell(words, "a reviewer looks at the film", evidence=(film.id,), **times)
    early_s = (deflated.best - start.best).total_seconds()
    return not_met(
        f"the film starts {early_s / 60:.0f} min before the deflation: it cannot show the "
        "finished repair",
        "film the finished repair again and upload that film",
        evidence=(film.id,),
        **times,
    )


def film_start(film: EvidenceFile, uncertainty_s: float) -> Moment | Verdict:
    """Return when a film starts, or why that cannot be told.

    The uploading device's word counts. The time written in the file says nothing alone: its zone
    is often the camera's own. Clock photos of the camera make it a witness; without them it is
    only asked to agree with what was told.
    """
    told, written = film.captured, film.container_start
    if written is None:
        return told if told is not None else _nobody_knows(film)
    if isinstance(film.camera, Contradiction):
        return cannot_tell(film.camera.words, _CLOCK_PHOTO, evidence=(film.id,))
    if film.camera is not None:
        return _by_camera(film, film_starts(written, film.duration_s or 0.0, film.camera))
    if told is None:
        return cannot_tell(
            "only the file itself says when the film starts, and no clock photo of its camera "
            "says in which zone",
            _CLOCK_PHOTO,
            evidence=(film.id,),
        )
    return _agreed(film, told, written, uncertainty_s)


def _nobody_knows(film: EvidenceFile) -> Verdict:
    return cannot_tell(
        "nothing says when the film starts",
        "upload it again with the time it was taken",
        evidence=(film.id,),
    )


def _by_camera(film: EvidenceFile, possible: tuple[Moment, ...]) -> Moment | Verdict:
    """Return the span of what is possible, and agrees with what was told where it was."""
    told = film.captured
    if told is None:
        kept = possible
    else:
        kept = tuple(
            _span(max(each.earliest, told.earliest), min(each.latest, told.latest))
            for each in possible
            if each.earliest <= told.latest and told.earliest <= each.latest
        )
    if told is not None and not kept:
        apart_s = min(abs((each.best - told.best).total_seconds()) for each in possible)
        return cannot_tell(
            f"by the clock photos of its camera the film starts {apart_s / 60:.0f} min from the "
            "time told",
            "a reviewer settles the camera's clock",
            evidence=(film.id,),
            apart_s=apart_s,
        )
    return _span(min(each.earliest for each in kept), max(each.latest for each in kept))


def _span(earliest: datetime, latest: datetime) -> Moment:
    return Moment(earliest, earliest + (latest - earliest) / 2, latest)


def _agreed(
    film: EvidenceFile, told: Moment, written: datetime, uncertainty_s: float
) -> Moment | Verdict:
    """Return what was told, where the time in the file is not against it."""
    spread = timedelta(seconds=uncertainty_s)
    if told.earliest - spread <= written <= told.latest + spread:
        return told
    apart_s = (written - told.best).total_seconds()
    zone_s = zone_apart_s(apart_s, uncertainty_s)
    why = "" if zone_s is None else f", as a clock of another zone would be ({zone_s / 3600:g} h)"
    return cannot_tell(
        f"the time told and the time written in the file are {abs(apart_s) / 60:.0f} min apart"
        + why,
        "a reviewer settles the camera's clock" + ("" if zone_s is None else f"; {_CLOCK_PHOTO}"),
        evidence=(film.id,),
        apart_s=abs(apart_s),
    )


def _usable(facts: RepairFacts, kind: EvidenceKind) -> tuple[EvidenceFile | Verdict, ...]:
    """Return the films of a purpose, newest first, or of each why it cannot be used."""
    films = facts.files(kind)
    words = kind.value.replace("_", " ")
    if not films:
        return (incomplete(f"no {words} has been handed in", _UPLOAD),)
    return tuple(_read(film, words) for film in reversed(films))


def _read(film: EvidenceFile, words: str) -> EvidenceFile | Verdict:
    if not film.probed:
        return incomplete(f"the {words} has not been read yet", WAIT, evidence=(film.id,))
    if film.problem:
        return incomplete(
            f"the {words} cannot be read: {film.problem}", _UPLOAD + " again", evidence=(film.id,)
        )
    if film.also_used_for:
        return not_met(
            f"the same file was handed in for {', '.join(film.also_used_for)}",
            "hand in the film of this repair",
            evidence=(film.id,),
        )
    return film
