"""What is held of the BagIt conformance suite's own files, and how far that is proved.

A file is proved when one of the lists that are held has its hash: it was made anew from its text,
and only these very bytes have it. What no list names stands in `UNPROVED`; of that, and of the
lists of tag files themselves, the count of characters that the source told agrees.
"""

import csv
import hashlib
from collections import Counter
from pathlib import Path

import pytest

from tests.qa.bagit_cases import SUITE, Row, made
from tests.qa.bagit_partly import COMPLETED
from tests.qa.bagit_partly import SUITE as HELD
from tests.qa.bagit_rebuilt import REBUILT

FILES = sorted(path.relative_to(HELD).as_posix() for path in HELD.glob("v*/**/*") if path.is_file())
UNPROVED = {
    "v0.96/valid/holey-bag/fetch.txt",
    "v0.97/valid/UTF-16-encoded-tag-files/bagit.txt",
    "v0.97/warning/same-filename-listed-twice-with-different-normalization/README",
    # Two people's names and mail addresses are replaced in these, letter for letter.
    "v0.97/valid/ISO-8859-1-encoded-tag-files/bag-info.txt",
    "v0.97/valid/duplicate-metadata-entries/bag-info.txt",
    "v0.97/invalid/out-of-scope-file-paths-using-dot-notation/bag-info.txt",
}
"""Beside the lists of tag files, which nothing lists; one of them is listed all the same."""
LISTED_TAG_LIST = {
    "v0.96/valid/bag-in-a-bag/data/bag/tagmanifest-md5.txt",
    "v0.96/valid/basic-bag/tagmanifest-md5.txt",
}


def listed() -> dict[str, set[str]]:
    """Return the hashes that all lists held have, by the last part of the path they name."""
    hashes: dict[str, set[str]] = {}
    for each in HELD.glob("v*/**/*manifest-*.txt"):
        for line in each.read_text(encoding="utf-8").splitlines():
            found, path = line.split(maxsplit=1)
            hashes.setdefault(path.rpartition("/")[2], set()).add(found)
    return hashes


LISTED = listed()
SOURCES = {
    row["file"]: row
    for row in csv.DictReader((HELD / "sources.csv").read_text(encoding="utf-8").splitlines())
}


def proved(file: str) -> bool:
    """Return whether a list has the hash of these bytes for a file of this name."""
    content = (HELD / file).read_bytes()
    found = {
        hashlib.new(name, content, usedforsecurity=False).hexdigest()
        for name in ("md5", "sha256", "sha512")
    }
    return bool(found & LISTED.get(file.rpartition("/")[2], set()))


def contents(folder: Path) -> dict[str, bytes]:
    """Return what a bag holds, by path."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


@pytest.mark.parametrize("file", FILES)
def test_a_file_is_the_suites_byte_for_byte(file: str) -> None:
    """Or is one of those of which it is said that nothing proves it."""
    tag_list = "/tagmanifest-" in file and file not in LISTED_TAG_LIST

    assert proved(file) is not (tag_list or file in UNPROVED)


def test_each_file_has_a_source_and_the_length_it_told() -> None:
    """Without a place are those that were made from their hash, which must prove them."""
    assert list(SOURCES) == FILES
    for row in SOURCES.values():
        content = (HELD / row["file"]).read_bytes().decode()
        if row["stored_under"]:
            assert len(content) == int(row["characters"]), row["file"]
            assert len(row["commit"]) == 40
        else:
            assert proved(row["file"]), row["file"]


def test_the_list_says_how_many_bags_are_the_suites_own() -> None:
    """Fifty-four cases; each that is not the suite's own has what makes it, and nothing is left."""
    names = {
        holds: {row.bag for row in SUITE if row.holds == holds} for holds in ("partly", "rebuilt")
    }

    assert len({row.path for row in SUITE}) == len(SUITE) == 54
    assert Counter(row.holds for row in SUITE) == {
        "original": 6,
        "twin": 10,
        "partly": 27,
        "rebuilt": 11,
    }
    assert set(REBUILT) == names["rebuilt"]
    assert set(COMPLETED) <= names["partly"]


@pytest.mark.parametrize("row", SUITE, ids=str)
def test_what_the_list_says_of_a_bag_is_true(row: Row, tmp_path: Path) -> None:
    """Original and twin: nothing else and all of it; partly: some as they are; rebuilt: none.

    Original is what the suite's own list of tag files, from the suite's own place, vouches for.
    """
    held = [HELD / source for source in row.sources.split()]
    own = {path.name: path.read_bytes() for path in held if path.is_file()}
    for path in held:
        own |= contents(path) if path.is_dir() else {}
    bag = contents(made(tmp_path, row.path))
    kept = {path for path, content in bag.items() if own.get(path) == content}

    if row.holds in ("original", "twin"):
        suites_own = {
            SOURCES[f"{row.path}/{path}"]["repository"] == "bagit-conformance-suite"
            for path in bag
            if path.startswith("tagmanifest-")
        }
        assert row.sources == row.path
        assert bag == own
        assert all(
            proved(f"{row.path}/{path}")
            for path in bag
            if not path.startswith(("tagmanifest-", "README"))
        )
        assert (suites_own == {True}) is (row.holds == "original")
    elif row.holds == "partly":
        assert kept
        assert bag != own
    else:
        assert not row.sources
        assert not (HELD / row.path).exists()
