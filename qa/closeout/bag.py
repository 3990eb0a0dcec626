"""The package as one file: a BagIt 1.0 bag in a stored zip, the same bytes for the same input.

Nothing is visible under the target's name before every byte is on disk: a build that is killed
leaves at most a hidden part file beside it. Evidence is hashed while it is copied, and one
changed byte refuses the whole package.
"""

import hashlib
import os
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from io import BufferedRandom
from pathlib import Path

from qa.closeout.payload import evidence_paths, made_files, tag_files
from qa.closeout.signature import FILE_NAME, Seal, signature_json
from qa.closeout.stored_zip import StoredZip
from qa.domain.closeout import CloseoutFacts
from qa.domain.manifest import manifest_text, safe_name

PART_SUFFIX = ".part"


class EvidenceChangedError(ValueError):
    """An evidence file is not the one declared at intake."""

    code = "evidence_changed"


@dataclass(frozen=True, slots=True)
class WrittenBag:
    """What was written: the hash and size of the zip, and the names inside, in order.

    `tagmanifest_sha256` stands for the whole content: it is what a signature is made over.
    """

    sha256: str
    size: int
    names: tuple[str, ...]
    tagmanifest_sha256: str


@dataclass(frozen=True, slots=True)
class Copied:
    """A file that goes in byte for byte, and what it was declared to be at intake."""

    path: str
    source: Path | None
    sha256: str
    size_bytes: int
    words: str


@dataclass(frozen=True, slots=True)
class Contents:
    """All that goes into one bag.

    Parameters
    ----------
    folder
        The one folder the package unpacks to.
    dated
        The one date all entries carry.
    made, copied
        Payload that is made here, by path, and files that are copied.
    tags
        Makes the tag files but the tag manifest, by path, of the payload's hashes and sizes.
    """

    folder: str
    dated: datetime
    made: Mapping[str, bytes]
    copied: tuple[Copied, ...]
    tags: Callable[[Mapping[str, str], list[int]], Mapping[str, bytes]]


def top_folder(facts: CloseoutFacts) -> str:
    """Name the one folder the package of a repair unpacks to."""
    name = f"{facts.repair.work_order}-{facts.repair.ref}"
    return f"{safe_name(name)}-attempt-{facts.repair.attempt}"


def write_bag(
    target: Path,
    facts: CloseoutFacts,
    files: Mapping[str, Path],
    progress: Callable[[int], None],
    *,
    pictures: Mapping[str, Path] | None = None,
    seal: Seal | None = None,
) -> WrittenBag:
    """Write the package of a repair to `target`, whole or not at all.

    Parameters
    ----------
    facts
        What the package says.
    files
        The bytes of each evidence file, by evidence id.
    pictures
        What the report shows of a photo instead of the file itself, by evidence id.
    target, progress, seal
        See `write_contents`, which also says what is returned and raised.
    """
    copied = tuple(
        Copied(path, files.get(one.id), one.sha256, one.size_bytes,
               f"evidence {one.id} ({one.file_name})")
        for one, path in zip(facts.evidence, evidence_paths(facts).values(), strict=True)
    )  # fmt: skip
    contents = Contents(
        folder=top_folder(facts),
        dated=facts.closed_at,
        made=made_files(facts, {**files, **(pictures or {})}),
        copied=copied,
        tags=lambda payload, sizes: tag_files(facts, payload, sizes, seal),
    )
    return write_contents(target, contents, progress, seal=seal)


def write_contents(
    target: Path, contents: Contents, progress: Callable[[int], None], *, seal: Seal | None = None
) -> WrittenBag:
    """Write a bag to `target`, whole or not at all.

    Parameters
    ----------
    target
        The zip file to appear; its folder must exist. An older one is replaced.
    progress
        Called with the bytes written so far, at least every mebibyte; what it raises ends the
        build (a lost lease, a shutdown).
    seal
        Who signs; without one the package is not signed and says so.

    Returns
    -------
    WrittenBag
        Hash, size and names of the finished zip.

    Raises
    ------
    EvidenceChangedError
        If a file to copy is missing, or differs from its declared size or hash.
    OSError
        If the disk refuses; no file is left then.
    """
    with _appearing(target) as out:
        with StoredZip(out, contents.folder, contents.dated, progress) as package:
            tagmanifest = _fill(package, contents, seal)
        # Read back rather than hashed on the way out: zip headers are patched behind the bytes.
        out.seek(0)
        whole = hashlib.file_digest(out, "sha256").hexdigest()
        size = out.tell()
    return WrittenBag(whole, size, tuple(package.names), tagmanifest)


def _fill(package: StoredZip, contents: Contents, seal: Seal | None) -> str:
    """Write payload, tag files, the tag manifest, whose SHA-256 is returned, and its signature."""
    payload = {path: package.add(path, content) for path, content in contents.made.items()}
    for one in contents.copied:
        payload[one.path] = _copied(package, one)
    sizes = [len(content) for content in contents.made.values()]
    sizes += [one.size_bytes for one in contents.copied]
    tags = contents.tags(payload, sizes)
    listed = {path: package.add(path, content) for path, content in tags.items()}
    tagmanifest = package.add("tagmanifest-sha256.txt", manifest_text(listed).encode())
    if seal is not None:
        package.add(FILE_NAME, signature_json(tagmanifest, seal))
    return tagmanifest


def _copied(package: StoredZip, one: Copied) -> str:
    """Copy one file, refusing it if it is not what was declared."""
    if one.source is None or not one.source.is_file():
        raise EvidenceChangedError(f"{one.words}: the file is missing")
    digest, size = package.copy(one.path, one.source)
    if size != one.size_bytes or digest != one.sha256:
        raise EvidenceChangedError(
            f"{one.words}: declared {one.size_bytes} bytes, SHA-256 {one.sha256}; found {size} "
            f"bytes, SHA-256 {digest}"
        )
    return digest


@contextmanager
def _appearing(target: Path) -> Iterator[BufferedRandom]:
    """Open a hidden part file that becomes `target` when all went well, and vanishes if not."""
    _sweep(target)
    number, name = tempfile.mkstemp(PART_SUFFIX, f".{target.name}.", target.parent)
    try:
        with os.fdopen(number, "w+b") as out:
            yield out
            out.flush()
            os.fsync(out.fileno())
        Path(name).replace(target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    _sync_folder(target.parent)


def _sweep(target: Path) -> None:
    """Remove what builds of this file left that were killed: they hold its full size each."""
    for each in target.parent.iterdir():
        if each.name.startswith(f".{target.name}.") and each.suffix == PART_SUFFIX:
            each.unlink(missing_ok=True)


def _sync_folder(folder: Path) -> None:
    """Make the rename itself survive a power cut."""
    number = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)
