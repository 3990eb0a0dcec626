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
from io import BufferedRandom
from pathlib import Path

from qa.closeout.payload import evidence_paths, made_files, tag_files
from qa.closeout.signature import FILE_NAME, Seal, signature_json
from qa.closeout.stored_zip import StoredZip
from qa.domain.closeout import CloseoutFacts, EvidenceFact
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


def top_folder(facts: CloseoutFacts) -> str:
    """Name the one folder the package unpacks to."""
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
    """Write the package to `target`, whole or not at all.

    Parameters
    ----------
    target
        The zip file to appear; its folder must exist. An older one is replaced.
    facts
        What the package says.
    files
        The bytes of each evidence file, by evidence id.
    progress
        Called with the bytes written so far, at least every mebibyte; what it raises ends the
        build (a lost lease, a shutdown).
    pictures
        What the report shows of a photo instead of the file itself, by evidence id.
    seal
        Who signs; without one the package is not signed and says so.

    Returns
    -------
    WrittenBag
        Hash, size and names of the finished zip.

    Raises
    ------
    EvidenceChangedError
        If an evidence file is missing, or differs from its declared size or hash.
    OSError
        If the disk refuses; no file is left then.
    """
    made = made_files(facts, {**files, **(pictures or {})})
    with _appearing(target) as out:
        with StoredZip(out, top_folder(facts), facts.closed_at, progress) as package:
            tagmanifest = _fill(package, facts, files, made, seal)
        # Read back rather than hashed on the way out: zip headers are patched behind the bytes.
        out.seek(0)
        whole = hashlib.file_digest(out, "sha256").hexdigest()
        size = out.tell()
    return WrittenBag(whole, size, tuple(package.names), tagmanifest)


def _fill(
    package: StoredZip,
    facts: CloseoutFacts,
    files: Mapping[str, Path],
    made: Mapping[str, bytes],
    seal: Seal | None,
) -> str:
    """Write payload, tag files, the tag manifest, whose SHA-256 is returned, and its signature."""
    payload = {path: package.add(path, content) for path, content in made.items()}
    for one, path in zip(facts.evidence, evidence_paths(facts).values(), strict=True):
        payload[path] = _copied(package, path, one, files.get(one.id))
    sizes = [len(content) for content in made.values()]
    sizes += [one.size_bytes for one in facts.evidence]
    tags = tag_files(facts, payload, sizes, seal)
    listed = {path: package.add(path, content) for path, content in tags.items()}
    tagmanifest = package.add("tagmanifest-sha256.txt", manifest_text(listed).encode())
    if seal is not None:
        package.add(FILE_NAME, signature_json(tagmanifest, seal))
    return tagmanifest


def _copied(package: StoredZip, path: str, one: EvidenceFact, source: Path | None) -> str:
    """Copy one evidence file, refusing it if it is not what was declared."""
    if source is None or not source.is_file():
        raise EvidenceChangedError(f"evidence {one.id} ({one.file_name}): the file is missing")
    digest, size = package.copy(path, source)
    if size != one.size_bytes or digest != one.sha256:
        raise EvidenceChangedError(
            f"evidence {one.id} ({one.file_name}): declared {one.size_bytes} bytes, SHA-256 "
            f"{one.sha256}; found {size} bytes, SHA-256 {digest}"
        )
    return digest


@contextmanager
def _appearing(target: Path) -> Iterator[BufferedRandom]:
    """Open a hidden part file that becomes `target` when all went well, and vanishes if not."""
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


def _sync_folder(folder: Path) -> None:
    """Make the rename itself survive a power cut."""
    number = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)
