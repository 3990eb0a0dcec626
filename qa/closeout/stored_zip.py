"""A stored zip written file by file: fixed dates, modes and order, hashed while written."""

import hashlib
import zipfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import BinaryIO, Self

CHUNK_BYTES = 1 << 20
FIRST_ZIP_YEAR, LAST_ZIP_YEAR = 1980, 2107
PLAIN_FILE = 0o100644 << 16
UNIX = 3


class StoredZip:
    """Adds files below one folder and remembers their hashes.

    Parameters
    ----------
    out
        Where the zip goes, open for writing and seekable.
    folder
        The top folder everything lies in.
    dated
        The one date all entries carry, aware; the clock plays no part.
    progress
        Called with the bytes written so far, after each piece.
    """

    def __init__(
        self, out: BinaryIO, folder: str, dated: datetime, progress: Callable[[int], None]
    ) -> None:
        self._archive = zipfile.ZipFile(out, "w", zipfile.ZIP_STORED)
        self._folder = folder
        self._dated = dated.astimezone(UTC)
        self._progress = progress
        self._written = 0
        self.names: list[str] = []

    def add(self, path: str, content: bytes) -> str:
        """Add made content and give its SHA-256."""
        pieces = (content[n : n + CHUNK_BYTES] for n in range(0, len(content), CHUNK_BYTES))
        return self._write(path, len(content), pieces)

    def copy(self, path: str, source: Path) -> tuple[str, int]:
        """Add a file's bytes in one pass and give their SHA-256 and their number."""
        with source.open("rb") as file:
            before = self._written
            pieces = iter(lambda: file.read(CHUNK_BYTES), b"")
            digest = self._write(path, source.stat().st_size, pieces)
        return digest, self._written - before

    def __enter__(self) -> Self:
        """Begin."""
        return self

    def __exit__(self, *_: object) -> None:
        """Write the directory at the end of the zip; after a failure the caller drops the file."""
        self._archive.close()

    def _write(self, path: str, size: int, pieces: Iterator[bytes]) -> str:
        """Write one entry piece by piece."""
        entry = zipfile.ZipInfo(f"{self._folder}/{path}", self._date())
        entry.external_attr = PLAIN_FILE
        entry.create_system = UNIX  # the same bytes on every machine
        entry.file_size = size
        whole = hashlib.sha256()
        with self._archive.open(entry, "w") as inside:
            for piece in pieces:
                inside.write(piece)
                whole.update(piece)
                self._written += len(piece)
                self._progress(self._written)
        self.names.append(entry.filename)
        return whole.hexdigest()

    def _date(self) -> tuple[int, int, int, int, int, int]:
        """Give the date in the range a zip can hold."""
        at = self._dated
        year = min(max(at.year, FIRST_ZIP_YEAR), LAST_ZIP_YEAR)
        return year, at.month, at.day, at.hour, at.minute, at.second
