"""An invented contract and the maker's data it is worked with; nobody's real figures.

Every number here is made up for the tests, in the order of size of the trade.
"""

from typing import Any

INVENTED = "invented for tests"

LIMITS: dict[str, dict[str, Any]] = {
    name: {"value": value, "source": INVENTED}
    for name, value in {
        "end_coverage_m": 0.10,
        "location_allowance_m": 0.05,
        "sleeve_overlap_m": 0.05,
        "distance_tolerance_fraction": 0.005,
        "distance_tolerance_m": 0.10,
        "allowed_drop_kpa_per_min": 0.7,
        "hold_test_min": 5.0,
        "gauge_accuracy_kpa": 0.7,
        "gauge_resolution_kpa": 0.7,
        "contact_margin_kpa": 6.9,
        "pressure_gap_s": 120.0,
        "pressure_coverage": 0.98,
        "temperature_gap_s": 900.0,
        "sensor_tolerance_k": 1.0,
        "mass_tolerance_fraction": 0.05,
        "clock_uncertainty_s": 300.0,
        "wrinkle_fraction": 0.02,
        "wrinkle_m": 0.006,
        "setup_min": 45.0,
        "finish_min": 25.0,
        "cure_margin_min": 20.0,
    }.items()
}

REQUIREMENT_CODES = (
    "pre_repair_film",
    "pipe_ready",
    "distance_mark_photo",
    "distances_agree",
    "dry_run_and_new_film",
    "prescription_current",
    "hold_test",
    "packer_in_test",
    "lots_traceable",
    "lot_label_photo",
    "mix_masses",
    "wet_out_saturated",
    "wet_out_photo",
    "working_time_kept",
    "sleeve_covers_defect",
    "cure_pressure_held",
    "cured_before_deflation",
    "post_repair_film",
    "surface_in_order",
    "flow_restored",
)

OF_SOME_CONTRACTS = (
    "residents_notified",
    "right_pipe",
    "entry_on_record",
    "cured_sample_hard",
    "film_in_time",
    "wall_thickness",
    "leak_test",
    "second_review",
)
"""What the example contract does not ask for; tests/qa/test_rules_site_and_measured.py does."""

REQUIREMENTS: list[dict[str, Any]] = [
    {"code": code, "source": INVENTED, "never_waived": code == "lots_traceable"}
    for code in REQUIREMENT_CODES
]

QUALIFICATION = "sectional repair"


def _rule(fact: str, compare: str, limit: Any, answer: str, reason: str) -> dict[str, Any]:
    return {
        "code": f"{fact}_{answer.replace(' ', '_')}",
        "fact": fact,
        "compare": compare,
        "limit": limit,
        "answer": answer,
        "reason": reason,
        "source": INVENTED,
    }


FITNESS_RULES: list[dict[str, Any]] = [
    _rule("kit_for_diameter", "is", False, "no", "No kit is made for this bore."),
    _rule("sleeves_needed", "above", 3, "no", "So long a defect is a matter for lining."),
    _rule("window_feasible", "is", False, "no", "Groundwater is stronger than the packer may be."),
    _rule("defect_code", "in", ["BAC"], "no", "A broken pipe does not carry a sleeve."),
    _rule("offset_mm", "above", 15, "no", "The sleeve would bridge the step."),
    _rule("deformation_percent", "above", 10, "no", "The packer would not touch all round."),
    _rule("void_behind", "is", True, "no", "The ground behind must be filled first."),
    _rule("infiltration", "is", "running", "yes after", "Running water washes the resin out."),
    _rule("roots", "is", True, "yes after", "Cut the roots first."),
    _rule("deposits", "is", True, "yes after", "Clean the pipe first."),
    _rule("connection_in_sleeve", "is", True, "yes after", "Plan to open the connection."),
    _rule("inspection_filmed", "is", False, "yes after", "Film the defect first."),
]

CURE_ROWS = [[10.0, 240.0], [15.0, 160.0], [20.0, 105.0], [25.0, 75.0], [30.0, 55.0]]
"""Minutes from inflation against the pipe wall's temperature."""

WORKING_ROWS = [[10.0, 60.0], [15.0, 45.0], [20.0, 33.0], [25.0, 25.0], [30.0, 18.0]]
"""Minutes from mixing against the resin's temperature."""

RESIN_SYSTEM: dict[str, Any] = {
    "code": "RESIN-X",
    "name": "Invented silicate resin",
    "ratio_a": 2.0,
    "ratio_b": 1.0,
    "ratio_basis": "volume",
    "density_a_kg_m3": 1450.0,
    "density_b_kg_m3": 1130.0,
    "density_mixed_kg_m3": 1340.0,
    "model_allowance": 0.05,
    "source": INVENTED,
}

CURE_CHART: dict[str, Any] = {
    "purpose": "cure",
    "diameter_min_mm": 150.0,
    "diameter_max_mm": 400.0,
    "clock_start": "inflation",
    "rows": CURE_ROWS,
    "rounding_min": 5.0,
    "version": "cure invented 1",
    "source": INVENTED,
}

WORKING_CHART: dict[str, Any] = {
    "purpose": "working",
    "diameter_min_mm": 150.0,
    "diameter_max_mm": 400.0,
    "clock_start": "mixing",
    "rows": WORKING_ROWS,
    "rounding_min": 1.0,
    "version": "working invented 1",
    "source": INVENTED,
}

KIT_TYPE: dict[str, Any] = {
    "code": "KIT-300",
    "name": "Invented kit for 250 to 300 mm",
    "diameter_min_mm": 250.0,
    "diameter_max_mm": 300.0,
    "sleeve_lengths_m": [0.5, 1.0, 1.5],
    "thickness_mm": 4.0,
    "fibre_volume_fraction": 0.25,
    "host_loss_fraction": 0.05,
    "waste_fraction": 0.10,
    "usual_inflation_kpa": 33.0,
    "limit_kpa": 50.0,
    "contents": ["sleeve", "resin part A", "resin part B", "film", "gloves"],
    "source": INVENTED,
}
