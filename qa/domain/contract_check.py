"""What in a contract's set contradicts itself: said before the set is used.

Each part of a set may be right by itself and the whole still ask for what nobody can give: a
leak test without a pressure, a hold test too short for its gauge, proof thrown away before the
warranty ends.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from dispatch.domain.terms import terms_from
from qa.domain.hold_test import provable
from repairs.domain.limits import NEEDED_BY
from repairs.domain.problem import Fault, shown

_MONTHS_A_YEAR = 12
_DAYS_A_MONTH = 28
"""A month has at least so many."""

_HIGH_WRINKLE = 0.2
"""Share of the diameter above which a second thought is asked for: common practice, no source."""

_SHARES = ("pressure_coverage", "wall_point_fraction", "mass_tolerance_fraction",
           "wrinkle_fraction", "distance_tolerance_fraction")  # fmt: skip

Contract = Mapping[str, Any]
"""A set's body: limits, fitness_rules, requirements, terms, ...; each part checked by itself."""


def contradictions(contract: Contract) -> tuple[Fault, ...]:
    """Name what cannot be together, each at the field to change."""
    return tuple(fault for check in _CHECKS for fault in check(contract))


def remarks(contract: Contract) -> tuple[str, ...]:
    """Say what is possible and still worth a second thought; none of it is refused."""
    said = (
        _location(contract),
        _no_film(contract),
        *_anybody_waives(contract),
        _anybody_accepts(contract),
        _wrinkles(contract),
    )
    return tuple(words for words in said if words)


def _limits(contract: Contract) -> Iterator[Fault]:
    codes, limits = _codes(contract), contract["limits"]
    for code, names in NEEDED_BY.items():
        for name in names:
            if code in codes and name not in limits:
                yield Fault(f"limits.{name}", "nothing", f"a value: the set asks for {code}")
            if code not in codes and name in limits:
                yield Fault(f"limits.{name}", shown(limits[name]), f"{code} among the requirements")


def _coverage(contract: Contract) -> Iterator[Fault]:
    value = _value(contract, "pressure_coverage")
    if value is not None and value <= 0:
        expected = "more than 0: a log that covers nothing proves nothing"
        yield Fault("limits.pressure_coverage.value", shown(value), expected)


def _shares(contract: Contract) -> Iterator[Fault]:
    for name in _SHARES:
        value = _value(contract, name)
        if value is not None and value > 1:
            yield Fault(f"limits.{name}.value", shown(value), "a share, 1 at most")


def _hold_test(contract: Contract) -> Iterator[Fault]:
    step, drop, lasts = (
        _value(contract, name)
        for name in ("gauge_resolution_kpa", "allowed_drop_kpa_per_min", "hold_test_min")
    )
    if "hold_test" not in _codes(contract) or not step or not lasts:
        return
    if not drop:
        yield Fault("limits.allowed_drop_kpa_per_min.value", shown(drop), "more than 0")
        return
    wanted = provable(step, drop)
    if lasts < wanted * (1 - 1e-9):
        yield Fault(
            "limits.hold_test_min.value",
            shown(lasts),
            f"{wanted:.1f} min or more: in less, a gauge of {step:g} kPa need not show a leak of "
            f"{drop:g} kPa a minute",
        )


def _leak_test(contract: Contract) -> Iterator[Fault]:
    start, end = _value(contract, "leak_start_kpa"), _value(contract, "leak_end_kpa")
    if start is not None and end is not None and end > start:
        yield Fault("limits.leak_end_kpa.value", shown(end), f"{start:g} kPa or less")


def _waivers(contract: Contract) -> Iterator[Fault]:
    for number, row in enumerate(contract["requirements"]):
        if row.get("never_waived") and row.get("waived_by"):
            field = f"requirements[{number}].waived_by"
            yield Fault(field, shown(row["waived_by"]), "nobody: the row says never_waived")


def _films(contract: Contract) -> Iterator[Fault]:
    codes = _codes(contract)
    if "film_in_time" in codes and "post_repair_film" not in codes:
        expected = "post_repair_film too: film_in_time asks when a film came that nobody asks for"
        yield Fault("requirements", "film_in_time", expected)


def _terms(contract: Contract) -> Iterator[Fault]:
    terms = terms_from(contract.get("terms") or {})
    if terms.retention_years * _MONTHS_A_YEAR < terms.warranty_months:
        yield Fault(
            "terms.retention_years",
            f"{terms.retention_years} years",
            f"the warranty of {terms.warranty_months} months or more: proof is needed until then",
        )
    said = "answer_remind_days" in (contract.get("terms") or {})
    if said and terms.answer_remind_days >= max(terms.answer_days, 1):
        yield Fault(
            "terms.answer_remind_days",
            f"{terms.answer_remind_days} days",
            f"less than the answer_days, {terms.answer_days}: then the client has only just been "
            "told that the package is there",
        )
    if terms.warranty_months and terms.warranty_lead_days > terms.warranty_months * _DAYS_A_MONTH:
        yield Fault(
            "terms.warranty_lead_days",
            f"{terms.warranty_lead_days} days",
            f"less than the warranty of {terms.warranty_months} months",
        )


