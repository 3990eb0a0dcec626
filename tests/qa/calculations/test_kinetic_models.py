import pytest

from qa.calculations.registry import CALCULATIONS
from tests.qa.calculations.asking import faults, of, run

KINETIC = {key: CALCULATIONS["kinetics"].example[key] for key in ("law", "initial_conversion")}


@pytest.mark.parametrize(
    ("factor", "flags"),
    [
        (100.0, []),  # a hundred times quicker than the example: the chart still counts
        (0.5, ["kinetics_later"]),  # half as quick: the model counts
    ],
)
def test_a_kinetic_model_may_only_lengthen_a_hold(factor: float, flags: list[str]) -> None:
    """Chart, dose and model: the latest counts."""
    law = KINETIC["law"]
    quick = {**law, **{name: law[name] * factor for name in ("factor_1", "factor_2")}}
    model = {**KINETIC, "law": quick, "target": 0.9}

    alone, beside = run("cure-clock"), run("cure-clock", kinetic_model=model)

    assert beside["result"]["flags"] == flags
    assert beside["result"]["hold_until"] >= alone["result"]["hold_until"]
    assert (beside["result"]["hold_until"] == alone["result"]["hold_until"]) == (not flags)


def test_a_resin_that_freezes_below_its_target_is_never_released() -> None:
    """Where the model does not get there, there is no time."""
    law = {**KINETIC["law"], "limit": {"at_zero_c": 0.55, "per_k": 0.012}}
    frozen = {**KINETIC, "law": law, "target": 0.9}

    clock = run("cure-clock", kinetic_model=frozen)["result"]
    model = run("kinetics", law=law)["result"]

    assert (clock["status"], clock["hold_until"]) == ("cannot_tell", None)
    assert (model["status"], model["time"]) == ("target_not_reached", None)


def test_readings_at_the_same_temperature_change_nothing_of_a_model() -> None:
    """An hour at 15 °C and then 15 °C is 15 °C."""
    log = [
        {"at": f"2026-11-25T{hour:02d}:00:00Z", "temperature": of(15, "degC")} for hour in (9, 10)
    ]

    still, logged = run("kinetics")["result"], run("kinetics", readings=log)["result"]

    assert logged["time"]["value"] == pytest.approx(still["time"]["value"], rel=1e-6)
    assert logged["conversion"] > 0


def test_readings_no_pipe_can_have_give_a_model_nothing_to_follow() -> None:
    """120 °C is no pipe's temperature."""
    log = [{"at": "2026-11-25T09:00:00Z", "temperature": of(120, "degC")}]

    assert "readings" in faults("kinetics", readings=log)


def test_too_many_readings_for_a_model_are_refused() -> None:
    """Each stretch is integrated by itself; nobody may keep the server busy for a minute."""
    log = [{"at": "2026-11-25T09:00:00Z", "temperature": of(15, "degC")}] * 1001
    model = {**KINETIC, "target": 0.9}

    assert "readings" in faults("cure-clock", readings=log, kinetic_model=model)
    assert "readings" in faults("kinetics", readings=log)
