"""A repair in the middle of its work: reported up to a step, by a phone whose clock is known."""

from datetime import timedelta

from tests.callers import post_batch, with_token
from tests.factories import AccountFactory, RepairFactory, now
from tests.field_sequence import MINUTES, event, quantity, whole_sequence
from tests.proved_repair import ProvedRepair, a_ready_crew, assigned, prescribed


def a_live_repair(*, until: str, ago_min: float, wall_c: float | None = None) -> ProvedRepair:
    """Return a repair whose last reported step is `until`, `ago_min` minutes ago.

    With `wall_c` the pipe wall has been read every ten minutes since the inflation.
    """
    lead, packer, lot = a_ready_crew()
    repair = RepairFactory()
    dispatcher = AccountFactory()
    start = now() - timedelta(minutes=MINUTES[until] + ago_min)
    prescribed(dispatcher, repair)
    assigned(dispatcher, repair, lead.crew, start)
    planned = ProvedRepair(
        repair, lead.crew, lead.account, dispatcher, dispatcher, packer, lot, start, {}
    )
    resin = repair.prescriptions.get().result["resin"]
    masses = (resin["part_a_kg"], resin["part_b_kg"])
    steps = whole_sequence(repair, start, lot=lot, packer=packer.serial, masses=masses)
    kinds = list(MINUTES)
    events = steps[: kinds.index(until) + 1]
    if wall_c is not None:
        events += [
            event(
                repair.id,
                "temperature_read",
                planned.at("inflated") + timedelta(minutes=minute),
                {"temperature": quantity(wall_c, "degC"), "where": "pipe_wall"},
            )
            for minute in range(0, int(ago_min) + 1, 10)
        ]
    told = {"Device-Time": now().isoformat()}
    answer = post_batch(with_token(planned.lead), events, **told)
    assert {item["status"] for item in answer.json()} == {"stored"}, answer.json()
    repair.refresh_from_db()
    return planned