def _twice(contract: Contract) -> Iterator[Fault]:
    """Name a fitness rule that is there before it: by its code, or by what it asks."""
    rules: Sequence[Mapping[str, Any]] = contract["fitness_rules"]
    for number, row in enumerate(rules):
        earlier = rules[:number]
        if any(other["code"] == row["code"] for other in earlier):
            field = f"fitness_rules[{number}].code"
            yield Fault(field, shown(row["code"]), "a code that no other rule has")
            continue
        same = next((other for other in earlier if _asked(other) == _asked(row)), None)
        if same is None:
            continue
        field = f"fitness_rules[{number}].limit"
        if same["answer"] == row["answer"]:
            yield Fault(
                field, shown(row["limit"]), f"another limit: rule {same['code']} is the same"
            )
        # A 'yes after' beside a 'no' is named with those of other limits, whichever comes first.
        elif {same["answer"], row["answer"]} != {"no", "yes after"}:
            expected = f"another limit: rule {same['code']} answers {same['answer']} there"
            yield Fault(field, shown(row["limit"]), expected)


def _asked(row: Mapping[str, Any]) -> tuple[Any, ...]:
    """Return what a rule asks; the order of a list of words does not count."""
    limit = row["limit"]
    plain = tuple(sorted(map(str, limit))) if isinstance(limit, list | tuple) else limit
    return row["fact"], row["compare"], plain


def _fitness(contract: Contract) -> Iterator[Fault]:
    """Name a 'yes after' that a 'no' of the same fact always outdoes."""
    rules: Sequence[Mapping[str, Any]] = contract["fitness_rules"]
    for number, row in enumerate(rules):
        if row["answer"] != "yes after":
            continue
        for other in rules:
            same = other["fact"] == row["fact"] and other["compare"] == row["compare"]
            if same and other["answer"] == "no" and _outdoes(other, row):
                yield Fault(
                    f"fitness_rules[{number}].limit",
                    shown(row["limit"]),
                    f"another limit: rule {other['code']} says no there already",
                )


def _outdoes(no: Mapping[str, Any], after: Mapping[str, Any]) -> bool:
    match no["compare"]:
        case "above":
            return bool(no["limit"] <= after["limit"])
        case "below":
            return bool(no["limit"] >= after["limit"])
        case "in":
            return set(after["limit"]) <= set(no["limit"])
        case _:
            return bool(no["limit"] == after["limit"])


def _location(contract: Contract) -> str:
    tolerance, allowance = (
        _value(contract, "distance_tolerance_m") or 0.0,
        _value(contract, "location_allowance_m") or 0.0,
    )
    if tolerance <= allowance:
        return ""
    return (
        f"Two distances may be {tolerance:g} m apart and agree, and a sleeve is chosen for a "
        f"location wrong by {allowance:g} m: distances alone do not prove the cover. Let the "
        "camera see both ends beside the defect."
    )


def _no_film(contract: Contract) -> str:
    if "post_repair_film" in _codes(contract):
        return ""
    return "No film of the finished repair is asked for: nobody will see it again."


def _anybody_waives(contract: Contract) -> Iterator[str]:
    for row in contract["requirements"]:
        if not row.get("never_waived") and not row.get("waived_by"):
            yield (
                f"Anybody may waive {row['code']}: the row says neither never_waived nor waived_by."
            )


def _anybody_accepts(contract: Contract) -> str:
    if contract.get("accepts_as_is"):
        return ""
    return (
        "Anybody named on the client's side may accept a nonconformance as it is: accepts_as_is "
        "names no role."
    )


def _wrinkles(contract: Contract) -> str:
    fraction = _value(contract, "wrinkle_fraction") or 0.0
    if fraction <= _HIGH_WRINKLE:
        return ""
    return f"Wrinkles up to {fraction:.0%} of the diameter pass: that narrows the pipe much."


def _codes(contract: Contract) -> frozenset[str]:
    return frozenset(row["code"] for row in contract["requirements"])


def _value(contract: Contract, name: str) -> float | None:
    entry = contract["limits"].get(name)
    return None if entry is None else float(entry["value"])


_CHECKS: tuple[Callable[[Contract], Iterator[Fault]], ...] = (
    _limits,
    _coverage,
    _shares,
    _hold_test,
    _leak_test,
    _waivers,
    _films,
    _terms,
    _twice,
    _fitness,
)
