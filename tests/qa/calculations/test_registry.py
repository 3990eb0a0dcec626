import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from qa.calculations.calculation import Calculation, answer
from qa.calculations.registry import CALCULATIONS
from repairs.domain.chart import ChartRow, activation_energy_kj_mol
from repairs.domain.problem import Refused

ROOT = Path(__file__).parents[3]
NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
EACH = pytest.mark.parametrize("calculation", CALCULATIONS.values(), ids=CALCULATIONS)


def run(name: str, **changed: Any) -> dict[str, Any]:
    """Run a calculation's example with some fields changed; None leaves one out."""
    sent = {**CALCULATIONS[name].example, **changed}
    kept = {field: value for field, value in sent.items() if value is not None}
    return answer(CALCULATIONS[name], kept, now=NOW)


def faults(name: str, **changed: Any) -> dict[str, tuple[str, str]]:
    """Return what is found wrong, by field."""
    with pytest.raises(Refused) as refused:
        run(name, **changed)
    assert refused.value.code == "malformed"
    return {fault.field: (fault.found, fault.expected) for fault in refused.value.faults}


def of(value: float, unit: str) -> dict[str, Any]:
    """Return a quantity as it is sent."""
    return {"value": value, "unit": unit}


@EACH
def test_the_example_of_each_runs_and_shows_its_working(calculation: Calculation) -> None:
    """Whoever copies the example gets figures, working, a source and a caution, all plain JSON."""
    found = answer(calculation, calculation.example, now=NOW)

    assert json.loads(json.dumps(found, allow_nan=False)) == found
    assert found["result"]
    assert found["working"]
    assert found["source"]
    assert found["caution"]


@EACH
def test_each_has_its_page(calculation: Calculation) -> None:
    """The page a calculation points at exists and says from which module it comes."""
    text = (ROOT / calculation.page).read_text(encoding="utf-8")

    assert "source: `" in text


@EACH
def test_each_field_left_out_is_either_named_or_not_needed(calculation: Calculation) -> None:
    """No calculation breaks on a missing field: it is required and named, or it has a default."""
    for field in calculation.takes:
        sent = {name: value for name, value in calculation.example.items() if name != field.name}
        if field.required:
            with pytest.raises(Refused) as refused:
                answer(calculation, sent, now=NOW)
            assert [fault.field for fault in refused.value.faults] == [field.name]


@EACH
@pytest.mark.parametrize("nonsense", [None, True, [], {}, "", "x", -1e300, [[]], {"value": "1"}])
def test_nonsense_in_any_field_is_refused_by_name(calculation: Calculation, nonsense: Any) -> None:
    """Whatever JSON is sent for a field, the answer is figures or a problem, never a crash."""
    for field in calculation.takes:
        sent = {**calculation.example, field.name: nonsense}

        assert is_answered(calculation, sent)


def is_answered(calculation: Calculation, sent: dict[str, Any]) -> bool:
    """Return whether there are figures, or a problem that names a field."""
    try:
        return bool(answer(calculation, sent, now=NOW)["result"])
    except Refused as refused:
        return refused.code == "malformed" and bool(refused.faults)


@pytest.mark.parametrize("sent", [None, [], "text", 7])
def test_a_body_that_is_no_object_is_refused(sent: Any) -> None:
    """A list or a number is no set of fields."""
    with pytest.raises(Refused) as refused:
        answer(CALCULATIONS["units"], sent, now=NOW)

    assert refused.value.faults[0].field == "body"


def test_the_same_water_in_feet_and_metres_gives_the_same_window() -> None:
    """A unit is converted once, at the edge: 4 ft are 1.2192 m."""
    feet = run("inflation-window", groundwater_above_invert=of(4, "ft"))
    metres = run("inflation-window", groundwater_above_invert=of(1.2192, "m"))

    assert feet["result"]["low"]["value"] == pytest.approx(metres["result"]["low"]["value"])
    # 4 ft x 0.4335 psi/ft + 1 psi margin + 0.1 psi gauge error
    assert feet["result"]["low"]["us"]["value"] == pytest.approx(4 * 0.4335 + 1.1, abs=2e-3)


def test_a_bare_number_is_refused_with_its_units() -> None:
    """A unit is required: 200 may be millimetres or inches."""
    found, expected = faults("inflation-window", diameter=200)["diameter"]

    assert found == "200"
    assert "mm" in expected
    assert "in" in expected


