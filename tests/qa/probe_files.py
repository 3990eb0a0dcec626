"""Files to probe: good, cut, and made to do harm."""

import random
import struct
import zlib
from datetime import datetime, timedelta, timezone
from pathlib import Path

from config.demo import evidence
from qa.probe.run import MediaKind, ProbeResult, probe

SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
PLAYLIST = b"#EXTM3U\n#EXT-X-TARGETDURATION:9\n#EXTINF:9,\nfile:///etc/hostname\n#EXT-X-ENDLIST\n"
CONCAT = b"ffconcat version 1.0\nfile /etc/hostname\n"
AT = datetime(2031, 5, 6, 9, 30, tzinfo=timezone(timedelta(hours=2)))


def photo(folder: Path) -> Path:
    """Write a good photo."""
    path = folder / "good.jpg"
    evidence.photo(path, sketch="gauge", title="Hold test", lines=[], at=AT, value=4.8)
    return path


def film(folder: Path, seconds: float = 5) -> Path:
    """Write a good film."""
    path = folder / "good.mp4"
    evidence.film(path, title="After", repair_ref="R-1", started_at=AT, seconds=seconds)
    return path


def png_header(width: int, height: int) -> bytes:
    """Return a PNG of a hundred bytes that claims to be as large as asked."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    data = zlib.compress(b"\x00" * 100)
    chunks = chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + chunks


def probed(folder: Path, name: str, content: bytes, kind: MediaKind) -> ProbeResult:
    """Write the bytes under the name and probe them."""
    path = folder / name
    path.write_bytes(content)
    return probe(path, kind)


def noise(seed: int) -> random.Random:
    """Return repeatable chance."""
    return random.Random(seed)
