"""Every module of a domain is importable with nothing but Python, NumPy and other domains."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
APPS = ("duework", "repairs", "dispatch", "qa")
MODULES = sorted(
    ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
    for app in APPS
    for path in (ROOT / app / "domain").rglob("*.py")
)

ONLY_PURE = """
import importlib, importlib.abc, sys

OURS = {"duework", "repairs", "dispatch", "qa"}
PURE = set(sys.stdlib_module_names) | {"numpy"}

class Guard(importlib.abc.MetaPathFinder):
    def find_spec(self, name, path=None, target=None):
        top, _, rest = name.partition(".")
        # zoneinfo reads how Python itself was built, from a module of its platform's name.
        pure = top in PURE or top.startswith("_sysconfigdata")
        if pure or top in OURS and (not rest or rest.split(".")[0] == "domain"):
            return None
        raise ImportError(f"{name} is not pure")

sys.path.insert(0, sys.argv[1])
sys.meta_path.insert(0, Guard())
failed = {}
for module in sys.argv[2:]:
    try:
        importlib.import_module(module)
    except ImportError as error:
        failed[module] = str(error)
print(failed)
sys.exit(bool(failed))
"""


def import_them(root: Path, *modules: str) -> subprocess.CompletedProcess[str]:
    """Import modules in a process of their own in which everything else is blocked."""
    command = [sys.executable, "-c", ONLY_PURE, str(root), *modules]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)


def test_every_domain_module_is_pure() -> None:
    """Django, DRF, Celery and our own outer layers are blocked, and nobody misses them."""
    found = import_them(ROOT, *MODULES)

    assert found.stdout == "{}\n"
    assert found.returncode == 0


def test_there_is_something_to_import() -> None:
    """All four domains are among the modules."""
    assert {module.partition(".")[0] for module in MODULES} == set(APPS)
    assert len(MODULES) > 40


@pytest.mark.parametrize("line", ["import django", "from repairs.models import Repair"])
def test_the_guard_bites(tmp_path: Path, line: str) -> None:
    """A domain that reached out would be caught."""
    folder = tmp_path / "repairs" / "domain"
    folder.mkdir(parents=True)
    for package in (folder, folder.parent):
        (package / "__init__.py").touch()
    (folder / "impure.py").write_text(line + "\n")

    found = import_them(tmp_path, "repairs.domain.impure")

    assert found.returncode == 1
    assert "is not pure" in found.stdout


FORBIDDEN_CALLS = ("datetime.now(", "datetime.utcnow(", "time.time(", "date.today(", "open(")


@pytest.mark.parametrize("module", MODULES)
def test_a_domain_asks_no_clock_and_opens_no_file(module: str) -> None:
    """`now` is passed in; what lies in a file is read by somebody else."""
    path = ROOT / Path(*module.split("."))
    source = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    text = source.read_text(encoding="utf-8")

    assert [call for call in FORBIDDEN_CALLS if call in text] == []
