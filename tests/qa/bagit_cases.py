"""Small bags for each case of the BagIt conformance suite, rebuilt by us: not its own files.

The suite (public domain, commit 9ab48705 of 2021-11-18) was not at hand, only the names of its 54
bags and what is expected of them (`bagit_suite.csv`). Each is rebuilt from its name, from RFC 8493
and, for 0.93 to 0.97, from what its drafts differ in. Where a name leaves open what the bag holds,
the function says what was chosen. `made` builds one below a folder.
"""

import hashlib
from collections.abc import Callable, Mapping
from pathlib import Path
from unicodedata import normalize

Builder = Callable[[Path, str], None]
HELLO = {"data/hello.txt": b"hello\n"}
TWO = {**HELLO, "data/sub/other.txt": b"other\n"}
INFO = "Source-Organization: Invented Contractor\nBagging-Date: 2031-03-14\n"
ALGORITHM = {"1.0": "sha512"}
LINE = "{digest}  {path}\n"


def made(folder: Path, version: str, name: str) -> Path:
    """Build the case below a folder; `version` is that of the suite's folder, such as v0.97."""
    bag = folder / "bag"
    CASES[name](bag, version.removeprefix("v"))
    return bag


def digest(content: bytes, algorithm: str) -> str:
    """Return a hash in hexadecimal digits."""
    return hashlib.new(algorithm, content, usedforsecurity=False).hexdigest()


def write(bag: Path, path: str, content: bytes) -> None:
    """Write a file of the bag."""
    (bag / path).parent.mkdir(parents=True, exist_ok=True)
    (bag / path).write_bytes(content)


def build(
    bag: Path,
    version: str,
    payload: Mapping[str, bytes] = HELLO,
    *,
    info: str | None = INFO,
    encoding: str = "UTF-8",
    line: str = LINE,
    more: str = "",
) -> None:
    """Write a whole bag; `line` is how its list is written, `more` stands at the list's end."""
    algorithm = ALGORITHM.get(version, "md5")
    for path, content in payload.items():
        write(bag, path, content)
    (bag / "data").mkdir(parents=True, exist_ok=True)
    said = f"BagIt-Version: {version}\nTag-File-Character-Encoding: {encoding}\n"
    write(bag, "bagit.txt", said.encode())
    if info is not None:
        old = version < "0.96"
        write(bag, "package-info.txt" if old else "bag-info.txt", info.encode(encoding))
    listed = "".join(
        line.format(digest=digest(content, algorithm), path=_encoded(path))
        for path, content in payload.items()
    )
    write(bag, f"manifest-{algorithm}.txt", (listed + more).encode(encoding))
    tagged(bag, algorithm, encoding)


def tagged(bag: Path, algorithm: str = "md5", encoding: str = "UTF-8") -> None:
    """List the tag files that are there now."""
    name = f"tagmanifest-{algorithm}.txt"
    files = [path for path in sorted(bag.iterdir()) if path.is_file() and path.name != name]
    listed = "".join(
        LINE.format(digest=digest(path.read_bytes(), algorithm), path=path.name) for path in files
    )
    write(bag, name, listed.encode(encoding))


def _encoded(path: str) -> str:
    return path.replace("\r", "%0D").replace("\n", "%0A")


def _bag_in_a_bag(bag: Path, version: str) -> None:
    build(bag / "data" / "inner", version)
    inner = sorted(path for path in (bag / "data").rglob("*") if path.is_file())
    build(bag, version, {path.relative_to(bag).as_posix(): path.read_bytes() for path in inner})


def _holey(bag: Path, version: str) -> None:
    """Choose a bag whose hole is filled: the file that fetch.txt names has come."""
    build(bag, version, TWO)
    write(bag, "fetch.txt", b"http://example.org/other.txt 6 data/sub/other.txt\n")
    tagged(bag)


def _encoded_names(bag: Path, version: str) -> None:
    """Choose a line end in a name, which is encoded, and what looks encoded but is the name."""
    build(bag, version, {"data/two\nlines.txt": b"a\n", "data/a%20space.txt": b"b\n"})


def _escapable(bag: Path, version: str) -> None:
    build(bag, version, {'data/a\'b "c" $d &e; #f [g] (h)!.txt': b"a\n", "data/50%.txt": b"b\n"})


def _separators(bag: Path, version: str) -> None:
    odd = "Source-Organization : Invented\nContact-Name\t:\tNobody\nBag-Size:1 KB\nBag-Count:  1\n"
    build(bag, version, info=odd)


def _repeated_metadata(bag: Path, version: str) -> None:
    build(bag, version, info=f"{INFO}Contact-Name: One\nContact-Name: Two\n")


def _minimal(bag: Path, version: str) -> None:
    build(bag, version, info=None)
    (bag / "tagmanifest-md5.txt").unlink()


def _declared(text: bytes) -> Builder:
    """Build a bag with another bagit.txt, which the list of tag files knows."""

    def builder(bag: Path, version: str) -> None:
        build(bag, version)
        write(bag, "bagit.txt", text)
        tagged(bag, ALGORITHM.get(version, "md5"))

    return builder


def _changed(path: str) -> Builder:
    """Build a bag and change a file of it."""

    def builder(bag: Path, version: str) -> None:
        build(bag, version)
        write(bag, path, (bag / path).read_bytes() + b"x")

    return builder


def _added(path: str) -> Builder:
    """Build a bag and add a file that is not listed."""

    def builder(bag: Path, version: str) -> None:
        build(bag, version)
        write(bag, path, b"x")

    return builder


