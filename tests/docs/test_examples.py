"""What the documentation shows runs, and prints what it says."""

import doctest
import re
import shlex
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

from qa.calculations.registry import CALCULATIONS

ROOT = Path(__file__).parents[2]
PAGES = sorted((ROOT / "docs").rglob("*.md"))
_PYTHON = re.compile(r"^```python\n(.*?)^```", re.MULTILINE | re.DOTALL)
_TYPED = re.compile(r"^(?:\.venv/bin/python )?manage\.py calculate (.+)$", re.MULTILINE)


def name_of(page: Path) -> str:
    """Return a page's name as seen from the project."""
    return str(page.relative_to(ROOT))


def blocks(page: Path) -> list[str]:
    """Return the Python blocks of a page."""
    return _PYTHON.findall(page.read_text(encoding="utf-8"))


COMMANDS = [
    (name_of(page), line)
    for page in PAGES
    for line in _TYPED.findall(page.read_text(encoding="utf-8"))
]


@pytest.mark.parametrize("page", [page for page in PAGES if blocks(page)], ids=name_of)
def test_the_python_of_a_page_prints_what_the_page_says(page: Path) -> None:
    """Each block by itself, so that a reader may copy any one of them."""
    parser = doctest.DocTestParser()
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS, verbose=False)
    told = StringIO()
    for number, block in enumerate(blocks(page)):
        test = parser.get_doctest(block, {}, f"{page.name}[{number}]", str(page), 0)
        assert test.examples
        runner.run(test, out=told.write)

    assert runner.summarize(verbose=False).failed == 0, told.getvalue()


@pytest.mark.parametrize(("page", "line"), COMMANDS)
def test_a_command_of_a_page_can_be_typed(
    page: str, line: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What stands on a page is taken as it is; the log of an example lies beside the caller."""
    (tmp_path / "log.csv").write_text(CALCULATIONS["pressure-window"].example["log"])
    monkeypatch.chdir(tmp_path)
    shown = StringIO()

    call_command("calculate", *shlex.split(line), stdout=shown)

    assert shown.getvalue(), page


def test_each_calculation_is_typed_on_its_page() -> None:
    """A reader finds the command where the calculation is explained."""
    typed = {(page, shlex.split(line)[0]) for page, line in COMMANDS}

    assert {(each.page, name) for name, each in CALCULATIONS.items()} - typed == set()