@pytest.mark.parametrize(
    ("field", "sent", "right"),
    [
        ("diameter", of(1, "in"), "1.969 to 118.1 in"),  # below 50 mm, told in the unit sent
        ("diameter", of(200, "psi"), "50 to 3000 mm"),  # a pressure is no diameter
        ("gauge_error", of(-1, "psi"), "0 to 145 psi"),  # a gauge is not off by less than nothing
        ("diameter", of(float("nan"), "mm"), "50 to 3000 mm"),  # no number at all
    ],
)
def test_a_figure_outside_its_bounds_is_told_them(
    field: str, sent: dict[str, Any], right: str
) -> None:
    """The bounds are told in the unit that was used."""
    assert right in faults("inflation-window", **{field: sent})[field][1]


def test_a_misspelt_field_is_told_the_nearest_one() -> None:
    """Nothing is silently ignored."""
    assert faults("resin", lenght=of(1, "m"))["lenght"][1].startswith("length")


def test_every_wrong_field_is_named_at_once() -> None:
    """Nobody has to send five times to learn of five faults."""
    assert set(faults("resin", ratio_a=0, ratio_basis="weight", length=None)) == {
        "ratio_a",
        "ratio_basis",
        "length",
    }


def test_what_the_core_refuses_names_the_field_that_was_sent() -> None:
    """The core's names carry units, those of the edge do not."""
    assert faults("resin", thickness=of(45, "mm"), diameter=of(80, "mm")) == {
        "thickness": ("45.0", "less than half the bore")
    }


def test_a_chart_that_rises_is_refused_row_by_row() -> None:
    """The fault points into the chart, lists counted from 0."""
    chart = CALCULATIONS["chart"].example["chart"]
    rows = [{"temperature": of(10, "degC"), "minutes": m} for m in (100, 120)]

    assert set(faults("chart", chart={**chart, "rows": rows})) == {"chart.rows[1].temperature"}


def test_a_log_with_a_bad_line_names_it() -> None:
    """Line 3 of the file, as an editor counts."""
    log = "time,pressure_psi\n2026-11-25T09:00:00Z,4.8\n2026-11-25T09:01:00Z,much\n"

    assert set(faults("pressure-window", log=log)) == {"log, line 3"}


def test_both_or_neither_of_two_distances_is_refused() -> None:
    """Tape and other end are two different questions."""
    both = faults("distances", from_other_end=of(29, "m"))
    neither = faults("distances", tape=None)

    assert both.keys() == neither.keys() == {"tape, from_other_end"}


def test_distances_from_both_ends_close_on_the_length() -> None:
    """D + d' = L: 14.2 + 29.3 = 43.5 m."""
    found = run("distances", tape=None, from_other_end=of(29.3, "m"))

    assert found["result"]["agrees"] is True
    assert found["result"]["difference"]["value"] == pytest.approx(0, abs=1e-9)


def test_masses_and_volumes_of_the_parts_keep_apart() -> None:
    """Two figures of one name are told by what they measure; the case is D of the study."""
    result = run("resin")["result"]

    assert result["mass"]["value"] == pytest.approx(2.20287, abs=5e-6)
    assert result["volume"]["value"] == pytest.approx(2.0026, abs=5e-5)
    assert result["part_a_mass"]["unit"] == "kg"
    assert result["part_a_volume"]["unit"] == "L"


def test_a_gauge_of_a_tenth_needs_five_minutes() -> None:
    """0.1 psi / 0.02 psi a minute, by hand."""
    assert run("hold-test-provable")["result"]["shortest"]["value"] == pytest.approx(5.0)


def test_a_display_that_moved_on_a_coarse_gauge_cannot_tell() -> None:
    """One step down in five minutes may be a leak or a digit."""
    readings = [
        {"at": "2026-11-25T08:00:00Z", "pressure": of(5.0, "psi")},
        {"at": "2026-11-25T08:05:00Z", "pressure": of(4.9, "psi")},
    ]

    assert run("hold-test")["result"]["result"] == "holds"
    assert run("hold-test", readings=readings)["result"]["result"] == "cannot_tell"


def test_a_fahrenheit_difference_has_no_32_in_it() -> None:
    """A tolerance of 1.8 °F is one of 1 K."""
    fahrenheit = run("cure-clock", sensor_tolerance=of(1.8, "degF"))
    kelvin = run("cure-clock", sensor_tolerance=of(1, "K"))

    assert fahrenheit["result"]["late"][:19] == kelvin["result"]["late"][:19]


def test_without_now_the_clock_is_asked_for_the_present() -> None:
    """`now` may be left out; the example's own is the same instant."""
    assert run("cure-clock", now=None) == run("cure-clock")


def test_a_clock_that_has_not_begun_says_so_in_words() -> None:
    """Each code among the flags has its plain words beside it."""
    found = run("cure-clock", started_at=None)

    assert found["result"]["status"] == "not_started"
    assert found["flag_words"] == {"not_begun": "The clock has not begun yet."}


