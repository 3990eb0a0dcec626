"""One quantity in all the units it may be given in."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from qa.calculations.calculation import Calculation
from qa.calculations.field import Wrong
from qa.calculations.kinds import Choice, Number, Text
from repairs.domain.problem import Fault
from repairs.domain.units import Dimension, accepted_units, parse

_DIGITS = 12


@dataclass(frozen=True, slots=True)
class Converted:
    """The value in each unit of its dimension."""

    values: tuple[Mapping[str, Any], ...]
    working: tuple[str, ...]


def _convert(given: Mapping[str, Any]) -> Converted:
    dimension = Dimension(given["dimension"])
    units = accepted_units(dimension)
    try:
        inside = parse(given["value"], given["unit"], dimension)
    except ValueError as error:
        found = f"{given['value']:g} {given['unit']}"
        told = f"a {dimension.replace('_', ' ')} in one of {', '.join(units)}"
        if given["unit"] in units:
            # The unit is known, so it is the number that cannot be.
            raise Wrong(
                Fault("value", found, str(error).rpartition("expected ")[2].rstrip("."))
            ) from error
        raise Wrong(Fault("unit", found, told)) from error
    values = tuple({"value": _in(unit, inside, dimension), "unit": unit} for unit in units)
    shown = ", ".join(f"{each['value']:.6g} {each['unit']}" for each in values)
    return Converted(values, (f"{given['value']:g} {given['unit']} = {shown}.",))


def _in(unit: str, inside: float, dimension: Dimension) -> float:
    """Turn back what `parse` does, which is a straight line; its last digits are rounding."""
    zero, one = (parse(value, unit, dimension) for value in (0.0, 1.0))
    return float(f"{(inside - zero) / (one - zero):.{_DIGITS}g}")


UNITS = Calculation(
    name="units",
    answers="What is a quantity in the other units?",
    takes=(
        Choice(
            name="dimension",
            meaning="What is measured; a temperature difference is not a temperature.",
            choices=tuple(Dimension),
        ),
        Number(name="value", meaning="The number.", low=-1e9, high=1e9),
        Text(name="unit", meaning="Its unit, in any case where that is not ambiguous.", longest=20),
    ),
    run=_convert,
    example={"dimension": "pressure", "value": 4.8, "unit": "psi"},
    source="Exact factors; NIST SP 811, appendix B.8.",
    caution="Pressures are gauge pressures throughout; an absolute one must be reduced first.",
    page="docs/calculations/units.md",
)
