"""``manage.py calculate``: the calculations from a terminal."""

import argparse
import json
import shlex
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from qa.calculations.calculation import Calculation, answer
from qa.calculations.registry import CALCULATIONS
from qa.calculations.terminal import help_words, pretty, spoken, typed
from repairs.domain.problem import Refused

_LIST = "\n".join(f"  {name:<20}{each.answers}" for name, each in CALCULATIONS.items())


class Command(BaseCommand):
    help = (
        "Runs one calculation of the core; nothing is stored.\n\n"
        f"{_LIST}\n\n"
        "Each has its own help: manage.py calculate inflation-window --help\n"
        "Example: manage.py calculate hold-test-provable gauge_resolution=0.1psi "
        "allowed_drop_a_minute=0.02psi"
    )
    requires_system_checks = []

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        kwargs["formatter_class"] = argparse.RawDescriptionHelpFormatter
        return super().create_parser(prog_name, subcommand, **kwargs)

    def add_arguments(self, parser: CommandParser) -> None:
        names = parser.add_subparsers(dest="name", required=True, metavar="NAME")
        for name, each in CALCULATIONS.items():
            one = names.add_parser(
                name,
                description=help_words(each),
                formatter_class=argparse.RawDescriptionHelpFormatter,
            )
            one.add_argument("words", nargs="*", metavar="FIELD=VALUE", help="with its unit")
            one.add_argument("--file", type=Path, help="read the fields from this JSON file first")
            one.add_argument("--json", action="store_true", help="answer as the API does")
            one.add_argument("--example", action="store_true", help="print an example as JSON")

    def handle(self, *_args: Any, **options: Any) -> None:
        calculation = CALCULATIONS[options["name"]]
        if options["example"]:
            self.stdout.write(json.dumps(calculation.example, indent=2, ensure_ascii=False))
            return
        sent = typed(calculation, _from_file(options["file"]), list(_words(options["words"])))
        try:
            found = answer(calculation, sent, now=timezone.now())
        except Refused as refused:
            raise CommandError(_mend(calculation, refused, options)) from refused
        shown = json.dumps(found, indent=2, ensure_ascii=False) if options["json"] else None
        self.stdout.write(shown or pretty(calculation, found))


def _from_file(path: Path | None) -> Mapping[str, Any]:
    if path is None:
        return {}
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise CommandError(f"--file: {path} cannot be read: {error.strerror}.") from error
    except ValueError as error:
        raise CommandError(f"--file: {path} is no JSON: {error}.") from error
    if not isinstance(found, dict):
        raise CommandError(f"--file: {path} holds no object with fields.")
    return found


def _words(words: list[str]) -> Iterator[tuple[str, str]]:
    for word in words:
        name, parted, value = word.partition("=")
        if not parted:
            raise CommandError(f"{word}: expected FIELD=VALUE, such as diameter=200mm.")
        yield name, _from_place(name, value)


def _from_place(name: str, value: str) -> str:
    """Return the text of a file where ``@FILE`` is typed for a value."""
    if not value.startswith("@"):
        return value
    try:
        return Path(value[1:]).read_text(encoding="utf-8")
    except (OSError, ValueError) as error:
        raise CommandError(f"{name}: {value[1:]} cannot be read: {error}.") from error


def _mend(calculation: Calculation, refused: Refused, options: Mapping[str, Any]) -> str:
    """Name each field, and give back what was typed, ready to be mended."""
    lines = [f"  {fault}." for fault in refused.faults]
    file = ["--file", str(options["file"])] if options["file"] else []
    again = shlex.join(["manage.py", "calculate", calculation.name, *file, *options["words"]])
    example = f"manage.py calculate {calculation.name} {spoken(calculation)}"
    return "\n".join(
        ["This cannot be calculated:", *lines, "You typed:", f"  {again}", "An example:", example]
    )
