"""Parts on disk: the newer request goes on, the older one gives way; no byte is doubled."""

import hashlib
import threading
from collections.abc import Iterator
from contextlib import suppress
from uuid import uuid4

import pytest
from django.test import override_settings

from qa.domain.tus_headers import Checksum
from qa.upload_parts import (
    ChecksumDiffersError,
    OffsetDiffersError,
    PartGoneError,
    TurnLostError,
    begin,
    held_bytes,
    path_of_part,
    receive,
    receive_checked,
    remove,
)


@pytest.fixture
def part(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Return the id of an upload that has begun."""
    with override_settings(MEDIA_ROOT=tmp_path_factory.mktemp("media")):
        name = str(uuid4())
        begin(name)
        yield name


def test_a_newer_request_takes_the_turn_from_one_that_hangs(part: str) -> None:
    """The older waits for a dead line with 3 bytes written; the newer goes on from there."""

    def hanging() -> Iterator[bytes]:
        yield b"abc"
        assert receive(part, 3, [b"def"]) == 6
        yield b"never written"

    with pytest.raises(TurnLostError):
        receive(part, 0, hanging())

    assert path_of_part(part).read_bytes() == b"abcdef"


def test_of_many_at_once_each_byte_is_taken_once(part: str) -> None:
    """Eight requests with the same piece at the same offset: the file holds it once."""
    piece = bytes(range(200)) * 50
    gate = threading.Barrier(8)

    def send() -> None:
        gate.wait()
        with suppress(OffsetDiffersError, TurnLostError):
            receive(part, 0, [piece[:4000], piece[4000:]])

    threads = [threading.Thread(target=send) for _ in range(8)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()

    held = path_of_part(part).read_bytes()
    assert held == piece[: len(held)]
    assert receive(part, len(held), [piece[len(held) :]]) == len(piece)
    assert path_of_part(part).read_bytes() == piece


def test_a_piece_that_broke_leaves_nothing(part: str) -> None:
    """Neither in the part nor beside it."""
    with pytest.raises(ChecksumDiffersError):
        receive_checked(part, 0, [b"abc"], Checksum("sha1", b"0" * 20))

    said = Checksum("sha256", hashlib.sha256(b"abc").digest())
    assert receive_checked(part, 0, [b"ab", b"c"], said) == 3
    with pytest.raises(OffsetDiffersError):
        receive_checked(part, 0, [b"abc"], said)
    assert sorted(path.suffix for path in path_of_part(part).parent.iterdir()) == [
        ".part",
        ".turn",
    ]


def test_what_was_removed_is_gone(part: str) -> None:
    """Asking and sending both say so; removing again is harmless."""
    remove(part)
    remove(part)

    with pytest.raises(PartGoneError):
        held_bytes(part)
    with pytest.raises(PartGoneError):
        receive(part, 0, [b"abc"])
