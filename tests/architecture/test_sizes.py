"""No file and no function grows beyond what a reader can hold in mind."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FOLDERS = ("config", "duework", "repairs", "dispatch", "qa")
LONGEST_FILE = 300
LONGEST_FUNCTION = 50
VAGUE = frozenset({"utils", "helpers", "common", "core", "misc"})
"""A module of such a name holds whatever nobody found a place for."""

FILES = sorted(
    path
    for folder in FOLDERS
    for path in (ROOT / folder).rglob("*.py")
    if "migrations" not in path.parts
)


def name_of(path: Path) -> str:
    """Return a file's name as seen from the project."""
    return str(path.relative_to(ROOT))


def functions(path: Path) -> Iterator[tuple[str, int]]:
    """Return each function with its number of lines, without decorators and docstring."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            told = node.body[0] if ast.get_docstring(node) else None
            words = 0 if told is None else (told.end_lineno or 0) - told.lineno + 1
            yield node.name, (node.end_lineno or 0) - node.lineno + 1 - words


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_no_file_and_no_function_is_too_long(path: Path) -> None:
    """At most 300 lines a file and 50 a function; better half of that."""
    lines = len(path.read_text(encoding="utf-8").splitlines())
    long = [(name, size) for name, size in functions(path) if size > LONGEST_FUNCTION]

    assert lines <= LONGEST_FILE
    assert long == []


def test_no_module_has_a_vague_name() -> None:
    """A file says in its name what is in it."""
    assert [name_of(path) for path in FILES if path.stem in VAGUE] == []


def test_nothing_is_imported_late() -> None:
    """Imports stand at the top, where the layers can be seen; no star imports."""
    late = [
        (name_of(path), node.lineno)
        for path in FILES
        for function in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef)
        for node in ast.walk(function)
        if isinstance(node, ast.Import | ast.ImportFrom)
    ]

    assert late == []


def test_there_are_files_to_measure() -> None:
    """Each folder has some."""
    assert {path.parts[len(ROOT.parts)] for path in FILES} == set(FOLDERS)
