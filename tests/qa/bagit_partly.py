"""Cases of the BagIt conformance suite made of its own files, where some are not to be had.

Which bags the files come from stands in `bagit_suite.csv`. What is done to them is chosen from the
case's name; an outside test of the suite tells the paths `data/bare-filename`, `data/bar`,
`/tmp/foo`, `~/foo`, `~root/foo`, the version `.97` and the byte-order mark, and what the bagit
library says of the suite's own bags (`said` in the list) must be as long here. Lists of tag files
are written anew.
"""

import shutil
from collections.abc import Callable, Mapping
from pathlib import Path

from tests.qa.bagit_making import declared, digest, tagged, write

SUITE = Path(__file__).with_name("bagit_suite")
Completed = Callable[[Path], None]
"""Changes or completes a bag that its sources were copied into."""


def copied(bag: Path, source: str) -> None:
    """Copy the suite's own files of a bag, or one of them, over those that are there."""
    inside = Path(*Path(source).parts[3:])  # version, category, bag, and what is in it
    if (SUITE / source).is_file():
        write(bag, str(inside), (SUITE / source).read_bytes())
    else:
        shutil.copytree(SUITE / source, bag, dirs_exist_ok=True)


def changed(path: str) -> Completed:
    """Change a file that is listed."""
    return lambda bag: write(bag, path, (bag / path).read_bytes() + b"x")


def added(path: str) -> Completed:
    """Add a file that is not listed."""
    return lambda bag: write(bag, path, b"x")


def removed(path: str) -> Completed:
    """Take a file out that is listed."""
    return lambda bag: (bag / path).unlink()


def saying(text: bytes) -> Completed:
    """Write another bagit.txt, which the list of tag files knows."""

    def completed(bag: Path) -> None:
        write(bag, "bagit.txt", text)
        tagged(bag)

    return completed


def listing(path: str) -> Completed:
    """List one path more."""

    def completed(bag: Path) -> None:
        line = f"{digest(b'', 'md5')}  {path}\n"
        write(bag, "manifest-md5.txt", (bag / "manifest-md5.txt").read_bytes() + line.encode())
        tagged(bag)

    return completed


def fetching(path: str) -> Completed:
    """Have something fetched to a path."""

    def completed(bag: Path) -> None:
        write(bag, "fetch.txt", f"http://example.org/x 1 {path}\n".encode())
        tagged(bag)

    return completed


def with_wrong_hashes_of_tag_files(bag: Path) -> None:
    """Turn round each hash in the list of tag files: all three are wrong in the suite's own bag."""
    lines = (bag / "tagmanifest-md5.txt").read_text().splitlines()
    turned = "".join(f"{line[31::-1]}{line[32:]}\n" for line in lines)
    write(bag, "tagmanifest-md5.txt", turned.encode())


def in_utf_16(bag: Path) -> None:
    """Write list and metadata of the ISO-8859-1 bag as the suite's own bagit.txt says."""
    for name in ("manifest-md5.txt", "bag-info.txt"):
        write(bag, name, (bag / name).read_bytes().decode("ISO-8859-1").encode("UTF-16BE"))
    tagged(bag, encoding="UTF-16BE")


def with_another_payload(bag: Path) -> None:
    """Add a file of the 77 bytes that bag-info.txt counts, and lists; the suite's are not had."""
    content = b"Invented, and as long as the file of the suite that could not be fetched here"
    write(bag, "data/text.txt", content)
    for algorithm in ("sha256", "sha512"):
        line = f"{digest(content, algorithm)} data/text.txt\n"
        write(bag, f"manifest-{algorithm}.txt", line.encode())
    for algorithm in ("sha256", "sha512"):
        tagged(bag, algorithm)


_SCOPE = "out-of-scope-file-paths-using-"
AT_TOP, AT_HOME, AT_ROOTS = "/tmp/foo", "~/foo", "~root/foo"  # noqa: S108 - a path in a list
COMPLETED: Mapping[str, Completed] = {
    "UTF-16-encoded-tag-files": in_utf_16,
    "baginfo-missing-encoding": saying(b"BagIt-Version: 0.97\n"),
    "bom-in-bagit.txt": saying(b"\xef\xbb\xbf" + declared("0.97")),
    "invalid-version-number": saying(declared(".97")),
    "bagit-with-invalid-whitespace": with_another_payload,
    "corrupt-data-file": changed("data/bare-filename"),
    "corrupt-tag-file": with_wrong_hashes_of_tag_files,
    "extra-file-in-bag": added("data/bar"),
    "missing-baginfo": removed("bag-info.txt"),
    "missing-bagit.txt": removed("bagit.txt"),
    f"{_SCOPE}dot-notation-for-fetch": fetching("../../../README.md"),
    f"{_SCOPE}absolute-path": listing(AT_TOP),
    f"{_SCOPE}shortcut": listing(AT_HOME),
    f"{_SCOPE}shortcut-username": listing(AT_ROOTS),
    f"{_SCOPE}absolute-path-for-fetch": fetching(AT_TOP),
    f"{_SCOPE}shortcut-for-fetch": fetching(AT_HOME),
    f"{_SCOPE}shortcut-username-for-fetch": fetching(AT_ROOTS),
}


def completed(bag: Path, name: str, sources: tuple[str, ...]) -> None:
    """Build a case of the suite's files: the sources one over the other, then what is missing."""
    for source in sources:
        copied(bag, source)
    if (bag / "manifest-md5.txt").exists():
        tagged(bag)
    if name in COMPLETED:
        COMPLETED[name](bag)