def test_a_chart_reads_the_colder_row_below_the_estimate() -> None:
    """55 °F lie between 10 and 15 °C: the row of 10 °C releases."""
    found = run("chart")["result"]

    assert found["colder_row"]["value"] == 300
    assert 220 < found["arrhenius"]["value"] < 300
    by_hand = activation_energy_kj_mol(ChartRow(5, 400), ChartRow(10, 300))
    assert found["activation_energies"][0] == of(by_hand, "kJ/mol")


def test_below_the_chart_nothing_is_known() -> None:
    """The chart is never carried on into the cold."""
    found = run("chart", temperature=of(4, "degC"))

    assert found["result"]["colder_row"] is None
    assert "silent" in found["working"][0]


def test_a_sleeve_of_four_feet_at_a_hundred_feet_covers_in_991_of_1000() -> None:
    """Published in the study's table: .991 for 4 ft at 100 ft."""
    found = run("location")["result"]

    assert found["coverage_probability"] == pytest.approx(0.991, abs=5e-4)
    assert found["standard_error"]["us"]["value"] == pytest.approx(0.38, abs=5e-3)


def test_a_quantity_is_told_in_every_unit() -> None:
    """4.8 psi in each unit of pressure, and back to what was sent."""
    values = {each["unit"]: each["value"] for each in run("units")["result"]["values"]}

    assert values["psi"] == 4.8
    assert values["kPa"] == pytest.approx(4.8 * 6.894757, abs=1e-5)


def test_a_unit_of_something_else_is_refused() -> None:
    """A metre is no pressure."""
    assert "kPa" in faults("units", unit="m")["unit"][1]


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


def test_both_moduli_and_both_waters_are_kept_apart() -> None:
    """Exchanged moduli, and waters that do not differ by the diameter, are refused."""
    ground = CALCULATIONS["wall-thickness"].example["ground"]
    exchanged = faults(
        "wall-thickness", long_term_modulus=of(3, "GPa"), short_term_modulus=of(1.5, "GPa")
    )
    wrong = faults("wall-thickness", ground={**ground, "groundwater_above_crown": of(1.0, "m")})

    assert "exchanged" in exchanged["long_term_modulus"][1]
    assert "differ by the diameter" in next(iter(wrong.values()))[1]


def test_a_modulus_in_psi_is_the_one_in_megapascal() -> None:
    """250,000 psi are 1723.689 MPa (6.894757 kPa a psi)."""
    psi, mpa = (
        run("wall-thickness", long_term_modulus=modulus)["result"]["by_equation"]["X1.1"]["value"]
        for modulus in (of(250_000, "psi"), of(1723.68925, "MPa"))
    )

    assert psi == pytest.approx(mpa, rel=1e-6)


@pytest.mark.parametrize("sent", [7, of(1, "m"), of(float("inf"), "MPa"), of(-1, "MPa"), {}])
def test_a_modulus_needs_a_unit_and_a_size(sent: Any) -> None:
    """As any quantity."""
    assert "MPa" in faults("wall-thickness", short_term_modulus=sent)["short_term_modulus"][1]


def test_a_pipe_fully_deteriorated_needs_its_ground() -> None:
    """Without the ground X1.3 has nothing to reckon with."""
    assert "ground" in faults("wall-thickness", ground=None)


def test_a_manhole_takes_half_the_time_of_a_pipe() -> None:
    """EN 1610, edition of 2015."""
    pipe, manhole = (
        run("en1610-air-test", tested=tested)["result"]["time"]["value"]
        for tested in ("reach", "manhole")
    )

    assert manhole == pipe / 2


def test_a_contracts_shorter_time_does_not_count() -> None:
    """The practice's own stays, and the flag says so in words."""
    found = run("air-test", owner_time=of(1, "min"))

    assert found["result"]["time"] == run("air-test")["result"]["time"]
    assert "owner_time_shorter" in found["flag_words"]


def test_a_log_in_the_wrong_unit_is_asked_about_not_converted() -> None:
    """32.75 under psi would fit in kPa: a question."""
    found = run("implausible-log")["result"]["oddities"]

    assert [odd["flag"] for odd in found] == ["ends_before_cure", "wrong_unit"]
    assert "kPa" in found[1]["words"]
    assert "expected_low, expected_high" in faults("implausible-log", expected_low=None)


def test_a_window_of_time_may_be_named() -> None:
    """Only what lies in it is judged; an end before its start is refused."""
    times = {"start": "2026-11-25T09:00:00Z", "end": "2026-11-25T09:00:30Z"}

    assert run("pressure-window", **times)["result"]["verdict"] == "passed"
    assert faults("pressure-window", start=times["end"], end=times["start"])
