"""Files made to do harm: ``python -m tests.faults.hostile_files --files 10000``.

A few whole ones of each kind are made here, then bent: bytes changed, pieces cut out, doubled,
swapped, lengths blown up. Each is read by the code of ``qa.probe.child`` under its limits, in a
process of its own that is forked from one that has loaded the libraries, so that ten thousand
take minutes. What comes of each is asked by the same function the service uses.
"""

import argparse
import importlib
import os
import random
import signal
import struct
import sys
import tempfile
import time
import zlib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path

import pillow_heif
from PIL import ExifTags, Image

from config.demo import evidence
from qa.probe import child
from qa.probe.run import LONGEST_ANSWER, WALL_S, ProbeResult, understood
from tests.qa.probe_files import AT, CONCAT, PLAYLIST, SVG, png_header

CHANGES = 30
INTERESTING = (0, 1, 2, 0x7F, 0x80, 0xFF)
HUGE = (0xFFFF_FFFF, 0x7FFF_FFFF, 0x8000_0000, 0x0000_FFFF)
CSV = "time;Pressure [bar];Temperature (°C)\n" + "".join(
    f"2031-05-06T09:{minute:02d}:{second:02d}+02:00;0,{310 + second % 3};12,{minute % 10}\n"
    for minute in range(20)
    for second in range(0, 60, 10)
)
SENML = (
    '[{"bn":"gauge:pk1:","bt":1935900000,"bu":"Pa","bver":10,"n":"pressure","v":33000},'
    + ",".join(
        f'{{"n":"pressure","t":{n * 10},"v":{33000 + n % 7}}},'
        f'{{"n":"temperature","u":"Cel","t":{n * 10},"v":12.5}}'
        for n in range(1, 60)
    )
    + "]"
)


@dataclass
class Figures:
    """What came of the files."""

    asked: int = 0
    facts: int = 0
    problems: Counter[str] = field(default_factory=Counter)
    neither: list[str] = field(default_factory=list)
    longest_s: float = 0.0

    def told(self) -> str:
        """Say it in a line."""
        ends = sum(self.problems[each] for each in self.problems if "reader fail" in each)
        slow = sum(self.problems[each] for each in self.problems if "too long" in each)
        return (
            f"{self.asked} files: {self.facts} read, {sum(self.problems.values())} with a problem "
            f"({ends} ended their reader, {slow} out of time), {len(self.neither)} neither, "
            f"longest {self.longest_s:.2f} s"
        )


def whole_files() -> dict[str, tuple[str, bytes]]:
    """Make one small good file of each form: its kind and bytes by name."""
    pillow_heif.register_heif_opener()
    picture = Image.effect_noise((160, 120), 60).convert("RGB")
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "invented"
    exif[ExifTags.Base.Orientation] = 6
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = "2031:05:06 09:30:00"
    gps = exif.get_ifd(ExifTags.IFD.GPSInfo)
    gps[ExifTags.GPS.GPSLatitude], gps[ExifTags.GPS.GPSLatitudeRef] = (41.0, 30.0, 36.0), "N"
    gps[ExifTags.GPS.GPSLongitude], gps[ExifTags.GPS.GPSLongitudeRef] = (93.0, 37.0, 12.0), "W"
    made = {}
    for form in ("JPEG", "PNG", "WEBP", "HEIF", "MPO"):
        out = BytesIO()
        picture.save(out, format=form, exif=exif)
        made[f"good.{form.lower()}"] = ("photo", out.getvalue())
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "good.mp4")
        evidence.film(path, title="After", repair_ref="R-1", started_at=AT, seconds=2)
        made["good.mp4"] = ("film", path.read_bytes())
    made["good.csv"] = ("series", CSV.encode())
    made["good.json"] = ("series", SENML.encode())
    return made


