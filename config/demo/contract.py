"""An invented contract, an invented resin and an invented kit. Nothing here is a product.

The numbers are of the trade's usual size; each says where it comes from.
"""

from typing import Any

COMMON = "common practice, no source"

LIMITS: dict[str, dict[str, Any]] = {
    "end_coverage_m": {
        "value": 0.305,
        "source": "a public special specification for internal point repair: at least 1 ft "
        "past either end of the defect",
    },
    "location_allowance_m": {"value": 0.1, "source": COMMON},
    "sleeve_overlap_m": {"value": 0.1, "source": COMMON},
    "distance_tolerance_fraction": {
        "value": 0.005,
        "source": "a municipal filming specification: 0.5 % or 1 ft, whichever is greater",
    },
    "distance_tolerance_m": {"value": 0.305, "source": "the same"},
    "allowed_drop_kpa_per_min": {"value": 0.138, "source": f"0.02 psi a minute, {COMMON}"},
    "hold_test_min": {"value": 5, "source": COMMON},
    "gauge_accuracy_kpa": {"value": 0.69, "source": f"0.1 psi, {COMMON}"},
    "gauge_resolution_kpa": {"value": 0.69, "source": f"0.1 psi, {COMMON}"},
    "contact_margin_kpa": {"value": 6.9, "source": f"1 psi above groundwater, {COMMON}"},
    "pressure_gap_s": {"value": 60, "source": COMMON},
    "pressure_coverage": {"value": 0.95, "source": COMMON},
    "temperature_gap_s": {"value": 900, "source": COMMON},
    "sensor_tolerance_k": {"value": 1.0, "source": COMMON},
    "mass_tolerance_fraction": {"value": 0.05, "source": COMMON},
    "clock_uncertainty_s": {"value": 60, "source": COMMON},
    "wrinkle_fraction": {
        "value": 0.02,
        "source": "2 % or 6 mm, whichever is greater: EN ISO 11296-4 as quoted in teaching "
        "material for full-length liners",
    },
    "wrinkle_m": {"value": 0.006, "source": "the same"},
    "setup_min": {"value": 45, "source": COMMON},
    "finish_min": {"value": 25, "source": COMMON},
    "cure_margin_min": {"value": 20, "source": COMMON},
}


def _rule(
    code: str, fact: str, compare: str, limit: Any, answer: str, reason: str
) -> dict[str, Any]:
    return {
        "code": code,
        "fact": fact,
        "compare": compare,
        "limit": limit,
        "answer": answer,
        "reason": reason,
        "source": COMMON,
    }


FITNESS_RULES = [
    _rule("collapse", "defect_code", "in", ["BAC"], "no",
          "a broken or collapsed pipe must be dug up: a sleeve needs a round wall to press on"),
    _rule("no_kit", "kit_for_diameter", "is", False, "no", "no kit is made for this bore"),
    _rule("window", "window_feasible", "is", False, "no",
          "the pressure the groundwater asks for exceeds what kit, packer or pipe may take"),
    _rule("offset", "offset_mm", "above", 20, "no", "the packer cannot pass a larger offset"),
    _rule("deformation", "deformation_percent", "above", 10, "no",
          "a sleeve does not lie against a pipe so far out of round"),
    _rule("void", "void_behind", "is", True, "no",
          "an unstable void behind the pipe must be filled first, by others"),
    _rule("running_water", "infiltration", "in", ["running"], "yes after",
          "running groundwater washes the resin out: stop it first"),
    _rule("roots", "roots", "is", True, "yes after", "cut the roots and film again"),
    _rule("deposits", "deposits", "is", True, "yes after", "clean the pipe and film again"),
    _rule("connection", "connection_in_sleeve", "is", True, "yes after",
          "a live connection under the sleeve needs a plan to open it again"),
    _rule("many_sleeves", "sleeves_needed", "above", 3, "no",
          "with more than three sleeves another method is cheaper and safer"),
    _rule("not_filmed", "inspection_filmed", "is", False, "yes after", "film the defect first"),
]  # fmt: skip

