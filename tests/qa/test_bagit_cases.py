"""The cases of the BagIt conformance suite, judged by the bagit library and by our strict check.

Names, expectations and many of the files: the suite's own (see `bagit_suite.csv` and
`bagit_suite/SOURCES.md`). Valid means accepted, invalid and linux-only mean refused, warning means
refused or accepted with a warning.
"""

import io
import tempfile
import zipfile
from collections.abc import Iterator
from pathlib import Path

import bagit
import pytest
from django.core.management import CommandError, call_command
from hypothesis import given
from hypothesis import strategies as st

from qa.closeout.bag import write_bag
from qa.closeout.bag_check import check_bag
from tests.qa.bagit_cases import SUITE, Row, made
from tests.qa.bagit_making import HELLO, build, digest, tagged, write
from tests.qa.closeout_example import example

LAX = {
    "v0.97/warning/made-with-md5sum-tools",
    "v0.97/warning/relative-path",
    "v1.0/invalid/bagit-with-invalid-whitespace",
}
"""Where the bagit library 1.9.0 accepts in silence, as it does the suite's own: 51 of 54 agree."""
OTHER_PATHS = {
    "v0.97/warning/special-system-files",
    "v0.97/linux-only/out-of-scope-file-paths-using-absolute-path-for-fetch",
    "v0.97/linux-only/out-of-scope-file-paths-using-shortcut-for-fetch",
}
"""Where the library names a path of another length than in the suite's own bag."""
STARTED_IN = "/the/suite/of/22/chars"
"""Stands for the folder in which the library was run over the suite's own bags."""


@pytest.mark.parametrize("row", SUITE, ids=str)
def test_our_check_judges_as_the_suite_does(row: Row, tmp_path: Path) -> None:
    """All of them: what is valid, what is not, and what deserves a warning."""
    found = check_bag(made(tmp_path, row.path))

    if row.category == "valid":
        assert found.problems == []
    elif row.category == "warning":
        assert found.problems + found.warnings
    else:
        assert found.problems


@pytest.mark.parametrize("row", SUITE, ids=str)
def test_the_library_judges_so_but_where_it_is_lax(
    row: Row, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """An outside reader agrees, so the bags made here are what their names say."""
    bag = made(tmp_path, row.path)

    accepted = True
    try:
        bagit.Bag(str(bag)).validate()
    except (bagit.BagError, UnicodeDecodeError):
        accepted = False
    silent = not caplog.records

    agrees = {"valid": accepted, "warning": not (accepted and silent)}.get(
        row.category, not accepted
    )
    assert agrees is (row.path not in LAX)


@pytest.mark.parametrize("row", SUITE, ids=str)
def test_the_library_says_of_it_what_it_says_of_the_suites_own(row: Row, tmp_path: Path) -> None:
    """Recorded on the suite's own bags was how long that is: no other fault, no other path."""
    bag = made(tmp_path / row.path, row.path)

    said = ""
    try:
        bagit.Bag(str(bag)).validate()
    except (bagit.BagError, UnicodeDecodeError) as error:
        reason = str(error).replace(str(bag), f"{STARTED_IN}/{row.path}")
        said = f"2031-03-14 09:00:00,000 - ERROR - {row.path}/ is invalid: {reason}\n"

    assert (len(said.encode()) == int(row.said)) is (row.path not in OTHER_PATHS)


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
    bag = made(tmp_path, "v0.97/invalid/corrupt-data-file")
    out = io.StringIO()

    with pytest.raises(CommandError, match=r"2 problem\(s\)"):
        call_command("check_bag", str(bag), stdout=out)
    assert out.getvalue() == (
        "wrong: changed: data/bare-filename (manifest-md5.txt)\n"
        "wrong: bag-info.txt: Payload-Oxum 58.2, counted 59.2\n"
    )


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


@pytest.mark.parametrize("version", ["0.93", "0.97", "1.0"])
@pytest.mark.parametrize("line", ["BagIt-Version : {}", "BagIt-Version:{}", "BagIt-Version: {} "])
def test_a_space_out_of_place_in_bagit_txt_is_wrong(
    line: str, version: str, tmp_path: Path
) -> None:
    """RFC 8493, 2.1.1; in its drafts too, as the suite's own bag of 0.97 is to be refused."""
    build(tmp_path / "bag", version)
    said = line.format(version)
    write(tmp_path / "bag", "bagit.txt", f"{said}\nTag-File-Character-Encoding: UTF-8\n".encode())
    tagged(tmp_path / "bag")

    assert (
        f"bagit.txt: white space out of place in {said!r}" in check_bag(tmp_path / "bag").problems
    )


def test_each_list_must_name_each_payload_file(tmp_path: Path) -> None:
    """RFC 8493, 2.1.3: a second list lacks a file that the first one has."""
    payload = {**HELLO, "data/other.txt": b"other\n"}
    build(tmp_path / "bag", "1.0", payload)
    line = f"{digest(payload['data/other.txt'], 'sha256')}  data/other.txt\n"
    write(tmp_path / "bag", "manifest-sha256.txt", line.encode())
    tagged(tmp_path / "bag", "sha512")

    problems = check_bag(tmp_path / "bag").problems

    assert problems == ["manifest-sha256.txt: does not list data/hello.txt"]


@pytest.mark.parametrize("hole", ["data/test2.txt", "data/none.txt"])
def test_a_hole_that_is_not_filled_is_said(hole: str, tmp_path: Path) -> None:
    """RFC 8493, 3: a bag is complete once what fetch.txt names has come; it must be listed."""
    bag = made(tmp_path, "v0.97/valid/holey-bag")
    (bag / "fetch.txt").write_text(f"http://example.org/x - {hole}\n")
    (bag / "data/test2.txt").unlink()
    (bag / "tagmanifest-md5.txt").unlink()

    problems = check_bag(bag).problems

    if hole == "data/none.txt":
        assert problems == [
            "fetch.txt: data/none.txt is in no list of hashes", "missing: data/test2.txt",
        ]  # fmt: skip
    else:
        assert problems == ["not fetched yet: data/test2.txt"]


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