def crafted_files(whole: dict[str, tuple[str, bytes]]) -> dict[str, tuple[str, bytes]]:
    """Make the files somebody would think of: bombs, polyglots, scripts, cuts, bad names."""
    jpeg, film = whole["good.jpeg"][1], whole["good.mp4"][1]
    zip_and_page = b"PK\x03\x04" + bytes(26) + b"<html><script>alert(1)</script></html>"
    cuts = {
        f"cut-{share}-{name}": (kind, content[: len(content) * share // 100])
        for name, (kind, content) in whole.items()
        for share in (1, 50, 99)
    }
    return {
        "pixel-bomb.png": ("photo", png_header(30_000, 30_000)),
        "deflate-bomb.png": ("photo", _deflate_bomb(8_000, 7_900)),
        "text-bomb.png": ("photo", _text_bomb()),
        "huge-exif.jpg": ("photo", _huge_exif(jpeg)),
        "looping-exif.jpg": ("photo", _looping_exif(jpeg)),
        "polyglot.jpg": ("photo", jpeg + zip_and_page),
        "page-first.jpg": ("photo", b"<html>" + jpeg),
        "drawing.jpg": ("photo", SVG),
        "film.jpg": ("photo", film),
        "photo.mp4": ("film", jpeg),
        "playlist.mp4": ("film", PLAYLIST),
        "concat.mp4": ("film", CONCAT),
        "shell.mp4": ("film", b"#!/bin/sh\necho owned\n"),
        "nested.mp4": (
            "film",
            b"".join(struct.pack(">I4s", 8 * n, b"moov") for n in range(999, 0, -1)),
        ),
        "endless-box.mp4": ("film", film[:40] + struct.pack(">I4sQ", 1, b"mdat", 2**63 - 1)),
        "zero-boxes.mp4": ("film", film[:32] + struct.pack(">I4s", 8, b"free") * 50_000),
        "deep.json": ("series", b"[" * 100_000),
        "long-number.json": (
            "series",
            b'[{"n":"pressure","u":"Pa","t":2e9,"v":' + b"9" * 9_000 + b"}]",
        ),
        "infinite.csv": ("series", b"time,pressure_psi\n2031-05-06T09:00:00Z,inf\n"),
        "one-line.csv": ("series", b"time,pressure_psi\n" + b'"' + b"x" * 5_000_000),
        "wide.csv": ("series", b"time,pressure_psi" + b",x" * 500_000 + b"\n"),
        "formula.csv": ("series", b"time,pressure_psi\n=cmd|'/c calc'!A0,4.8\n"),
        "nul.csv": ("series", b"time,pressure_psi\n2031-05-06T09:00:00Z,4\x00.8\n"),
        "utf-16.csv": ("series", CSV.encode("utf-16")),
        "not-text.csv": ("series", bytes(range(128, 256))),
        **cuts,
    }


NAMES = (
    "../../etc/passwd",
    "..\\..\\windows\\system32\\x.jpg",
    "/abs/olute.jpg",
    "a\nb.jpg",
    "\u202egpj.exe",
    ".htaccess",
    "x" * 400 + ".jpg",
    "CON.jpg",
    "%2e%2e%2fx.jpg",
    "<script>.jpg",
)
"""Names a file is handed in under; the bytes lie under their hash anyway."""


def _chunk(name: bytes, body: bytes) -> bytes:
    crc = struct.pack(">I", zlib.crc32(name + body))
    return struct.pack(">I", len(body)) + name + body + crc


def _nested_boxes(depth: int) -> bytes:
    return b"".join(struct.pack(">I4s", 8 * n, b"moov") for n in range(depth, 0, -1))


def _deflate_bomb(width: int, height: int) -> bytes:
    """Make one just within the pixel limit and 190 MB once decoded, of 190 kB."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    rows = zlib.compressobj(9)
    data = b"".join(rows.compress(bytes(3 * width + 1)) for _ in range(height)) + rows.flush()
    chunks = _chunk(b"IHDR", head) + _chunk(b"IDAT", data) + _chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + chunks


def _text_bomb() -> bytes:
    """Make a small picture with a comment of 512 MB, compressed."""
    deflate = zlib.compressobj(9)
    text = b"".join(deflate.compress(bytes(2**20)) for _ in range(512)) + deflate.flush()
    head = struct.pack(">IIBBBBB", 1, 1, 8, 2, 0, 0, 0)
    body = _chunk(b"zTXt", b"x\x00\x00" + text) + _chunk(b"IDAT", zlib.compress(bytes(4)))
    return b"\x89PNG\r\n\x1a\n" + _chunk(b"IHDR", head) + body + _chunk(b"IEND", b"")


def _exif_segment(tiff: bytes) -> bytes:
    body = b"Exif\x00\x00" + tiff
    return b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body


def _huge_exif(jpeg: bytes) -> bytes:
    """Make 5,000 entries that each claim four billion numbers."""
    entries = b"".join(
        struct.pack("<HHII", 0x8769 + n % 100, 5, 0xFFFF_FFFF, 8) for n in range(5_000)
    )
    tiff = b"II*\x00" + struct.pack("<I", 8) + struct.pack("<H", 5_000) + entries
    return jpeg[:2] + _exif_segment(tiff) + jpeg[2:]


def _looping_exif(jpeg: bytes) -> bytes:
    """Make a directory whose part is itself."""
    entry = struct.pack("<HHII", 0x8769, 4, 1, 8)
    tiff = b"II*\x00" + struct.pack("<IH", 8, 1) + entry + struct.pack("<I", 8)
    return jpeg[:2] + _exif_segment(tiff) + jpeg[2:]


def mutated(content: bytes, chance: random.Random) -> bytes:
    """Bend a file in one to a few places."""
    bent = bytearray(content)
    for _ in range(chance.randint(1, 4)):
        _bend(bent, chance)
    return bytes(bent)


def _bend(bent: bytearray, chance: random.Random) -> None:
    at = chance.randrange(len(bent) or 1)
    length = chance.randint(1, max(1, len(bent) // 8))
    match chance.randrange(7):
        case 0:
            for _ in range(chance.randint(1, CHANGES)):
                bent[chance.randrange(len(bent))] = chance.randrange(256)
        case 1:
            bent[at : at + 1] = bytes([chance.choice(INTERESTING)])
        case 2:
            bent[at : at + 4] = struct.pack(chance.choice("<>") + "I", chance.choice(HUGE))
        case 3:
            del bent[at : at + length]
        case 4:
            bent[at:at] = bent[at : at + length]
        case 5:
            # Most of what a file says of itself is said at its beginning.
            head = chance.randrange(min(len(bent), 256))
            bent[head] ^= 1 << chance.randrange(8)
        case _:
            bent[at : at + length] = chance.randbytes(length)
    if not bent:
        bent.append(0)


def all_files(count: int, seed: int) -> Iterator[tuple[str, str, bytes]]:
    """Yield name, kind and bytes: the crafted ones first, then mutated ones up to `count`."""
    whole = whole_files()
    crafted = crafted_files(whole)
    for name, (kind, content) in list(crafted.items())[:count]:
        yield name, kind, content
    names = list(whole)
    for number in range(max(0, count - len(crafted))):
        name = names[number % len(names)]
        kind, content = whole[name]
        yield f"{number}-{name}", kind, mutated(content, random.Random(f"{seed}:{number}"))


def ask_forked(path: Path, kind: str, made: Path) -> ProbeResult:
    """Read one file in a forked process, with everything given up as the service's child does."""
    hear, say = os.pipe()
    pid = os.fork()
    if not pid:
        _child(path, kind, made, say)
    os.close(say)
    said, deadline = b"", time.monotonic() + WALL_S
    with os.fdopen(hear, "rb", buffering=0) as line:
        os.set_blocking(hear, False)
        while (ended := os.waitpid(pid, os.WNOHANG))[0] == 0:
            said += line.read(LONGEST_ANSWER) or b""
            if time.monotonic() > deadline or len(said) >= LONGEST_ANSWER:
                os.kill(pid, signal.SIGKILL)
                ended = os.waitpid(pid, 0)
                break
            time.sleep(0.002)
        said += line.read(LONGEST_ANSWER) or b""
    return understood(said, os.waitstatus_to_exitcode(ended[1]), made.read_bytes())


def _child(path: Path, kind: str, made: Path, say: int) -> None:
    try:
        os.dup2(say, 1)
        nothing = os.open(os.devnull, os.O_RDWR)
        os.dup2(nothing, 0)
        os.dup2(nothing, 2)
        os.closerange(3, 1024)
        sys.stdout = os.fdopen(1, "w")
        child.main(kind, str(path), str(made))
    finally:
        os._exit(70)


def run_forked(count: int, seed: int, tell: object = None) -> Figures:
    """Read all files and return the figures."""
    for kind in child.MEDIA:
        importlib.import_module(f"qa.probe.{kind}")
    found = Figures()
    with tempfile.TemporaryDirectory(prefix="hostile-") as folder:
        for name, kind, content in all_files(count, seed):
            path, made = Path(folder, "file"), Path(folder, "made")
            path.write_bytes(content)
            made.write_bytes(b"")
            began = time.monotonic()
            count_it(found, name, ask_forked(path, kind, made), time.monotonic() - began)
            if callable(tell):
                tell(found)
    return found


def count_it(found: Figures, name: str, result: ProbeResult, took_s: float) -> None:
    """Add one file to the figures."""
    found.asked += 1
    found.longest_s = max(found.longest_s, took_s)
    if result.problem:
        found.problems[result.problem] += 1
    elif result.facts:
        found.facts += 1
    else:
        found.neither.append(name)


def main() -> None:
    """Run the long form, with its progress on the terminal."""
    parser = argparse.ArgumentParser(
        description="Reads files made to do harm, and counts what came of them.",
        epilog="Example: python -m tests.faults.hostile_files --files 10000 --seed 7",
    )
    parser.add_argument("--files", type=int, default=10_000, help="crafted and mutated together")
    parser.add_argument("--seed", type=int, default=1, help="the same seed bends the same bytes")
    asked = parser.parse_args()

    def tell(found: Figures) -> None:
        if found.asked % 20 == 0 or found.asked == asked.files:
            done = min(100, 100 * found.asked // asked.files)
            sys.stderr.write(f"\r[{'#' * (done // 4):<25}] {done:3d} %  {found.told()}")

    began = time.monotonic()
    found = run_forked(asked.files, asked.seed, tell)
    sys.stdout.write(f"\n{found.told()}, all in {time.monotonic() - began:.0f} s\n")
    for words, times in found.problems.most_common(25):
        sys.stdout.write(f"{times:6d}  {words[:110]}\n")
    sys.stdout.write("".join(f"neither facts nor a problem: {name}\n" for name in found.neither))
    sys.exit(bool(found.neither))


if __name__ == "__main__":
    main()
