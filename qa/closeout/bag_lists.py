"""Reading the text files of a bag: declaration, lists of hashes, list of what is to be fetched.

Needs only the standard library, and no framework. Each reader adds what it finds wrong to a
`Found` and goes on, so that one look names all of it.
"""

import re
from dataclasses import dataclass, field
from pathlib import Path

VERSION = re.compile(r"[0-9]{1,3}\.[0-9]{1,3}")
KNOWN = ((0, 93), (0, 94), (0, 95), (0, 96), (0, 97), (1, 0))
RFC = (1, 0)
"""The version RFC 8493 describes; the older ones are its drafts."""
LINE_FEED, CARRIAGE_RETURN = re.compile("%0[Aa]"), re.compile("%0[Dd]")
LINE_END = re.compile("\r\n|\r|\n")
"""What ends a line of a tag file; other white space may stand in a name."""
HEX = re.compile(r"[0-9A-Fa-f]+")
MARK = "\N{ZERO WIDTH NO-BREAK SPACE}"


@dataclass(slots=True)
class Found:
    """What is wrong with a bag, and what is right but will trouble somebody."""

    problems: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)

    @property
    def valid(self) -> bool:
        """Return whether nothing is wrong."""
        return not self.problems


@dataclass(frozen=True, slots=True)
class Declared:
    """What bagit.txt says."""

    version: tuple[int, ...]
    encoding: str

    @property
    def info_name(self) -> str:
        """Return the name of the file with the metadata; it changed with draft 0.96."""
        return "bag-info.txt" if self.version >= (0, 96) else "package-info.txt"


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of a list: the path as it names a file, and its hash."""

    path: str
    digest: str


def declaration(folder: Path, found: Found) -> Declared | None:
    """Read bagit.txt: two lines, and not a space more or less (RFC 8493, section 2.1.1).

    In the drafts too: the suite's own bag with such spaces, to be refused, says it is of 0.97.
    """
    try:
        text = (folder / "bagit.txt").read_bytes().decode()
    except FileNotFoundError:
        found.problems.append("bagit.txt: missing")
        return None
    except UnicodeDecodeError:
        found.problems.append("bagit.txt: not UTF-8")
        return None
    if text.startswith(MARK):
        found.problems.append("bagit.txt: begins with a byte-order mark")
        return None
    lines = LINE_END.split(text.removesuffix("\n").removesuffix("\r"))
    names = ("BagIt-Version", "Tag-File-Character-Encoding")
    read = [_value(name, line) for name, line in zip(names, lines, strict=False)]
    if len(lines) != len(names) or not all(read):
        found.problems.append(f"bagit.txt: the lines must be {' and '.join(names)}, and no others")
        return None
    version, encoding = read
    numbers = tuple(map(int, version.split("."))) if VERSION.fullmatch(version) else ()
    if numbers not in KNOWN:
        found.problems.append(f"bagit.txt: {version!r} is no version of BagIt that is known here")
        return None
    declared = Declared(numbers, encoding)
    exact = [f"{name}: {value}" for name, value in zip(names, read, strict=True)]
    found.problems += [
        f"bagit.txt: white space out of place in {line!r}"
        for line, wanted in zip(lines, exact, strict=True)
        if line != wanted
    ]
    return declared


def _value(name: str, line: str) -> str:
    label, _, value = line.partition(":")
    return value.strip() if label.strip() == name else ""


def text_of(path: Path, declared: Declared, found: Found) -> str:
    """Read a tag file in the declared encoding; empty where it cannot be read."""
    try:
        return path.read_bytes().decode(declared.encoding).removeprefix(MARK)
    except (ValueError, LookupError) as error:  # some codecs raise more than they should
        found.problems.append(f"{path.name}: not {declared.encoding}: {error}")
        return ""


def entries(path: Path, declared: Declared, found: Found) -> list[Entry]:
    """Read a list of hashes: hash, white space, path on each line (RFC 8493, section 2.1.3)."""
    read = []
    for number, line in enumerate(LINE_END.split(text_of(path, declared, found)), start=1):
        where = f"{path.name}, line {number}"
        if not line.strip():
            continue
        digest, _, rest = line.strip().partition(" " if " " in line.strip() else "\t")
        name = rest.lstrip()
        if not name or not HEX.fullmatch(digest):
            found.problems.append(f"{where}: no hash and path")
            continue
        if name.startswith("*"):
            found.warnings.append(f"{where}: '*' before the path, as md5sum writes it")
            name = name[1:]
        plain = inside(name, where, declared, found)
        if plain is not None:
            read.append(Entry(plain, digest.lower()))
    return read


def fetched_paths(folder: Path, declared: Declared, found: Found) -> list[str]:
    """Read fetch.txt: address, length or '-', path (RFC 8493, section 2.2.3)."""
    path, read = folder / "fetch.txt", []
    if not path.is_file():
        return []
    for number, line in enumerate(LINE_END.split(text_of(path, declared, found)), start=1):
        where = f"fetch.txt, line {number}"
        parts = line.split(maxsplit=2)
        if not parts:
            continue
        if len(parts) != 3 or not (parts[1] == "-" or parts[1].isdecimal()):  # noqa: PLR2004
            found.problems.append(f"{where}: no address, length and path")
            continue
        plain = inside(parts[2], where, declared, found)
        if plain is not None and not plain.startswith("data/"):
            found.problems.append(f"{where}: {plain} is not in data/")
        elif plain is not None:
            read.append(plain)
    return read


def inside(name: str, where: str, declared: Declared, found: Found) -> str | None:
    """Return the path a line means, or None where it leads out of the bag."""
    decoded = LINE_FEED.sub("\n", CARRIAGE_RETURN.sub("\r", name))
    if declared.version >= RFC:
        decoded = decoded.replace("%25", "%")
    if re.match(r"[/\\~]|[A-Za-z]:[/\\]", decoded):
        found.problems.append(f"{where}: {name!r} leads out of the bag")
        return None
    kept: list[str] = []
    for part in decoded.split("/"):
        if part == "..":
            if not kept:
                found.problems.append(f"{where}: {name!r} leads out of the bag")
                return None
            kept.pop()
        elif part not in ("", "."):
            kept.append(part)
    plain = "/".join(kept)
    if plain != decoded:
        found.warnings.append(f"{where}: {name!r} is a roundabout way to {plain}")
    return plain


def check_metadata(text: str, name: str, found: Found) -> dict[str, list[str]]:
    """Read labels and values; a line that begins with white space continues the one before."""
    read: dict[str, list[str]] = {}
    label = ""
    for number, line in enumerate(LINE_END.split(text), start=1):
        if not line.strip():
            continue
        if line[0] in " \t" and label:
            read[label][-1] += f" {line.strip()}"
            continue
        label, colon, value = line.partition(":")
        label = label.strip()
        if not colon or not label:
            found.problems.append(f"{name}, line {number}: no label and value")
            label = ""
            continue
        read.setdefault(label, []).append(value.strip())
    return read
