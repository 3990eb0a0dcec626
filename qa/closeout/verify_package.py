"""Check a closeout package: python3 verify_package.py [folder] [--key ID] [--accept-unsigned].

It needs Python 3.8 or later and nothing else: a copy lies in every package. It names each
file, folder or link that was changed, lost or added, checks the signature (Ed25519, RFC 8032),
and says when all is well. With --key it also asks whether the signature is that of the key you
were told: its id, or the whole public key. A package without a signature is refused, because a
forger leaves it out, unless you say --accept-unsigned.

Whoever forges a package can put another program in this one's place. So use a copy that you
kept from an earlier package or fetched from the contractor's service (/verify_package.py), and
name the folder to check.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    Point = tuple[int, int, int, int]

DECLARATION = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
CHUNK = 1 << 20
LISTS = "tagmanifest-sha256.txt"
SIGNATURE = "signature.json"
KEY_ID_DIGITS = 16
JUNCTION = 0xA0000003  # IO_REPARSE_TAG_MOUNT_POINT of Windows
OF_SYSTEMS = {".ds_store", "thumbs.db", "desktop.ini"}

# The curve of RFC 8032, section 5.1: -x*x + y*y = 1 + D*x*x*y*y over the integers mod P.
P = 2**255 - 19
ORDER = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, P - 2, P) % P
ROOT = pow(2, (P - 1) // 4, P)


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
    wanted: dict[str, str] = {}
    for name in (LISTS, "manifest-sha256.txt"):
        try:
            wanted.update(listed(folder / name))
        except FileNotFoundError:
            return [f"missing: {name}", *signature_problems(folder)]
        except OSError as error:
            return [f"{name}: cannot be read: {error.strerror}", *signature_problems(folder)]
        except UnicodeDecodeError:
            return [f"changed: {name}: it is no list of files", *signature_problems(folder)]
    there, odd = inside(folder, "", folders_of(wanted))
    there -= {LISTS, SIGNATURE}
    found = [f"missing: {path}" for path in sorted(wanted.keys() - there - odd.keys())]
    found += [f"not listed: {path}{of_system(path)}" for path in sorted(there - wanted.keys())]
    for path, words in sorted(odd.items()):
        found.append(f"{'changed' if path in wanted else 'not listed'}: {path} ({words})")
    for path in sorted(there & wanted.keys()):
        try:
            if sha256(folder / path) != wanted[path]:
                found.append(f"changed: {path}")
        except OSError as error:
            found.append(f"{path}: cannot be read: {error.strerror}")
    if "bagit.txt" in there and (folder / "bagit.txt").read_bytes() != DECLARATION:
        found.append("bagit.txt: not the declaration of a BagIt 1.0 bag")
    return found + signature_problems(folder)


def folders_of(paths: dict[str, str]) -> set[str]:
    """Return the folders that the listed files lie in, those above them too."""
    return {path[:at] for path in paths for at, sign in enumerate(path) if sign == "/"}


def inside(folder: Path, above: str, known: set[str]) -> tuple[set[str], dict[str, str]]:
    """Return the files below a folder, and by path what is no file and does not belong there.

    A link is never followed: what it leads to lies outside, whatever it shows today.
    """
    files: set[str] = set()
    odd: dict[str, str] = {}
    try:
        entries = list(os.scandir(folder))
    except OSError as error:
        return files, {above: f"it cannot be read: {error.strerror}"}
    for each in entries:
        path = above + each.name
        if is_link(each):
            odd[path] = "a link, no file of the package"
        elif each.is_dir(follow_symlinks=False):
            if path not in known:
                odd[f"{path}/"] = "a folder"
            more, odder = inside(Path(each.path), f"{path}/", known)
            files |= more
            odd.update(odder)
        elif each.is_file(follow_symlinks=False):
            files.add(path)
        else:
            odd[path] = "neither a file nor a folder"
    return files, odd


def is_link(entry: os.DirEntry[str]) -> bool:
    """Tell a link, and a junction of Windows, which does not call itself one."""
    tag = getattr(entry.stat(follow_symlinks=False), "st_reparse_tag", 0)
    return entry.is_symlink() or tag == JUNCTION


def of_system(path: str) -> str:
    """Say of a file that systems leave in folders they show; it counts as added all the same."""
    known = path.rpartition("/")[2].lower() in OF_SYSTEMS
    return " (the system may have put it there)" if known else ""


def signature_problems(folder: Path) -> list[str]:
    """Say what is wrong with the signature over the lists of hashes."""
    info, path = folder / "bag-info.txt", folder / SIGNATURE
    if not path.is_file():
        asked = info.is_file() and b"\nSigning-Key: " in info.read_bytes()
        return [f"missing: {SIGNATURE}"] if asked else []
    try:
        content = path.read_bytes()
        said = json.loads(content)
        found = signature_problem(said, content)
        digest = said["tagmanifest_sha256"]
    except OSError as error:
        return [f"{SIGNATURE}: cannot be read: {error.strerror}"]
    except KeyError as error:
        return [f"changed: {SIGNATURE}: {error.args[0]} is not in it"]
    except (ValueError, TypeError, AttributeError, RecursionError):
        return [f"changed: {SIGNATURE}: it is not written as a signature is"]
    # A list that is not there is named as missing by whoever reads the lists.
    if (folder / LISTS).is_file() and sha256(folder / LISTS) != digest:
        return [*found, f"changed: {LISTS}"]
    return found


def signature_problem(said: dict, content: bytes) -> list[str]:
    """Say what is wrong with the signature file itself."""
    unsigned = {name: value for name, value in said.items() if name != "signature"}
    public = bytes.fromhex(said["public_key"])
    if signed_text(said) + b"\n" != content:
        return [f"changed: {SIGNATURE}"]
    if hashlib.sha256(public).hexdigest()[:KEY_ID_DIGITS] != said["key_id"]:
        return [f"{SIGNATURE}: key_id is not that of the public key"]
    if not is_signed(signed_text(unsigned), bytes.fromhex(said["signature"]), public):
        return [f"{SIGNATURE}: the signature is not that of key {said['key_id']}"]
    return []


def signed_text(said: dict) -> bytes:
    """Write what is signed: JSON with sorted keys and no spaces, in UTF-8."""
    return json.dumps(said, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def is_signed(message: bytes, signature: bytes, public: bytes) -> bool:
    """Verify an Ed25519 signature as RFC 8032, section 5.1.7, says; slow and enough."""
    if len(signature) != 64 or len(public) != 32:  # noqa: PLR2004 - bytes of the standard
        return False
    a, r = point(public), point(signature[:32])
    s = int.from_bytes(signature[32:], "little")
    if a is None or r is None or s >= ORDER:
        return False
    whole = hashlib.sha512(signature[:32] + public + message).digest()
    h = int.from_bytes(whole, "little") % ORDER
    left, right = times(s, BASE), add(r, times(h, a))
    same_x = (left[0] * right[2] - right[0] * left[2]) % P == 0
    return same_x and (left[1] * right[2] - right[1] * left[2]) % P == 0


def point(encoded: bytes) -> Point | None:
    """Read a point of the curve; None where there is none."""
    y = int.from_bytes(encoded, "little")
    sign, y = y >> 255, y & (2**255 - 1)
    if y >= P:
        return None
    square = (y * y - 1) * pow(D * y * y + 1, P - 2, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * ROOT % P
    if (x * x - square) % P or (x == 0 and sign):
        return None
    if x & 1 != sign:
        x = P - x
    return x, y, 1, x * y % P


def add(p: Point, q: Point) -> Point:
    """Add two points in extended coordinates (RFC 8032, section 5.1.4)."""
    a = (p[1] - p[0]) * (q[1] - q[0]) % P
    b = (p[1] + p[0]) * (q[1] + q[0]) % P
    c, d = 2 * p[3] * q[3] * D % P, 2 * p[2] * q[2] % P
    e, f, g, h = b - a, d - c, d + c, b + a
    return e * f % P, g * h % P, f * g % P, e * h % P


def times(n: int, p: Point) -> Point:
    """Add a point to itself, n times in all."""
    found: Point = (0, 1, 1, 0)
    while n:
        if n & 1:
            found = add(found, p)
        p, n = add(p, p), n >> 1
    return found


BASE = point((4 * pow(5, P - 2, P) % P).to_bytes(32, "little")) or (0, 1, 1, 0)


def told(folder: Path, key: str, *, unsigned: bool = False) -> tuple[list[str], list[str]]:
    """Return what is wrong, and what is to be known when nothing is; `unsigned` is accepted."""
    found = problems(folder)
    if found:
        return found, []
    words = [
        "Every file is there and unchanged; no file, folder or link was added.",
        f"{LISTS} is {sha256(folder / LISTS)}",
    ]
    if not (folder / SIGNATURE).is_file():
        if key:
            return ["not signed: no key can be asked for"], []
        return ([], [*words, UNSIGNED]) if unsigned else ([NOT_SIGNED], [])
    said = json.loads((folder / SIGNATURE).read_bytes())
    if key and key.lower() not in (said["key_id"], said["public_key"]):
        return [f"signed by key {said['key_id']}, not by {key}"], []
    words.append(f"The signature is that of key {said['key_id']}.")
    return [], [*words, "That is the key you asked for." if key else COMPARE]


UNSIGNED = "The package is not signed: it cannot show who made it."
NOT_SIGNED = (
    "not signed: whoever changed it may have left the signature out. If the contractor told you "
    "that this package has none: --accept-unsigned"
)
COMPARE = (
    "Compare this id with the one the contractor gave you apart from this package, "
    "or have it compared: --key ID"
)


NO_KEY = "--key: found nothing, expected the id of the key, or the whole public key\n"


def key_asked(words: list[str]) -> str | None:
    """Take the key out of the words: '' where none is asked for, None where its id is missing."""
    for at, word in enumerate(words):
        name, equals, key = word.partition("=")
        if name != "--key":
            continue
        taken = 1 if equals else 2
        key = key.strip() if equals else "".join(words[at + 1 : at + 2]).strip()
        del words[at : at + taken]
        return key or None
    return ""


def main() -> int:
    """Print what was found; 0 when all is well, 1 when not, 2 when it was asked wrongly."""
    words = sys.argv[1:]
    key = key_asked(words)
    if key is None:
        sys.stdout.write(NO_KEY)
        return 2
    unsigned = "--accept-unsigned" in words
    words = [each for each in words if each != "--accept-unsigned"]
    if len(words) > 1 or any(each.startswith("-") for each in words):
        sys.stdout.write(__doc__ or "")
        return 2
    folder = Path(words[0]) if words else Path(__file__).resolve().parent
    found, said = told(folder, key, unsigned=unsigned)
    for line in found or said:
        sys.stdout.write(f"{line}\n")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