def _removed(path: str) -> Builder:
    """Build a bag and take a file out."""

    def builder(bag: Path, version: str) -> None:
        build(bag, version)
        (bag / path).unlink()

    return builder


def _listed(more: str) -> Builder:
    """Build a bag whose list has another line."""

    def builder(bag: Path, version: str) -> None:
        algorithm = ALGORITHM.get(version, "md5")
        hashes = digest(HELLO["data/hello.txt"], algorithm), digest(b"else", algorithm)
        build(bag, version, more=more.format(same=hashes[0], other=hashes[1]))

    return builder


def _fetched(path: str) -> Builder:
    """Build a bag that would have something fetched to a path."""

    def builder(bag: Path, version: str) -> None:
        build(bag, version)
        write(bag, "fetch.txt", f"http://example.org/x 1 {path}\n".encode())
        tagged(bag)

    return builder


def _written(line: str) -> Builder:
    """Build a bag whose list is written in another way."""
    return lambda bag, version: build(bag, version, line=line)


def _in_encoding(encoding: str) -> Builder:
    info = INFO.replace("Contractor", "Rohrbau Größe")
    return lambda bag, version: build(bag, version, info=info, encoding=encoding)


def _of(payload: Mapping[str, bytes]) -> Builder:
    return lambda bag, version: build(bag, version, payload)


def _one_list_lacks_a_file(bag: Path, version: str) -> None:
    build(bag, version, TWO)
    line = LINE.format(digest=digest(HELLO["data/hello.txt"], "sha256"), path="data/hello.txt")
    write(bag, "manifest-sha256.txt", line.encode())
    tagged(bag, "sha512")


def _two_ways_to_write_a_letter(bag: Path, version: str) -> None:
    """List one file by its name composed and decomposed (Unicode NFC and NFD)."""
    composed = "data/Größe.txt"
    line = LINE.format(digest=digest(b"a\n", "md5"), path=normalize("NFD", composed))
    build(bag, version, {composed: b"a\n"}, more=line)


def _relative(bag: Path, version: str) -> None:
    """Choose a path that goes down and up again inside the bag."""
    build(bag, version, line="{digest}  data/../{path}\n")


OUT, AT_HOME, AT_ROOTS, AT_TOP = "../../x.txt", "~/x.txt", "~root/x.txt", "/tmp/x.txt"  # noqa: S108
_SCOPE = "out-of-scope-file-paths-using-"
CASES: Mapping[str, Builder] = {
    "basic-bag": _of(HELLO),
    "basicBag": _of(TWO),
    "minimal-bag": _minimal,
    "duplicate-metadata-entries": _repeated_metadata,
    "uncommon-metadata-separators": _separators,
    "bag-in-a-bag": _bag_in_a_bag,
    "bag-with-encoded-names": _encoded_names,
    "bag-with-escapable-characters": _escapable,
    "bag-with-leading-dot-slash-in-manifest": _written("{digest}  ./{path}\n"),
    "bag-with-space": _of({"data/hello world.txt": b"hello\n"}),
    "holey-bag": _holey,
    "ISO-8859-1-encoded-tag-files": _in_encoding("ISO-8859-1"),
    "UTF-16-encoded-tag-files": _in_encoding("UTF-16"),
    "baginfo-missing-encoding": _declared(b"BagIt-Version: 0.97\n"),
    "bom-in-bagit.txt": _declared(
        b"\xef\xbb\xbfBagIt-Version: 0.97\nTag-File-Character-Encoding: UTF-8\n"
    ),
    "invalid-version-number": _declared(
        b"BagIt-Version: .97\nTag-File-Character-Encoding: UTF-8\n"
    ),
    "bagit-with-invalid-whitespace": _declared(
        b"BagIt-Version : 1.0\nTag-File-Character-Encoding : UTF-8\n"
    ),
    "corrupt-data-file": _changed("data/hello.txt"),
    "corrupt-tag-file": _changed("bag-info.txt"),
    "extra-file-in-bag": _added("data/extra.txt"),
    "special-system-files": _added("data/.DS_Store"),
    "missing-baginfo": _removed("bag-info.txt"),
    "missing-bagit.txt": _removed("bagit.txt"),
    "same-filename-listed-twice-with-different-hashes": _listed("{other}  data/hello.txt\n"),
    "same-filename-listed-twice-with-the-same-hash": _listed("{same}  data/hello.txt\n"),
    "same-filename-listed-twice-with-different-normalization": _two_ways_to_write_a_letter,
    "duplicate-file-with-different-case": _listed("{same}  data/HELLO.txt\n"),
    "made-with-md5sum-tools": _written("{digest} *{path}\n"),
    "relative-path": _relative,
    "notAllManifestsListAllFiles": _one_list_lacks_a_file,
    f"{_SCOPE}dot-notation": _listed(f"{{same}}  {OUT}\n"),
    f"{_SCOPE}absolute-path": _listed(f"{{same}}  {AT_TOP}\n"),
    f"{_SCOPE}shortcut": _listed(f"{{same}}  {AT_HOME}\n"),
    f"{_SCOPE}shortcut-username": _listed(f"{{same}}  {AT_ROOTS}\n"),
    f"{_SCOPE}dot-notation-for-fetch": _fetched(OUT),
    f"{_SCOPE}absolute-path-for-fetch": _fetched(AT_TOP),
    f"{_SCOPE}shortcut-for-fetch": _fetched(AT_HOME),
    f"{_SCOPE}shortcut-username-for-fetch": _fetched(AT_ROOTS),
}
