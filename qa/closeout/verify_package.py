"""Check a closeout package: python3 verify_package.py [folder]. Needs Python 3 and nothing else.

A copy of this file lies in every package, so it imports only the standard library and
runs alone. It names each file that was changed, lost or added, and says when all is well.
"""

import hashlib
import re
import sys
from pathlib import Path

DECLARATION = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
CHUNK = 1 << 20


def sha256(path: Path) -> str:
    """Hash a file piece by piece."""
    whole = hashlib.sha256()
    with path.open("rb") as file:
        while piece := file.read(CHUNK):
            whole.update(piece)
    return whole.hexdigest()


def listed(manifest: Path) -> dict[str, str]:
    """Read a manifest: path to hash."""
    marks = {"%0A": "\n", "%0D": "\r", "%25": "%"}
    found: dict[str, str] = {}
    for line in manifest.read_bytes().decode("utf-8").split("\n")[:-1]:
        digest, _, path = line.partition("  ")
        found[re.sub(r"%(?:0[AaDd]|25)", lambda m: marks[m.group().upper()], path)] = digest
    return found


def problems(folder: Path) -> list[str]:
    """Say what is wrong with the package in `folder`; an empty list means nothing is."""
    try:
        wanted = listed(folder / "tagmanifest-sha256.txt")
        wanted |= listed(folder / "manifest-sha256.txt")
    except (OSError, UnicodeDecodeError) as error:
        return [f"a list of hashes cannot be read: {error}"]
    there = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if not path.is_dir()}
    there.discard("tagmanifest-sha256.txt")
    found = [f"missing: {path}" for path in sorted(wanted.keys() - there)]
    found += [f"not listed: {path}" for path in sorted(there - wanted.keys())]
    found += [
        f"changed: {path}"
        for path in sorted(there & wanted.keys())
        if sha256(folder / path) != wanted[path]
    ]
    if "bagit.txt" in there and (folder / "bagit.txt").read_bytes() != DECLARATION:
        found.append("bagit.txt: not the declaration of a BagIt 1.0 bag")
    return found


def main() -> int:
    """Print what was found; 0 when all is well, 1 when not."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent
    found = problems(folder)
    for line in found:
        sys.stdout.write(f"{line}\n")
    if not found:
        sys.stdout.write("Every file is there and unchanged; no file was added.\n")
        sys.stdout.write(f"tagmanifest-sha256.txt is {sha256(folder / 'tagmanifest-sha256.txt')}\n")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
