"""Was the crew at the right pipe, were people told, and is an entry's permit on record."""

from datetime import datetime

from qa.domain.air_readings import AIR_LIMITS, outside_the_limits
from qa.domain.repair_facts import RepairFacts
from qa.domain.verdict import Verdict, cannot_tell, incomplete, met, not_met
from repairs.domain.event_order import moment_of
from repairs.domain.field_event import Event, EventKind

_HOUR_S = 3600


def right_pipe(facts: RepairFacts) -> Verdict:
    """Run and access point, as the crew read them at the site, are those of the order."""
    arrived = facts.progress.event(EventKind.ARRIVED)
    if arrived is None:
        return incomplete("no arrival has been reported", "report it with run and access point")
    run, point = arrived.data.get("run"), arrived.data.get("access_point")
    if run is None or point is None:
        missing = " and ".join(
            words
            for words, value in (("the run", run), ("the access point", point))
            if value is None
        )
        return incomplete(
            f"{missing}, as read at the site, has not been reported", "report the arrival with it"
        )
    if str(run).strip() != facts.run_ref:
        return not_met(
            f"the crew read run {run} at the site, the order is for {facts.run_ref}",
            "go to the right pipe; if it was misread, correct the arrival",
        )
    ends = (facts.datum_ref, facts.other_end_ref)
    if str(point).strip() not in ends:
        return not_met(
            f"the crew stood at {point}, the run lies between {ends[0]} and {ends[1]}",
            "go to the right access point; if it was misread, correct the arrival",
        )
    return met(f"run {run} and access point {point} read at the site, as ordered")


def residents_notified(facts: RepairFacts) -> Verdict:
    """Residents were notified long enough before the crew came."""
    wanted_h = facts.limits.resident_notice_h
    if wanted_h is None:
        return cannot_tell("the contract says no time for the notice", "add it to the contract")
    told, came = facts.moment(EventKind.RESIDENTS_NOTIFIED), facts.moment(EventKind.ARRIVED)
    if told is None:
        return incomplete("no notice to residents has been reported", "notify them and report it")
    if came is None:
        return incomplete("no arrival has been reported", "report the arrival")
    least_h, most_h = (
        (came.earliest - told.latest).total_seconds() / _HOUR_S,
        (came.latest - told.earliest).total_seconds() / _HOUR_S,
    )
    best_h = (came.best - told.best).total_seconds() / _HOUR_S
    numbers = {"notice_h": best_h, "wanted_h": wanted_h}
    words = f"residents were notified {best_h:.1f} h before the arrival, {wanted_h:g} h are wanted"
    if least_h >= wanted_h:
        return met(words, **numbers)
    if most_h >= wanted_h:
        return cannot_tell(f"{words}; the clocks leave it open", "a reviewer decides", **numbers)
    return not_met(words, "ask the client; next time notify earlier", **numbers)


def entry_on_record(facts: RepairFacts) -> Verdict:
    """Whether anybody enters is said; if so, permit and readings are on record.

    Never that it is safe: permits, local codes and competent persons decide that.
    """
    safe = facts.progress.event(EventKind.MADE_SAFE)
    if safe is None or safe.data.get("entry_planned") is None:
        return incomplete("whether anybody enters has not been reported", "report it")
    if safe.data["entry_planned"] is False:
        return met("nobody enters, as reported")
    missing = [each.words.split(" {")[0] for each in AIR_LIMITS if safe.data.get(each.name) is None]
    if missing:
        return incomplete(
            f"somebody enters, and no reading of {', '.join(missing)} is on record",
            "measure as the permit says, and report the readings",
        )
    if outside := outside_the_limits(safe.data):
        return not_met(
            f"somebody enters, and the readings were {', '.join(outside)}",
            "nobody enters; the entry supervisor decides",
        )
    return _permit(facts, safe)


def _permit(facts: RepairFacts, safe: Event) -> Verdict:
    number = safe.data.get("permit")
    if not number or not safe.data.get("permit_from") or not safe.data.get("permit_until"):
        return incomplete(
            "somebody enters, and no permit with its hours is on record",
            "report the permit's number and hours",
        )
    opens = datetime.fromisoformat(safe.data["permit_from"])
    ends = datetime.fromisoformat(safe.data["permit_until"])
    hours = f"{opens.isoformat(timespec='minutes')} to {ends.isoformat(timespec='minutes')}"
    began, left = moment_of(safe), facts.moment(EventKind.LEFT)
    settle = "the entry supervisor decides; report what was done"
    if began.latest < opens:
        return not_met(f"permit {number} holds {hours}, work began before that", settle)
    if left is None:
        return incomplete(f"permit {number} holds {hours}; nobody has left yet", "report leaving")
    if left.earliest > ends:
        return not_met(f"permit {number} holds {hours}, the crew left after that", settle)
    if began.earliest < opens or left.latest > ends:
        return cannot_tell(
            f"permit {number} holds {hours}; the clocks leave open whether the work lies inside",
            "a reviewer decides",
        )
    return met(f"permit {number} on record, {hours}, with its readings")
