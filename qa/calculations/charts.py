"""The maker's chart, and the two clocks that are read off it."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from qa.calculations.calculation import NOW, Calculation
from qa.calculations.clock_fields import (
    CHART,
    LONGEST_GAP,
    PRESENT,
    STARTED,
    TOLERANCE,
    readings,
    temperature,
)
from qa.calculations.field import Wrong
from qa.calculations.kinds import Number
from qa.calculations.kinetic_models import MODEL, MOST_READINGS, settled
from repairs.domain.chart import (
    ChartRule,
    activation_energy_kj_mol,
    check_chart,
    minutes_at,
)
from repairs.domain.cure_clock import DEFAULT_MODEL_ALLOWANCE, CureInputs, cure_clock
from repairs.domain.cure_release import kinetic_late, with_kinetics
from repairs.domain.problem import Fault
from repairs.domain.temperature_log import FLAG_WORDS
from repairs.domain.units import Dimension, words
from repairs.domain.working_time import WorkingInputs, working_time


@dataclass(frozen=True, slots=True)
class ChartReading:
    """What a chart says at one temperature; times are None below its coldest row."""

    colder_row_min: float | None
    arrhenius_min: float | None
    activation_energies_kj_mol: tuple[float, ...]
    warnings: tuple[str, ...]
    working: tuple[str, ...]


def _read_chart(given: Mapping[str, Any]) -> ChartReading:
    chart, at_c = given["chart"], given["temperature"]
    row_min, best_min = (
        minutes_at(chart, at_c, rule) for rule in (ChartRule.COLDER_ROW, ChartRule.ARRHENIUS)
    )
    shown = words(at_c, Dimension.TEMPERATURE)
    lines: tuple[str, ...]
    if row_min is None or best_min is None:
        lines = (f"The chart is silent below {words(chart.coldest_c, Dimension.TEMPERATURE)}.",)
    else:
        lines = (
            f"The row at or below {shown}: {row_min:g} min. This releases.",
            f"ln t linear in 1/T between the rows (Arrhenius): {best_min:.1f} min, an estimate.",
        )
    return ChartReading(
        colder_row_min=row_min,
        arrhenius_min=best_min,
        activation_energies_kj_mol=tuple(
            activation_energy_kj_mol(*pair) for pair in pairwise(chart.rows)
        ),
        warnings=check_chart(chart),
        working=lines,
    )


def _cure(given: Mapping[str, Any]) -> Any:
    inputs = CureInputs(
        chart=given["chart"],
        started_at=given["started_at"],
        readings=given["readings"],
        declared_wall_c=given["declared_wall"],
        sensor_tolerance_k=given["sensor_tolerance"],
        model_allowance=given["model_allowance"],
        longest_gap_s=given["longest_gap"] * 60.0,
    )
    estimate, model = cure_clock(inputs, given[NOW]), given["kinetic_model"]
    if model is None or inputs.started_at is None:
        return estimate
    if len(inputs.readings) > MOST_READINGS:
        told = f"at most {MOST_READINGS} with a kinetic model"
        raise Wrong(Fault("readings", f"{len(inputs.readings)} items", told))
    found = settled(lambda: kinetic_late(inputs, model, given[NOW]))
    return with_kinetics(estimate, found, inputs.started_at, given[NOW])


def _working(given: Mapping[str, Any]) -> Any:
    inputs = WorkingInputs(
        chart=given["chart"],
        started_at=given["started_at"],
        readings=given["readings"],
        declared_resin_c=given["declared_resin"],
        sensor_tolerance_k=given["sensor_tolerance"],
        longest_gap_s=given["longest_gap"] * 60.0,
    )
    return working_time(inputs, given[NOW])


_CURE_CHART = {
    "rows": [
        {"temperature": {"value": c, "unit": "degC"}, "minutes": t}
        for c, t in ((5, 400), (10, 300), (15, 220), (20, 160))
    ],
    "clock_start": "inflation",
    "rounding_min": 5,
    "version": "invented-1",
    "source": "invented for this example",
}
_WORKING_CHART = {
    **_CURE_CHART,
    "rows": [
        {"temperature": {"value": c, "unit": "degC"}, "minutes": t}
        for c, t in ((10, 60), (15, 45), (20, 33), (25, 25), (30, 18))
    ],
    "clock_start": "mixing",
    "rounding_min": 1,
}
_EXAMPLE_LOG = [
    {"at": f"2026-11-25T09:{minute:02d}:00+00:00", "temperature": {"value": c, "unit": "degC"}}
    for minute, c in ((0, 14.0), (10, 13.6), (20, 13.4), (30, 13.2))
]

CHART_READING = Calculation(
    name="chart",
    answers="What does the maker's chart say at a temperature, and does it look mistyped?",
    takes=(CHART, temperature("temperature", "A constant temperature.", required=True)),
    run=_read_chart,
    example={"chart": _CURE_CHART, "temperature": {"value": 55, "unit": "degF"}},
    source="The maker's chart; Arrhenius' law between rows.",
    caution="Only the row at or below the temperature releases; the maker's instructions prevail.",
    page="docs/calculations/chart.md",
)
CURE_CLOCK = Calculation(
    name="cure-clock",
    answers="Until when must the sleeve be held under pressure?",
    takes=(
        CHART,
        STARTED,
        readings("Temperatures between sleeve and pipe wall, in any order."),
        temperature("declared_wall", "Wall temperature declared before mixing.", required=False),
        TOLERANCE,
        Number(
            name="model_allowance",
            meaning="Share of time added because a resin is not one reaction; otherwise 0.05.",
            low=0,
            high=1,
            required=False,
            default=DEFAULT_MODEL_ALLOWANCE,
        ),
        LONGEST_GAP,
        MODEL,
        PRESENT,
    ),
    run=_cure,
    example={
        "chart": _CURE_CHART,
        "started_at": "2026-11-25T09:00:00+00:00",
        "readings": _EXAMPLE_LOG,
        "declared_wall": {"value": 14, "unit": "degC"},
        "sensor_tolerance": {"value": 0.5, "unit": "K"},
        "now": "2026-11-25T09:30:00+00:00",
    },
    source="Additivity on the maker's chart (equivalent age, as in ASTM C1074).",
    caution=(
        "Only hold_until releases, and a colder reading can still move it. It never comes before "
        "the maker's chart; the maker's instructions and a hard sample of the same mix prevail."
    ),
    page="docs/calculations/cure_clock.md",
    words=FLAG_WORDS,
)
WORKING_TIME = Calculation(
    name="working-time",
    answers="How long may the mixed resin still be handled?",
    takes=(
        CHART,
        STARTED,
        readings("Temperatures of the resin, in any order."),
        temperature("declared_resin", "Resin temperature when mixing started.", required=False),
        TOLERANCE,
        LONGEST_GAP,
        PRESENT,
    ),
    run=_working,
    example={
        "chart": _WORKING_CHART,
        "started_at": "2026-11-25T08:30:00+00:00",
        "declared_resin": {"value": 68, "unit": "degF"},
        "sensor_tolerance": {"value": 1, "unit": "K"},
        "now": "2026-11-25T08:42:00+00:00",
    },
    source="Additivity on the maker's working-time chart, hotter end of each interval.",
    caution=(
        "Resin in a deep pot warms itself and gels sooner: ok is necessary, not sufficient. Watch "
        "the resin, and follow the maker's instructions."
    ),
    page="docs/calculations/working_time.md",
    words=FLAG_WORDS,
)
