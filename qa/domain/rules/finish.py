"""What the crew leaves behind."""

from qa.domain.repair_facts import RepairFacts
from qa.domain.verdict import Verdict, incomplete, met, not_met
from repairs.domain.field_event import EventKind

_MM = 1000


def surface_in_order(facts: RepairFacts) -> Verdict:
    """Wrinkles are low enough and the ends lie close, as the crew saw on the film."""
    filmed = facts.progress.event(EventKind.FILMED)
    if filmed is None or filmed.data.get("wrinkle_m") is None:
        return incomplete("the highest wrinkle has not been reported", "report it with the film")
    wrinkle = float(filmed.data["wrinkle_m"])
    allowed = max(facts.limits.wrinkle_fraction * facts.diameter_mm / _MM, facts.limits.wrinkle_m)
    numbers = {"wrinkle_mm": wrinkle * _MM, "allowed_mm": allowed * _MM}
    if wrinkle > allowed:
        return not_met(
            f"a wrinkle of {wrinkle * _MM:.0f} mm, allowed are {allowed * _MM:.0f} mm",
            "trim it, or ask the client",
            **numbers,
        )
    if filmed.data.get("ends_sealed") is not True:
        if filmed.data.get("ends_sealed") is None:
            return incomplete("whether the ends lie close has not been reported", "report it")
        return not_met("an end of the sleeve stands off", "seal the end, film again", **numbers)
    withdrawn = facts.progress.event(EventKind.WITHDRAWN)
    if withdrawn is not None and withdrawn.data.get("film_came_out") is False:
        return not_met("the protective film stayed in the pipe", "take it out, film again")
    return met(f"highest wrinkle {wrinkle * _MM:.0f} mm, allowed {allowed * _MM:.0f} mm", **numbers)


def flow_restored(facts: RepairFacts) -> Verdict:
    """Flow is restored and every connection is open."""
    left = facts.progress.event(EventKind.LEFT)
    if left is None:
        return incomplete("leaving the site has not been reported", "report it when you leave")
    if left.data.get("flow_restored") is not True:
        return not_met("flow was not restored", "restore the flow and report it")
    filmed = facts.progress.event(EventKind.FILMED)
    told = [
        event.data["connections_open"]
        for event in (left, filmed)
        if event is not None and event.data.get("connections_open") is not None
    ]
    if not all(told):
        return not_met("a connection is closed", "open the connection, film it")
    if not told:
        return incomplete("whether the connections are open has not been reported", "report it")
    return met("flow restored, connections open")
