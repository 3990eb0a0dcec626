"""The documentation names what there is, neither more nor less."""

import re
from pathlib import Path

import pytest

from config.problems import TITLES
from dispatch.domain import clash
from repairs.domain.progress import Stage

ROOT = Path(__file__).resolve().parents[2]


def _words_in_code(*files: str, pattern: str) -> set[str]:
    return {found for file in files for found in re.findall(pattern, (ROOT / file).read_text())}


def test_each_error_code_is_documented_once() -> None:
    """docs/errors.md lists every code a problem can carry."""
    table = re.findall(r"^\| `([a-z_]+)` \|", (ROOT / "docs/errors.md").read_text(), re.MULTILINE)

    assert sorted(table) == sorted(TITLES)


def test_each_code_that_is_refused_with_has_a_title() -> None:
    """No service refuses with a code that the problem answers do not know."""
    sources = [
        str(path.relative_to(ROOT))
        for app in ("repairs", "dispatch", "qa", "config")
        for path in (ROOT / app).rglob("*.py")
    ]
    used = _words_in_code(*sources, pattern=r'Refused\(\s*"([a-z_]+)"')

    assert used
    assert used <= set(TITLES)


def test_each_reason_of_a_clash_is_documented() -> None:
    """docs/errors.md lists every clash there is."""
    used = _words_in_code(
        str(Path(clash.__file__).relative_to(ROOT)),
        "dispatch/services/assign.py",
        pattern=r'Clash\(\s*"([a-z_]+)"',
    )
    documented = set(re.findall(r"`([a-z_]+)`", (ROOT / "docs/errors.md").read_text()))

    assert used <= documented


def test_each_setting_is_documented() -> None:
    """docs/settings.md lists every variable that is read."""
    used = _words_in_code(
        "config/settings.py", "duework/failpoints.py", pattern=r'"(CUREWRIGHT_[A-Z_]+)"'
    )
    table = re.findall(
        r"^\| `(CUREWRIGHT_[A-Z_]+)` \|", (ROOT / "docs/settings.md").read_text(), re.MULTILINE
    )

    assert sorted(table) == sorted(used)


@pytest.mark.parametrize("stage", [stage.value for stage in Stage])
def test_each_stage_is_in_the_glossary(stage: str) -> None:
    """docs/glossary.md names every stage."""
    assert stage in (ROOT / "docs/glossary.md").read_text()


def test_the_readme_is_short_enough_to_be_read() -> None:
    """At most 150 lines."""
    assert len((ROOT / "README.md").read_text().splitlines()) <= 150


def test_the_readmes_commands_are_the_makefiles() -> None:
    """Every make target the README names exists."""
    named = set(re.findall(r"^make (\w+)$", (ROOT / "README.md").read_text(), re.MULTILINE))
    targets = set(re.findall(r"^(\w+):", (ROOT / "Makefile").read_text(), re.MULTILINE))

    assert named == {"demo", "test", "serve"}
    assert named <= targets


def test_the_lock_files_hold_no_address() -> None:
    """The locks are hashes and versions only."""
    for name in ("requirements.lock", "requirements-dev.lock"):
        assert "://" not in (ROOT / name).read_text()
