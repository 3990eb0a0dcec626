"""The cases of the BagIt conformance suite, judged by the bagit library and by our strict check.

Names and expectations: the suite's own (see `bagit_suite.csv`). The bags are rebuilt, see
`bagit_cases.py`. Valid means accepted, invalid and linux-only mean refused, warning means refused
or accepted with a warning.
"""

import csv
import io
import tempfile
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import bagit
import pytest
from django.core.management import CommandError, call_command
from hypothesis import given
from hypothesis import strategies as st

from qa.closeout.bag import write_bag
from qa.closeout.bag_check import check_bag
from tests.qa.bagit_cases import CASES, HELLO, build, made
from tests.qa.closeout_example import example


class Row(NamedTuple):
    """A row of the suite's list."""

    suite_version: str
    category: str
    bag: str


def rows() -> tuple[Row, ...]:
    """Read the suite's list."""
    text = Path(__file__).with_name("bagit_suite.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return tuple(Row(**row) for row in csv.DictReader(lines))


SUITE = rows()
LAX = {
    Row("v0.97", "warning", "made-with-md5sum-tools"),
    Row("v0.97", "warning", "relative-path"),
    Row("v1.0", "invalid", "bagit-with-invalid-whitespace"),
    Row("v1.0", "invalid", "notAllManifestsListAllFiles"),
}
"""Where the bagit library 1.9.0 accepts in silence what we rebuilt, so 50 of 54 agree.

It did the same with the first three of the suite's own bags; the last of those it refused, so that
one holds something else than a list that lacks a file, which RFC 8493, 2.1.3, forbids.
"""


def test_the_whole_list_is_rebuilt() -> None:
    """Fifty-four bags, and no builder for a case that the suite does not have."""
    assert len(SUITE) == len(set(SUITE)) == 54
    assert {row.bag for row in SUITE} == set(CASES)


@pytest.mark.parametrize("row", SUITE, ids="/".join)
def test_our_check_judges_as_the_suite_does(row: Row, tmp_path: Path) -> None:
    """All of them: what is valid, what is not, and what deserves a warning."""
    found = check_bag(made(tmp_path, row.suite_version, row.bag))

    if row.category == "valid":
        assert found.problems == []
    elif row.category == "warning":
        assert found.problems + found.warnings
    else:
        assert found.problems


@pytest.mark.parametrize("row", SUITE, ids="/".join)
def test_the_library_judges_so_but_where_it_is_lax(
    row: Row, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """An outside reader agrees, so the rebuilt bags are what their names say."""
    bag = made(tmp_path, row.suite_version, row.bag)

    accepted = True
    try:
        bagit.Bag(str(bag)).validate()
    except (bagit.BagError, UnicodeDecodeError):
        accepted = False
    silent = not caplog.records

    agrees = {"valid": accepted, "warning": not (accepted and silent)}.get(
        row.category, not accepted
    )
    assert agrees is (row not in LAX)


@pytest.fixture
def own_package(tmp_path: Path) -> Iterator[Path]:
    """Return one of our packages."""
    facts = example(tmp_path, photos=1)
    target = tmp_path / "package.zip"
    write_bag(target, facts.facts, facts.files, lambda _written: None)
    return target


def told(path: Path) -> str:
    """Run the command and return what it says."""
    out = io.StringIO()
    call_command("check_bag", str(path), stdout=out)
    return out.getvalue()


def test_our_own_package_passes_as_zip_and_as_folder(own_package: Path, tmp_path: Path) -> None:
    """Without a warning."""
    with zipfile.ZipFile(own_package) as archive:
        archive.extractall(tmp_path / "out")
    (folder,) = (tmp_path / "out").iterdir()

    assert told(own_package) == told(folder) == "Valid, 0 warning(s).\n"


def test_the_command_names_what_is_wrong(tmp_path: Path) -> None:
    """Each problem is a line, and the end is not well."""
    bag = made(tmp_path, "v0.97", "corrupt-data-file")
    out = io.StringIO()

    with pytest.raises(CommandError, match=r"1 problem\(s\)"):
        call_command("check_bag", str(bag), stdout=out)
    assert out.getvalue() == "wrong: changed: data/hello.txt (manifest-md5.txt)\n"


@pytest.mark.parametrize("content", [b"", b"no zip", b"PK\x05\x06" + b"\x00" * 18])
def test_what_is_no_bag_is_said(content: bytes, tmp_path: Path) -> None:
    """An empty file, a text, a zip with nothing in it."""
    path = tmp_path / "thing.zip"
    path.write_bytes(content)

    with pytest.raises(CommandError):
        told(path)


def test_a_link_is_not_followed(tmp_path: Path) -> None:
    """A payload file that is a link into somebody's folder is refused, whatever lies there."""
    build(tmp_path / "bag", "1.0")
    (tmp_path / "secret").write_bytes(HELLO["data/hello.txt"])
    linked = tmp_path / "bag/data/hello.txt"
    linked.unlink()
    linked.symlink_to(tmp_path / "secret")

    assert "data/hello.txt: a link, not a file" in check_bag(tmp_path / "bag").problems


def test_a_wrong_sum_of_sizes_is_named(tmp_path: Path) -> None:
    """RFC 8493, 2.2.2: Payload-Oxum is bytes and files; hello.txt has 6 bytes."""
    build(tmp_path / "right", "1.0", info="Payload-Oxum: 6.1\n")
    build(tmp_path / "wrong", "1.0", info="Payload-Oxum: 7.1\n")

    assert check_bag(tmp_path / "right").problems == []
    assert check_bag(tmp_path / "wrong").problems == ["bag-info.txt: Payload-Oxum 7.1, counted 6.1"]


@pytest.mark.parametrize("hole", ["data/sub/other.txt", "data/none.txt"])
def test_a_hole_that_is_not_filled_is_said(hole: str, tmp_path: Path) -> None:
    """RFC 8493, 3: a bag is complete once what fetch.txt names has come; it must be listed."""
    bag = made(tmp_path, "v0.97", "holey-bag")
    (bag / "fetch.txt").write_text(f"http://example.org/x - {hole}\n")
    (bag / "data/sub/other.txt").unlink()
    (bag / "tagmanifest-md5.txt").unlink()

    problems = check_bag(bag).problems

    if hole == "data/none.txt":
        assert problems == [
            "fetch.txt: data/none.txt is in no list of hashes", "missing: data/sub/other.txt",
        ]  # fmt: skip
    else:
        assert problems == ["not fetched yet: data/sub/other.txt"]


ODD = st.binary(max_size=60) | st.sampled_from(
    [
        b"BagIt-Version: " + b"1" * 5000 + b".0\nTag-File-Character-Encoding: UTF-8\n",
        b"BagIt-Version: 1.0\nTag-File-Character-Encoding: \x00\n",
        b"BagIt-Version: 1.0\nTag-File-Character-Encoding: undefined\n",
        b"BagIt-Version: 0.97\nTag-File-Character-Encoding: zlib\n",
        b"ab  data/\x00\n ab\n: x\n\tx",
        b"ab data/../../x\r\nab ..\nab C:\\x",
    ]
)


TEXTS = ("bagit.txt", "manifest-sha512.txt", "bag-info.txt", "fetch.txt", "manifest-none.txt")


@given(st.dictionaries(st.sampled_from(TEXTS), ODD, min_size=1))
def test_whatever_stands_in_a_bag_is_named_and_harms_nobody(written: dict[str, bytes]) -> None:
    """Any bytes in its text files: an answer, never a crash."""
    with tempfile.TemporaryDirectory() as place:
        bag = Path(place, "bag")
        build(bag, "1.0")
        before = {path.name: path.read_bytes() for path in bag.iterdir() if path.is_file()}
        for name, content in written.items():
            (bag / name).write_bytes(content)
        changed = any(before.get(name) != content for name, content in written.items())

        found = check_bag(bag)

    if changed and written.keys() & before.keys():
        assert not found.valid
