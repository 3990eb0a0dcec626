"""Writing small bags for tests, right or wrong in one place."""

import hashlib
from collections.abc import Callable, Mapping
from pathlib import Path

Builder = Callable[[Path, str], None]
"""Builds a bag at a path, in a version such as 0.97."""
HELLO = {"data/hello.txt": b"hello\n"}
TWO = {**HELLO, "data/sub/other.txt": b"other\n"}
INFO = "Source-Organization: Invented Contractor\nBagging-Date: 2031-03-14\n"
ALGORITHM = {"1.0": "sha512"}
LINE = "{digest}  {path}\n"


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
    line: str = LINE,
    more: str = "",
    algorithm: str = "",
) -> None:
    """Write a whole bag; `line` is how its list is written, `more` stands at the list's end."""
    algorithm = algorithm or ALGORITHM.get(version, "md5")
    for path, content in payload.items():
        write(bag, path, content)
    (bag / "data").mkdir(parents=True, exist_ok=True)
    write(bag, "bagit.txt", declared(version))
    if info is not None:
        write(bag, "bag-info.txt", info.encode())
    listed = "".join(
        line.format(digest=digest(content, algorithm), path=path)
        for path, content in payload.items()
    )
    write(bag, f"manifest-{algorithm}.txt", (listed + more).encode())
    tagged(bag, algorithm)


def declared(version: str) -> bytes:
    """Return a bagit.txt."""
    return f"BagIt-Version: {version}\nTag-File-Character-Encoding: UTF-8\n".encode()


def tagged(bag: Path, algorithm: str = "md5", encoding: str = "UTF-8") -> None:
    """List the tag files that are there now."""
    files = [
        path
        for path in sorted(bag.iterdir())
        if path.is_file() and not path.name.startswith("tagmanifest-")
    ]
    listed = "".join(
        LINE.format(digest=digest(path.read_bytes(), algorithm), path=path.name) for path in files
    )
    write(bag, f"tagmanifest-{algorithm}.txt", listed.encode(encoding))
