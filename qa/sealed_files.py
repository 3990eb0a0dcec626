"""Where sealed bytes lie: by content, below the media folder, never written twice."""

import hashlib
import os
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

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
        _put(temporary, path_of(digest.hexdigest()))
    finally:
        temporary.unlink(missing_ok=True)
    return Sealed(digest.hexdigest(), size)


def path_of(sha256: str) -> Path:
    """Return where the bytes with this hash lie."""
    return Path(settings.MEDIA_ROOT) / "sealed" / sha256[:2] / sha256


def package_path(storage_key: str) -> Path:
    """Return where a closeout package lies."""
    return Path(settings.MEDIA_ROOT) / storage_key


def _put(temporary: Path, target: Path) -> None:
    if target.exists():
        return
    target.parent.mkdir(parents=True, exist_ok=True)
    temporary.chmod(0o400)
    temporary.replace(target)
    folder = os.open(target.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
