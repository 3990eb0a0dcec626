"""What a film says of itself.

Facts: ``container`` (mp4, matroska, avi, mpeg), ``codec``, ``width`` and ``height`` in
pixels, ``duration_s``, ``creation_time`` (ISO 8601 in UTC, or None: a weak witness,
whoever made the file could write it) and ``truncated``. Derived: a small JPEG of one frame.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import BinaryIO

import av
import av.subtitles.stream
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from qa.probe import boxes
from qa.probe.found import Found
from qa.probe.picture import small_jpeg
from qa.probe.problem import FileProblem

LOADED = (av.subtitles.stream,)
"""PyAV loads this when a file is opened; by then nothing can be loaded any more."""

CONTAINERS = {"mov": "mp4", "matroska": "matroska", "avi": "avi", "mpeg": "mpeg", "mpegts": "mpeg"}
"""The only readers tried, and what they are called in the facts."""

OPTIONS = {
    # A playlist or a script named .mp4 must not make us fetch or open anything else.
    "protocol_whitelist": "file",
    "format_whitelist": ",".join(CONTAINERS),
}
FRAMES = 10
"""Frames decoded: enough to know that there is a picture."""

LONGEST_S = 4 * 3_600.0
"""A repair is filmed in minutes; a longer file is a mistake or an attack."""

TAIL_S = 10.0
"""The last packets are looked for in this last stretch."""

MISSING_S = 1.0
MISSING_SHARE = 0.02
"""A film that ends earlier than it says by more than both is cut short. Common practice, no
source: containers round durations, and sound may outlast the picture a little."""


def read(file: BinaryIO) -> Found:
    """Return what is known of the film; FileProblem when it cannot serve."""
    cut = boxes.missing(file) if boxes.is_boxed(file) else None
    file.seek(0)
    with _opened(file) as film:
        if not film.streams.video:
            raise FileProblem("The file holds no moving picture.")
        picture = film.streams.video[0]
        if picture.codec_context is None:
            raise FileProblem("No reader here knows how the film is encoded.")
        # A thread a core, each with its own memory, would run into the limit on a large machine.
        picture.codec_context.thread_count = 1
        duration_s = _duration_s(film, picture)
        if duration_s > LONGEST_S:
            raise FileProblem("The film says it is longer than four hours.")
        facts: dict[str, object] = {
            "container": CONTAINERS[film.format.name.split(",")[0]],
            "codec": picture.codec_context.name,
            "width": picture.codec_context.width,
            "height": picture.codec_context.height,
            "duration_s": round(duration_s, 3),
            "creation_time": _utc(film.metadata.get("creation_time")),
            "truncated": False,
        }
        frame = _a_frame(film, picture)
        if frame is None:
            raise FileProblem("No picture of the film can be decoded.", facts)
        shown = small_jpeg(frame.to_image())  # type: ignore[no-untyped-call]
        if _ends_early(film, picture, duration_s):
            words = "The film is cut short: it ends before the length it states."
            raise FileProblem(words, facts | {"truncated": True})
    if cut is not None:
        words = f"The film is cut short: its box {cut.box} lacks {cut.bytes_missing} bytes."
        raise FileProblem(words, facts | {"truncated": True})
    return Found(facts, shown)


@contextmanager
def _opened(file: BinaryIO) -> Iterator[InputContainer]:
    av.logging.set_level(av.logging.PANIC)
    try:
        film = av.open(file, mode="r", options=OPTIONS)
    except (av.FFmpegError, ValueError):
        words = "This is not an MP4, MOV, Matroska, AVI or MPEG film, or it is cut short."
        raise FileProblem(words) from None
    with film:
        yield film


def _duration_s(film: InputContainer, picture: VideoStream) -> float:
    if picture.duration is not None and picture.time_base is not None:
        return float(picture.duration * picture.time_base)
    return (film.duration or 0) / av.time_base


def _a_frame(film: InputContainer, picture: VideoStream) -> VideoFrame | None:
    """Return the last of the first frames: the very first is often black."""
    frame = None
    try:
        for number, frame in enumerate(film.decode(picture), start=1):  # noqa: B007 - kept
            if number == FRAMES:
                break
    except av.FFmpegError:
        return frame
    return frame


def _ends_early(film: InputContainer, picture: VideoStream, duration_s: float) -> bool:
    """Compare the end of the last packet with the stated end."""
    missing_s = duration_s - _last_packet_end_s(film, picture, duration_s)
    return missing_s > max(MISSING_S, MISSING_SHARE * duration_s)


def _last_packet_end_s(film: InputContainer, picture: VideoStream, duration_s: float) -> float:
    start = film.start_time or 0
    end_s = 0.0
    try:
        film.seek(int(start + max(duration_s - TAIL_S, 0) * av.time_base))
        for packet in film.demux(picture):
            if packet.pts is not None and packet.time_base is not None and not packet.is_corrupt:
                last = (packet.pts + (packet.duration or 0)) * packet.time_base
                end_s = max(end_s, float(last) - start / av.time_base)
    except av.FFmpegError:
        # The file ends in the middle: what was read so far is what there is.
        return end_s
    return end_s


def _utc(text: str | None) -> str | None:
    """Return the file's creation time as ISO 8601 in UTC, or None when unreadable."""
    try:
        found = datetime.fromisoformat(text or "")
    except ValueError:
        return None
    # ISO 14496-12 counts in UTC; a text without zone means the same.
    return (found if found.tzinfo else found.replace(tzinfo=UTC)).astimezone(UTC).isoformat()