REQUIREMENTS = [
    {"code": code, "source": source, "waived_by": ["town engineer"]}
    for code, source in (
        ("pre_repair_film", "municipal filming specifications ask for it"),
        ("distance_mark_photo", COMMON),
        ("pipe_ready", COMMON),
        ("distances_agree", "a municipal filming specification"),
        ("dry_run_and_new_film", COMMON),
        ("hold_test", COMMON),
        ("packer_in_test", COMMON),
        ("lots_traceable", COMMON),
        ("mix_masses", COMMON),
        ("wet_out_saturated", "a municipal lining specification: no dry spots"),
        ("working_time_kept", "the maker's chart"),
        ("sleeve_covers_defect", "a public special specification for internal point repair"),
        ("cure_pressure_held", "a municipal lining specification: above head for the whole cure"),
        ("cured_before_deflation", "the maker's chart"),
        ("post_repair_film", "municipal filming specifications ask for it"),
        ("surface_in_order", "EN ISO 11296-4 as quoted"),
        ("flow_restored", "a municipal specification: service back within hours"),
    )
]

QUALIFICATIONS = ["resin handling", "filming certificate"]

ESCALATION = {
    "steps": [
        {"to": "crew lead", "after_min": 0},
        {"to": "dispatcher", "after_min": 0.05},
        {"to": "on call", "after_min": 15},
    ],
    "quiet_from": "20:00",
    "quiet_until": "07:00",
    "source": "invented: 3 seconds, so that the demonstration does not wait for minutes",
}

REQUIREMENT_SET = {
    "name": "Demo municipal contract",
    "version": 1,
    "limits": LIMITS,
    "fitness_rules": FITNESS_RULES,
    "requirements": REQUIREMENTS,
    "accepts_as_is": ["town engineer"],
    "qualifications": QUALIFICATIONS,
    "escalation": ESCALATION,
    "note": "Invented for the demonstration.",
}

RESIN_SYSTEM = {
    "code": "DEMO-RESIN",
    "name": "Invented ambient resin",
    "ratio_a": 2,
    "ratio_b": 1,
    "ratio_basis": "volume",
    "density_a": {"value": 1150, "unit": "kg/m3"},
    "density_b": {"value": 980, "unit": "kg/m3"},
    "density_mixed": {"value": 1100, "unit": "kg/m3"},
    "source": "invented for the demonstration",
}


def _chart(purpose: str, clock_start: str, rows: dict[int, int]) -> dict[str, Any]:
    return {
        "resin_system": "DEMO-RESIN",
        "purpose": purpose,
        "diameter_min": {"value": 100, "unit": "mm"},
        "diameter_max": {"value": 400, "unit": "mm"},
        "clock_start": clock_start,
        "rows": [
            {"temperature": {"value": t, "unit": "degC"}, "minutes": m} for t, m in rows.items()
        ],
        "rounding_min": 5 if purpose == "cure" else 1,
        "version": "invented 2026-1",
        "source": "invented for the demonstration",
    }


CHARTS = [
    _chart("cure", "inflation", {10: 240, 15: 160, 20: 105, 25: 75, 30: 55}),
    _chart("working", "mixing", {10: 60, 15: 45, 20: 33, 25: 25, 30: 18}),
]

KIT_TYPE = {
    "code": "DEMO-KIT-200",
    "name": "Invented kit for 8 in pipe",
    "resin_system": "DEMO-RESIN",
    "diameter_min": {"value": 180, "unit": "mm"},
    "diameter_max": {"value": 225, "unit": "mm"},
    "sleeve_lengths_m": [0.6, 0.9, 1.2, 1.5],
    "thickness": {"value": 4.5, "unit": "mm"},
    "fibre_volume_fraction": 0.35,
    "waste_fraction": 0.1,
    "usual_inflation": {"value": 4.8, "unit": "psi"},
    "limit": {"value": 8, "unit": "psi"},
    "contents": ["glass sleeve", "part A", "part B", "protective films", "ties", "gloves"],
    "source": "invented for the demonstration",
}
