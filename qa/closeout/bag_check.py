"""Check anybody's bag, strictly: BagIt 1.0 (RFC 8493) and its drafts 0.93 to 0.97.

Needs only the standard library. Stricter than usual readers where RFC 8493 is: white space in
bagit.txt (in the drafts too), a file listed twice, a list that lacks a file. What is allowed but
will trouble somebody is a warning.
"""

import hashlib
import os
import re
from collections import Counter
from pathlib import Path
from unicodedata import normalize

from qa.closeout.bag_lists import (
    RFC,
    Declared,
    Entry,
    Found,
    check_metadata,
    declaration,
    entries,
    fetched_paths,
    text_of,
)

CHUNK = 1 << 20
ALGORITHMS = frozenset({"md5", "sha1", "sha224", "sha256", "sha384", "sha512"})
OF_SYSTEMS = (".DS_Store", "Thumbs.db", "desktop.ini", "._")
"""Files that operating systems leave behind, by the beginning of their names."""


def check_bag(folder: Path) -> Found:
    """Return everything that is wrong with a bag, and what will trouble somebody."""
    found = Found()
    declared = declaration(folder, found)
    if not (folder / "data").is_dir():
        found.problems.append("data/: missing")
    if declared is None or not (folder / "data").is_dir():
        return found
    there = _files(folder, found)
    payload = {each for each in there if each.startswith("data/")}
    lists = _lists(folder, "manifest", declared, found)
    if not lists:
        found.problems.append("manifest: no list of hashes")
    _compare_payload(lists, payload, declared, found)
    fetched = fetched_paths(folder, declared, found)
    for path in fetched:
        if not any(path in {each.path for each in read} for read in lists.values()):
            found.problems.append(f"fetch.txt: {path} is in no list of hashes")
    tag_lists = _lists(folder, "tagmanifest", declared, found)
    _compare_hashes(folder, {**lists, **tag_lists}, there, set(fetched), found)
    _metadata(folder, payload, declared, found)
    _names(there, found)
    return found


def _files(folder: Path, found: Found) -> set[str]:
    """Return all files below the folder; a link is not followed, it could lead anywhere."""
    there = set()
    for top, folders, names in os.walk(folder):
        for name in (*folders, *names):
            path = Path(top, name)
            plain = path.relative_to(folder).as_posix()
            if path.is_symlink():
                found.problems.append(f"{plain}: a link, not a file")
            elif path.is_file():
                there.add(plain)
    return there


def _lists(folder: Path, kind: str, declared: Declared, found: Found) -> dict[str, list[Entry]]:
    read = {}
    for path in sorted(folder.glob(f"{kind}-*.txt")):
        if _algorithm(path.name) not in ALGORITHMS:
            found.problems.append(f"{path.name}: hashes of an unknown kind")
            continue
        read[path.name] = entries(path, declared, found)
        _listed_twice(path.name, read[path.name], declared, found)
    return read


def _algorithm(name: str) -> str:
    """Return which hashes a list holds, by its name (section 2.4: lower case, no signs)."""
    return re.sub(r"[^a-z0-9]", "", name.removesuffix(".txt").partition("-")[2].lower())


def _listed_twice(name: str, read: list[Entry], declared: Declared, found: Found) -> None:
    """Name paths that stand twice: by the very path, by case, by another way to write letters."""
    digests: dict[str, set[str]] = {}
    times = Counter(each.path for each in read)
    for each in read:
        digests.setdefault(each.path, set()).add(each.digest)
    for path, count in times.items():
        if len(digests[path]) > 1:
            found.problems.append(f"{name}: {path} stands twice with different hashes")
        elif count > 1:
            said = found.problems if declared.version >= RFC else found.warnings
            said.append(f"{name}: {path} stands twice")
    for words, fold in (("letters", _composed), ("case", str.casefold)):
        alike = Counter(fold(path) for path in times)
        found.warnings += [
            f"{name}: {path} differs from another path in {words} only"
            for path in times
            if alike[fold(path)] > 1
        ]


def _compare_payload(
    lists: dict[str, list[Entry]], payload: set[str], declared: Declared, found: Found
) -> None:
    """Want each payload file in a list, in RFC 8493 in each list, and nothing else listed."""
    listed = {name: {_composed(each.path) for each in read} for name, read in lists.items()}
    for name, read in lists.items():
        found.problems += [
            f"{name}: {each.path} is not in data/"
            for each in read
            if not each.path.startswith("data/")
        ]
    somewhere = set().union(*listed.values())
    for path in sorted(payload):
        if _composed(path) not in somewhere:
            found.problems.append(f"not listed: {path}")
        elif declared.version >= RFC:
            found.problems += [
                f"{name}: does not list {path}"
                for name, paths in listed.items()
                if _composed(path) not in paths
            ]


def _compare_hashes(
    folder: Path, lists: dict[str, list[Entry]], there: set[str], fetched: set[str], found: Found
) -> None:
    by_letters = {_composed(path): path for path in there}
    for name, each in ((name, each) for name, read in lists.items() for each in read):
        path = each.path if each.path in there else by_letters.get(_composed(each.path))
        if path is None:
            words = "not fetched yet" if each.path in fetched else "missing"
            found.problems.append(f"{words}: {each.path}")
        elif _hash(folder / path, _algorithm(name)) != each.digest:
            found.problems.append(f"changed: {each.path} ({name})")


def _metadata(folder: Path, payload: set[str], declared: Declared, found: Found) -> None:
    """Read the metadata, and compare what it says of count and size (section 2.2.2)."""
    path = folder / declared.info_name
    if not path.is_file():
        return
    read = check_metadata(text_of(path, declared, found), path.name, found)
    counted = f"{sum((folder / each).stat().st_size for each in payload)}.{len(payload)}"
    for said in read.get("Payload-Oxum", []):
        if said != counted:
            found.problems.append(f"{path.name}: Payload-Oxum {said}, counted {counted}")


def _names(there: set[str], found: Found) -> None:
    found.warnings += [
        f"{path}: left behind by an operating system"
        for path in sorted(there)
        if path.rpartition("/")[2].startswith(OF_SYSTEMS)
    ]


def _hash(path: Path, algorithm: str) -> str:
    whole = hashlib.new(algorithm, usedforsecurity=False)
    with path.open("rb") as file:
        while piece := file.read(CHUNK):
            whole.update(piece)
    return whole.hexdigest()


def _composed(path: str) -> str:
    return normalize("NFC", path)
