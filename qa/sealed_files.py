"""Where sealed bytes lie: by content, below the media folder, never written twice.

Files are worked on in the media folder. Where a bucket is configured (the storage named
``sealed`` in the settings is a remote one), the bucket is what lasts: bytes are there
before anybody is told that they are safe, and the folder holds copies.
"""

import hashlib
import os
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.core.files import File
from django.core.files.storage import FileSystemStorage, Storage, storages

BLOCK = 256 * 1024


@dataclass(frozen=True, slots=True)
class Sealed:
    """Bytes on disk under their own SHA-256."""

    sha256: str
    size_bytes: int


class TooLargeError(Exception):
    """More bytes came than are taken in one piece; what was written is gone again."""


def seal(blocks: Iterable[bytes], *, most_bytes: int) -> Sealed:
    """Write the bytes to their place and return their hash.

    Written to a temporary name, synced, then renamed: a crash leaves either
    nothing or the whole file. Equal bytes are stored once.
    """
    incoming = settings.MEDIA_ROOT / "incoming"
    incoming.mkdir(parents=True, exist_ok=True)
    digest, size = hashlib.sha256(), 0
    handle, name = tempfile.mkstemp(dir=incoming)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as out:
            for block in blocks:
                size += len(block)
                if size > most_bytes:
                    raise TooLargeError
                digest.update(block)
                out.write(block)
            out.flush()
            os.fsync(out.fileno())
        _put(temporary, digest.hexdigest())
    finally:
        temporary.unlink(missing_ok=True)
    return Sealed(digest.hexdigest(), size)


def sha256_of(path: Path) -> str:
    """Return the hash of a file, read block by block."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def seal_file(path: Path, sha256: str) -> Sealed:
    """Give a synced file its place under its hash; `path` stays until its owner removes it."""
    size = path.stat().st_size
    _put(path, sha256)
    return Sealed(sha256, size)


def path_of(sha256: str) -> Path:
    """Return where the bytes with this hash lie, fetched from the bucket if need be."""
    return _fetched(sealed_key(sha256))


def package_path(storage_key: str) -> Path:
    """Return where a closeout package lies, fetched from the bucket if need be."""
    return _fetched(storage_key)


def lasting_sha256(storage_key: str) -> str | None:
    """Return the hash of a stored file where it lasts, read to its end; None when it is gone."""
    remote, path = _remote(), Path(settings.MEDIA_ROOT) / storage_key
    if remote is None:
        return sha256_of(path) if path.is_file() else None
    if not remote.exists(storage_key):
        return None
    digest = hashlib.sha256()
    with remote.open(storage_key, "rb") as file:
        while block := file.read(BLOCK):
            digest.update(block)
    return digest.hexdigest()


def keep(storage_key: str) -> None:
    """Put a finished package where it lasts; nothing to do where that is the folder."""
    _upload(storage_key, Path(settings.MEDIA_ROOT) / storage_key)


def sealed_key(sha256: str) -> str:
    """Return the name under which the bytes with this hash are stored."""
    return f"sealed/{sha256[:2]}/{sha256}"


def _put(source: Path, sha256: str) -> None:
    """Link the file to its place, read-only and synced, and to the bucket where there is one."""
    target = Path(settings.MEDIA_ROOT) / sealed_key(sha256)
    if not target.exists():
        target.parent.mkdir(parents=True, exist_ok=True)
        source.chmod(0o400)
        with suppress(FileExistsError):  # the same bytes came twice in this instant
            os.link(source, target)
        _sync(target.parent)
    _upload(sealed_key(sha256), target)


def _remote() -> Storage | None:
    storage = storages["sealed"]
    return None if isinstance(storage, FileSystemStorage) else storage


def _upload(key: str, path: Path) -> None:
    remote = _remote()
    if remote is None or remote.exists(key):
        return
    with path.open("rb") as file:
        remote.save(key, File(file))


def _fetched(key: str) -> Path:
    path, remote = Path(settings.MEDIA_ROOT) / key, _remote()
    if remote is None or path.exists() or not remote.exists(key):
        return path
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".fetched-")
    temporary = Path(name)
    try:
        with remote.open(key, "rb") as file, os.fdopen(handle, "wb") as out:
            while block := file.read(BLOCK):
                out.write(block)
        temporary.chmod(0o400)
        temporary.replace(path)
    finally:
        temporary.unlink(missing_ok=True)
    return path


def _sync(folder: Path) -> None:
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
