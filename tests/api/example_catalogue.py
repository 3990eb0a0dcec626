"""The catalogue as it is sent to the API: the example contract with its units; invented."""

from typing import Any

from tests.contract_example import (
    CURE_ROWS,
    FITNESS_RULES,
    INVENTED,
    KIT_TYPE,
    LIMITS,
    QUALIFICATION,
    REQUIREMENTS,
)
from tests.field_sequence import quantity

RESIN: dict[str, Any] = {
    "code": "RESIN-NEW",
    "name": "Invented resin",
    "ratio_a": 2.0,
    "ratio_b": 1.0,
    "ratio_basis": "volume",
    "density_a": quantity(1450, "kg/m3"),
    "density_b": quantity(1.13, "kg/L"),
    "density_mixed": quantity(1340, "kg/m3"),
    "source": INVENTED,
}

CHART: dict[str, Any] = {
    "resin_system": "RESIN-X",
    "purpose": "cure",
    "diameter_min": quantity(150, "mm"),
    "diameter_max": quantity(400, "mm"),
    "clock_start": "inflation",
    "rows": [{"temperature": quantity(t, "degC"), "minutes": m} for t, m in CURE_ROWS],
    "rounding_min": 5,
    "version": "cure invented new",
    "source": INVENTED,
}

CHART_FILE = (
    "resin_system,purpose,version,diameter_min_mm,diameter_max_mm,clock_start,rounding_min,"
    "source,temperature_c,minutes\n"
    "RESIN-X,cure,cure from a file,150,400,inflation,5,invented,10,300\n"
)

KIT: dict[str, Any] = {
    "code": "KIT-NEW",
    "name": "Invented kit",
    "resin_system": "RESIN-X",
    "diameter_min": quantity(250, "mm"),
    "diameter_max": quantity(12, "in"),
    "sleeve_lengths_m": KIT_TYPE["sleeve_lengths_m"],
    "thickness": quantity(4, "mm"),
    "fibre_volume_fraction": 0.25,
    "waste_fraction": 0.1,
    "usual_inflation": quantity(4.8, "psi"),
    "limit": quantity(50, "kPa"),
    "source": INVENTED,
}

CONTRACT: dict[str, Any] = {
    "name": "Invented new contract",
    "version": 1,
    "limits": LIMITS,
    "fitness_rules": FITNESS_RULES,
    "requirements": REQUIREMENTS,
    "qualifications": [QUALIFICATION],
}

CATALOGUE: dict[str, dict[str, Any]] = {
    "api/v1/resin-systems": RESIN,
    "api/v1/charts": CHART,
    "api/v1/kit-types": KIT,
    "api/v1/requirement-sets": CONTRACT,
}
