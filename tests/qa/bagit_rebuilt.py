"""Eleven cases of the BagIt conformance suite of which no file was to be had: rebuilt by us.

Each is made from its name, from RFC 8493 and, for 0.97, from what its draft differs in. Where a
name leaves open what the bag holds, the function says what was chosen.
"""

from collections.abc import Mapping
from pathlib import Path

from tests.qa.bagit_making import HELLO, Builder, build, digest, write

README = {"data/README": b"hello\n"}


def _separators(bag: Path, version: str) -> None:
    """Choose white space at both sides of the colon, and none."""
    odd = "Source-Organization : Invented\nContact-Name\t:\tNobody\nBag-Size:1 KB\nBag-Count:  1\n"
    build(bag, version, info=odd)


def _minimal(bag: Path, version: str) -> None:
    build(bag, version, info=None)
    (bag / "tagmanifest-md5.txt").unlink()


def _system_files(bag: Path, version: str) -> None:
    """Choose a file of a desktop, listed by nobody."""
    build(bag, version)
    write(bag, "data/.DS_Store", b"x")


def _twice(second: bytes) -> Builder:
    """List one file twice, the second time with the hash of a content.

    Of the suite's own bags is known: no list by MD5, and a path of eleven characters.
    """

    def builder(bag: Path, version: str) -> None:
        line = f"{digest(second, 'sha256')}  data/README\n"
        build(bag, version, README, algorithm="sha256", more=line)

    return builder


def _twice_by_case(bag: Path, version: str) -> None:
    line = f"{digest(HELLO['data/hello.txt'], 'md5')}  data/HELLO.txt\n"
    build(bag, version, more=line)


def _twice_with_one_hash(bag: Path, version: str) -> None:
    _twice(README["data/README"])(bag, version)


def _file_in_no_list(bag: Path, version: str) -> None:
    """Choose as an outside test of the suite says: missingFromManifest.txt is in no list."""
    build(bag, version)
    write(bag, "data/missingFromManifest.txt", b"x")


def _written(line: str) -> Builder:
    """Build a bag whose list is written in another way."""
    return lambda bag, version: build(bag, version, line=line)


REBUILT: Mapping[str, Builder] = {
    "minimal-bag": _minimal,
    "uncommon-metadata-separators": _separators,
    "special-system-files": _system_files,
    "same-filename-listed-twice-with-different-hashes": _twice(b"else"),
    "same-filename-listed-twice-with-the-same-hash": _twice_with_one_hash,
    "duplicate-file-with-different-case": _twice_by_case,
    "made-with-md5sum-tools": _written("{digest} *{path}\n"),
    "notAllManifestsListAllFiles": _file_in_no_list,
    # A path that goes down and up again inside the bag was chosen.
    "relative-path": _written("{digest}  data/../{path}\n"),
}
