"""Bytes of uploads under way: one file an upload, its length the offset; nothing is guessed.

A newer request takes the turn from an older one, which may hang on a dead connection for
minutes. The lock is held for one block at a time, so nobody ever waits for the network.
"""

import fcntl
import hashlib
import os
import secrets
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings

from qa.domain.tus_headers import Checksum
from qa.sealed_files import BLOCK


class PartGoneError(Exception):
    """There is no such upload any more."""


class OffsetDiffersError(Exception):
    """The piece does not begin where the bytes end."""

    def __init__(self, held: int) -> None:
        super().__init__(f"{held} bytes are here")
        self.held = held


class TurnLostError(Exception):
    """A newer request goes on with this upload; what came until now stays."""


class ChecksumDiffersError(Exception):
    """The piece is not what it was said to be; nothing of it was kept."""


def path_of_part(upload_id: object) -> Path:
    """Return where the bytes of an upload lie until they are sealed."""
    return Path(settings.MEDIA_ROOT) / "uploads" / f"{upload_id}.part"


def begin(upload_id: object) -> None:
    """Make an empty file; one that is there stays."""
    path = path_of_part(upload_id)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.touch(mode=0o600, exist_ok=True)


def held_bytes(upload_id: object) -> int:
    """Return how many bytes are here."""
    try:
        return path_of_part(upload_id).stat().st_size
    except FileNotFoundError:
        raise PartGoneError from None


def receive(upload_id: object, offset: int, blocks: Iterable[bytes]) -> int:
    """Append blocks as they come and return the new offset, synced to disk.

    Raises
    ------
    OffsetDiffersError, TurnLostError, PartGoneError
        What came before stays in each case.
    """
    turn = _take_turn(upload_id, offset)
    for block in blocks:
        with _locked(upload_id) as part:
            if _turn(upload_id) != turn:
                raise TurnLostError
            os.lseek(part, 0, os.SEEK_END)
            _write_all(part, block)
        offset += len(block)
    with _locked(upload_id) as part:
        os.fsync(part)
    return offset


def receive_checked(upload_id: object, offset: int, blocks: Iterable[bytes], said: Checksum) -> int:
    """Append a piece only once it has come whole and hashes to what was said.

    Raises
    ------
    ChecksumDiffersError
        Nothing of the piece is kept. Besides, what `receive` raises.
    """
    if held_bytes(upload_id) != offset:
        raise OffsetDiffersError(held_bytes(upload_id))
    aside = path_of_part(upload_id).with_suffix(f".{secrets.token_hex(8)}.piece")
    digest = hashlib.new(said.algorithm, usedforsecurity=False)
    try:
        with aside.open("wb") as out:
            for block in blocks:
                digest.update(block)
                out.write(block)
        if digest.digest() != said.digest:
            raise ChecksumDiffersError
        with aside.open("rb") as whole:
            return receive(upload_id, offset, iter(lambda: whole.read(BLOCK), b""))
    finally:
        aside.unlink(missing_ok=True)


def remove(upload_id: object) -> None:
    """Remove what is here of an upload."""
    part = path_of_part(upload_id)
    for path in (part, _turn_path(upload_id), *part.parent.glob(f"{part.stem}.*.piece")):
        path.unlink(missing_ok=True)


def _write_all(part: int, block: bytes) -> None:
    left = memoryview(block)
    while left:
        left = left[os.write(part, left) :]


def _turn_path(upload_id: object) -> Path:
    return path_of_part(upload_id).with_suffix(".turn")


def _turn(upload_id: object) -> str:
    try:
        return _turn_path(upload_id).read_text("ascii")
    except FileNotFoundError:
        return ""


def _take_turn(upload_id: object, offset: int) -> str:
    turn = secrets.token_hex(8)
    with _locked(upload_id) as part:
        held = os.fstat(part).st_size
        if held != offset:
            raise OffsetDiffersError(held)
        _turn_path(upload_id).write_text(turn, "ascii")
    return turn


@contextmanager
def _locked(upload_id: object) -> Iterator[int]:
    """Hold the part's lock; it falls with the process, so a killed one blocks nobody."""
    try:
        part = os.open(path_of_part(upload_id), os.O_WRONLY)
    except FileNotFoundError:
        raise PartGoneError from None
    try:
        fcntl.flock(part, fcntl.LOCK_EX)
        yield part
    finally:
        os.close(part)
