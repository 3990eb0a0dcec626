"""What a kinetic model of a resin says; it may only lengthen a hold."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from qa.calculations.calculation import Calculation
from qa.calculations.clock_fields import readings, temperature
from qa.calculations.field import Wrong
from qa.calculations.kinds import Number
from qa.calculations.record import Record
from repairs.domain.dose import line_profile
from repairs.domain.kinetics import KineticModel, isothermal_estimate, kinetic_estimate
from repairs.domain.problem import Fault
from repairs.domain.rate_law import Autocatalytic, VitrificationLimit
from repairs.domain.temperature_log import FLAG_WORDS, Keep, clean

MOST_READINGS = 1_000
"""Each stretch is integrated by itself, at about a millisecond."""

Answer = TypeVar("Answer")


def _law(
    *,
    factor_1: float,
    energy_1: float,
    factor_2: float,
    energy_2: float,
    order_m: float,
    order_n: float,
    limit: VitrificationLimit | None,
) -> Autocatalytic:
    return Autocatalytic(factor_1, energy_1, factor_2, energy_2, order_m, order_n, limit)


def settled(job: Callable[[], Answer]) -> Answer:
    """Run a model; say in words where SciPy is missing or its integral does not settle."""
    try:
        return job()
    except RuntimeError as error:
        raise Wrong(Fault("law", "a kinetic model", str(error))) from error
    except ArithmeticError as error:
        raise Wrong(Fault("law", "figures", f"an integral that settles ({error})")) from error


def _estimate(given: Mapping[str, Any]) -> Any:
    model = KineticModel(given["law"], given["initial_conversion"], given["target"])
    log, future_c = given["readings"], given["temperature"]
    if not log:
        return settled(lambda: isothermal_estimate(model, future_c))
    stamps = [reading.at for reading in log]
    cleaned = clean(log, min(stamps), max(stamps), Keep.COLDEST)
    if not cleaned.minutes.size:
        raise Wrong(Fault("readings", "none that a pipe can have", FLAG_WORDS["implausible"]))
    past = line_profile(cleaned.minutes, cleaned.temperature_c)
    return settled(lambda: kinetic_estimate(model, past, future_c))


def _number(name: str, meaning: str, high: float, low: float = 0.0) -> Number:
    return Number(name=name, meaning=meaning, low=low, high=high)


_LIMIT = Record(
    name="limit",
    meaning="Where the resin freezes before it is cured: at_zero_c + per_k x T.",
    required=False,
    fields=(
        _number("at_zero_c", "Highest conversion at 0 °C.", 1),
        _number("per_k", "What each degree adds.", 1),
    ),
    build=VitrificationLimit,
)
_LAW = Record(
    name="law",
    meaning="rate = (k1 + k2 a^m)(1 - a)^n, k = A exp(-E / RT) each; none is shipped.",
    fields=(
        _number("factor_1", "A1, a minute.", 1e30),
        _number("energy_1", "E1, kJ/mol.", 500),
        _number("factor_2", "A2, a minute.", 1e30),
        _number("energy_2", "E2, kJ/mol.", 500),
        _number("order_m", "m.", 10),
        _number("order_n", "n.", 10, 0.01),
        _LIMIT,
    ),
    build=_law,
)

_MODEL = (
    _LAW,
    _number("initial_conversion", "Conversion at the start.", 0.999),
    _number("target", "Conversion that counts as cured.", 0.999, 0.001),
)
MODEL = Record(
    name="kinetic_model",
    meaning="A model of the resin, which may only lengthen the hold.",
    required=False,
    fields=_MODEL,
    build=KineticModel,
)

KINETICS = Calculation(
    name="kinetics",
    answers="When does a kinetic model of the resin reach its target, if ever?",
    takes=(
        *_MODEL,
        readings("Temperatures since the start, which is the first.", most=MOST_READINGS),
        temperature("temperature", "Temperature from the last reading on.", required=True),
    ),
    run=_estimate,
    example={
        "law": {
            "factor_1": 2.0e6,
            "energy_1": 50,
            "factor_2": 4.0e7,
            "energy_2": 52,
            "order_m": 1,
            "order_n": 1.5,
        },
        "initial_conversion": 0,
        "target": 0.9,
        "temperature": {"value": 15, "unit": "degC"},
    },
    source="Kamal's autocatalytic model (from memory), integrated numerically.",
    caution=(
        "A model may only lengthen a hold, never shorten the maker's chart. Published parameters "
        "were measured at 60 °C and above; the example's are invented."
    ),
    page="docs/calculations/kinetics.md",
)
