"""The calculations in words of a terminal: ``diameter=200mm`` in, lines out."""

import shlex
from collections.abc import Iterator, Mapping, Sequence
from textwrap import fill
from typing import Any

from qa.calculations.calculation import Calculation
from qa.calculations.field import Field
from qa.calculations.record import ListOf, Record

_WIDTH = 96


def typed(
    calculation: Calculation, sent: Mapping[str, Any], words: Sequence[tuple[str, str]]
) -> dict[str, Any]:
    """Put words over what a file said, as JSON would have it.

    Parameters
    ----------
    calculation
        Whose fields are meant.
    sent
        What is there already, from a file.
    words
        Names (``chart.rows`` goes inside) with the text typed for each.

    Returns
    -------
    dict
        What would be sent to the API; a name nobody knows is kept, to be named as wrong.
    """
    found = dict(sent)
    for name, text in words:
        field = calculation.record.field(name)
        _put(found, name.split(".") if field else [name], field.typed(text) if field else text)
    return found


def _put(into: dict[str, Any], path: list[str], value: Any) -> None:
    *outer, last = path
    for name in outer:
        inner = into.get(name)
        into[name] = into = dict(inner) if isinstance(inner, Mapping) else {}
    into[last] = value


def spoken(calculation: Calculation) -> str:
    """Return the example as it is typed."""
    return " ".join(shlex.quote(word) for word in _spoken(calculation.takes, calculation.example))


def _spoken(fields: Sequence[Field], sent: Mapping[str, Any], before: str = "") -> Iterator[str]:
    for field in fields:
        if field.name not in sent:
            continue
        if isinstance(field, Record):
            yield from _spoken(field.fields, sent[field.name], f"{before}{field.name}.")
        else:
            yield f"{before}{field.name}={field.spoken(sent[field.name])}"


def help_words(calculation: Calculation) -> str:
    """Teach a calculation: its question, each field, an example, source and caution."""
    example = f"manage.py calculate {calculation.name} {spoken(calculation)}"
    return "\n".join(
        [
            calculation.answers,
            "",
            "Fields:",
            *_fields(calculation.takes),
            "",
            "Example:",
            f"  {example}",
            "",
            *_wrapped(f"Source: {calculation.source}"),
            *_wrapped(f"Caution: {calculation.caution}"),
            f"More: {calculation.page}",
        ]
    )


def _fields(fields: Sequence[Field], before: str = "") -> Iterator[str]:
    for field in fields:
        if isinstance(field, Record):
            yield from _fields(field.fields, f"{before}{field.name}.")
            continue
        may = "" if field.required else " (may be left out)"
        yield f"  {before}{field.name}{may}"
        yield from _wrapped(f"{field.meaning} Takes {field.bounds()}.{_as_typed(field)}", "      ")


def _as_typed(field: Field) -> str:
    if not isinstance(field, ListOf):
        return ""
    item = field.item
    one = item.between.join(each.name for each in item.fields) if isinstance(item, Record) else ""
    return f" Typed as {one or item.name},{one or item.name},..."


def pretty(calculation: Calculation, found: Mapping[str, Any]) -> str:
    """Write an answer for people."""
    return "\n".join(
        [
            calculation.answers,
            "",
            *_figures(found["result"]),
            *(f"  ! {words}" for words in found.get("flag_words", {}).values()),
            "",
            "Working:",
            *(line for each in found["working"] for line in _wrapped(each, "  ")),
            "",
            *_wrapped(f"Source: {found['source']}"),
            *_caution(found),
        ]
    )


def _caution(found: Mapping[str, Any]) -> list[str]:
    """Say the caution, unless the working ended with the same words."""
    is_said = found["caution"] in found["working"]
    return [] if is_said else _wrapped(f"Caution: {found['caution']}")


def _figures(figures: Mapping[str, Any], before: str = "  ") -> Iterator[str]:
    for name, value in figures.items():
        label = name.replace("_", " ")
        if isinstance(value, list) and value and isinstance(value[0], dict):
            yield f"{before}{label}:"
            for each in value:
                is_quantity = "unit" in each
                yield f"{before}  {_shown(each)}" if is_quantity else f"{before}  -"
                if not is_quantity:
                    yield from _figures(each, before + "    ")
        elif isinstance(value, dict) and "unit" not in value:
            yield f"{before}{label}:"
            yield from _figures(value, before + "  ")
        else:
            yield f"{before}{label}: {_shown(value)}"


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        us = value.get("us")
        shown = f"{value['value']:.5g} {value['unit']}"
        return shown if us is None or us["unit"] == value["unit"] else _both(shown, us)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(map(_shown, value)) or "none"
    if value is None:
        return "not known"
    return f"{value:.5g}" if isinstance(value, float) else str(value)


def _both(shown: str, us: Mapping[str, Any]) -> str:
    return f"{shown} ({us['value']:.5g} {us['unit']})"


def _wrapped(text: str, indent: str = "") -> list[str]:
    return fill(text, _WIDTH, initial_indent=indent, subsequent_indent=indent).splitlines()
