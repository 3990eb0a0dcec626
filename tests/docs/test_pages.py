"""Source, test and page of a calculation share a name."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "docs" / "calculations"
PAGES = sorted(FOLDER.glob("*.md"))
_SOURCE_LINE = re.compile(r"^source: (.+)$", re.MULTILINE)
_HAS_SOURCE = re.compile(r"^\s+Source\n\s+-{6}$", re.MULTILINE)
PARTS = ("**What it answers.**", "**How.**", "**Source.**", "**Limits.**", "```python")


def sources(page: Path) -> list[str]:
    """Return the modules a page explains, its own first."""
    line = _SOURCE_LINE.search(page.read_text(encoding="utf-8"))
    return re.findall(r"`([^`]+)`", line[1]) if line else []


def calculations() -> list[str]:
    """Return every module of the core that calculates: one of its functions names its source."""
    return sorted(
        str(path.relative_to(ROOT))
        for app in ("repairs", "qa")
        for path in (ROOT / app / "domain").glob("*.py")
        if _HAS_SOURCE.search(path.read_text(encoding="utf-8"))
    )


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_a_page_has_its_module_and_its_test(page: Path) -> None:
    """``docs/calculations/x.md``, ``<app>/domain/x.py``, ``tests/<app>/test_x.py``."""
    named = sources(page)

    assert named[0].endswith(f"/domain/{page.stem}.py")
    assert [name for name in named if not (ROOT / name).is_file()] == []
    app = named[0].partition("/")[0]
    test = ROOT / "tests" / app / f"test_{page.stem}.py"
    assert f".{page.stem} import" in test.read_text(encoding="utf-8")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_a_page_says_what_how_whence_and_how_far(page: Path) -> None:
    """The question, the formula, the source, the limits, and an example that runs."""
    text = page.read_text(encoding="utf-8")

    assert [part for part in PARTS if part not in text] == []


def test_each_calculation_is_explained_on_one_page() -> None:
    """No module that names a source is left without a page, and none has two."""
    explained = [name for page in PAGES for name in sources(page)]

    assert set(calculations()) - set(explained) == set()
    assert len(explained) == len(set(explained))


def test_the_index_leads_to_every_page() -> None:
    """docs/calculations.md names each page once; every picture and page it names is there."""
    index = (ROOT / "docs" / "calculations.md").read_text(encoding="utf-8")
    named = re.findall(r"\(calculations/(\w+)\.md\)", index)

    assert sorted(set(named)) == [page.stem for page in PAGES]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_every_link_of_a_page_leads_somewhere(page: Path) -> None:
    """Pages and pictures."""
    links = re.findall(r"\]\(([^)#]+)", page.read_text(encoding="utf-8"))

    assert [link for link in links if not (page.parent / link).exists()] == []
