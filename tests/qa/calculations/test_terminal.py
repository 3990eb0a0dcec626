import json
import shlex
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from qa.calculations.calculation import Calculation
from qa.calculations.registry import CALCULATIONS
from qa.calculations.terminal import help_words, spoken, typed

EACH = pytest.mark.parametrize("calculation", CALCULATIONS.values(), ids=CALCULATIONS)
WINDOW = shlex.split(spoken(CALCULATIONS["inflation-window"]))


def told(*words: str, **options: object) -> str:
    """Run the command and return what it prints."""
    out = StringIO()
    call_command("calculate", *words, stdout=out, **options)
    return out.getvalue()


@EACH
def test_the_example_can_be_typed(calculation: Calculation) -> None:
    """What the help shows is what the API is sent, except a whole file, which stays in its file."""
    words = [word.split("=", 1) for word in shlex.split(spoken(calculation))]
    sent = typed(calculation, {}, [(name, text) for name, text in words])

    files = {name for name, text in words if text.startswith("@")}
    assert {name: value for name, value in sent.items() if name not in files} == {
        name: value for name, value in calculation.example.items() if name not in files
    }
    assert files <= {"log"}


@EACH
def test_the_help_teaches_every_field(calculation: Calculation) -> None:
    """Each field with its meaning, an example, source and caution."""
    words = help_words(calculation)

    assert [field.name for field in calculation.takes if f"  {field.name}" not in words] == []
    assert spoken(calculation) in words
    assert "Source:" in words
    assert "Caution:" in words


def test_the_window_is_told_with_its_working() -> None:
    """Figures in both systems, then line by line."""
    shown = told("inflation-window", *WINDOW)

    assert "low: 19.541 kPa (2.8341 psi)" in shown
    assert "Working:" in shown
    assert "hydrostatics" in shown


def test_json_is_what_the_api_answers() -> None:
    """For a script."""
    found = json.loads(told("inflation-window", "--json", *WINDOW))

    assert found["calculation"] == "inflation-window"
    assert found["result"]["feasible"] is True


def test_a_file_is_read_first_and_words_go_over_it(tmp_path: Path) -> None:
    """The example of --example runs as it is; a word changes one field of it."""
    file = tmp_path / "case.json"
    file.write_text(told("cure-clock", "--example"))
    words = ("--file", str(file), "--json")
    found, warmer = (
        json.loads(told("cure-clock", *words, *more))["result"]["late"]
        for more in ([], ["sensor_tolerance=0K"])
    )

    assert warmer < found


def test_a_log_is_read_from_its_file(tmp_path: Path) -> None:
    """``log=@FILE``: the example's log out of a CSV."""
    calculation = CALCULATIONS["pressure-window"]
    file = tmp_path / "log.csv"
    file.write_text(calculation.example["log"])
    words = [word.replace("@log.csv", f"@{file}") for word in shlex.split(spoken(calculation))]

    assert "verdict: fail" in told("pressure-window", *words)


def test_a_wrong_field_is_named_and_what_was_typed_is_kept() -> None:
    """The line comes back, ready to be mended; the error says what would be right."""
    with pytest.raises(CommandError) as error:
        told("inflation-window", *WINDOW[:1], "diameter=200", *WINDOW[2:])

    assert "diameter: found '200', expected 50 to 3000 mm" in str(error.value)
    assert f"manage.py calculate inflation-window {WINDOW[0]} diameter=200" in str(error.value)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["diameter"], "expected FIELD=VALUE"),  # no value at all
        (["--file", "/nowhere/case.json"], "cannot be read"),  # no such file
        (["log=@/nowhere/log.csv"], "cannot be read"),  # likewise for a field
        (["chart.rows.x=1"], "no field of this name"),  # a path that leads nowhere
    ],
)
def test_what_cannot_be_read_is_said(words: list[str], said: str) -> None:
    """Every mistake of typing has an answer in words."""
    with pytest.raises(CommandError, match=said):
        told("inflation-window", *words)


def test_a_file_that_is_no_json_is_said(tmp_path: Path) -> None:
    """With the place where reading stopped."""
    file = tmp_path / "case.json"
    file.write_text("{")

    with pytest.raises(CommandError, match="is no JSON"):
        told("inflation-window", "--file", str(file))
    file.write_text("[]")
    with pytest.raises(CommandError, match="no object"):
        told("inflation-window", "--file", str(file))
