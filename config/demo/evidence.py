"""Invented evidence: photos, films and pressure logs that say themselves that they are invented.

The same arguments give the same bytes, so that the demonstration's hashes do not change.
"""

import csv
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

import av
from PIL import ExifTags, Image, ImageDraw

from config.demo.sketches import BAND_TOP, INK, PAPER, SIZE, SKETCHES, YELLOW, font

NOTICE = "INVENTED DEMO DATA"

KPA_PER_PSI = 6.894757
"""Source: NIST SP 811, appendix B.8."""

FILM_SIZE = (320, 240)
FRAMES_PER_S = 10


@dataclass(frozen=True)
class Dip:
    """A loss of pressure: when it begins, how deep it goes, how long it lasts."""

    at: datetime
    depth_kpa: float
    lasting_s: float


def photo(
    path: Path,
    *,
    sketch: str,
    title: str,
    lines: Sequence[str],
    at: datetime,
    value: float = 0.0,
    seed: int = 0,
) -> None:
    """Write a JPEG of 1280 x 960 with a sketch, a caption and the camera's local time.

    `sketch` is a key of ``config.demo.sketches.SKETCHES``, `value` what it shows
    (psi on the gauge, metres on the counter, kilograms in the can...), `at` an
    aware time whose offset is the camera's.
    """
    image = Image.new("RGB", SIZE, PAPER)
    draw = ImageDraw.Draw(image)
    SKETCHES[sketch](draw, Random(seed), value)
    draw.rectangle((0, BAND_TOP, *SIZE), fill=PAPER)
    draw.rectangle((0, BAND_TOP, SIZE[0], BAND_TOP + 6), fill=YELLOW)
    draw.text((30, BAND_TOP + 14), title, fill=INK, font=font(42))
    for row, line in enumerate(lines[:3]):
        draw.text((30, BAND_TOP + 66 + 28 * row), line, fill=INK, font=font(24))
    draw.rectangle((880, BAND_TOP + 26, 1250, BAND_TOP + 78), fill="#b3261e")
    middle = (1065, BAND_TOP + 52)
    draw.text(middle, NOTICE, fill="white", font=font(32), anchor="mm")
    stamp = f"{at:%Y-%m-%d %H:%M:%S} {_offset(at)}"
    draw.text((1250, BAND_TOP + 112), stamp, fill=INK, font=font(26), anchor="rm")
    image.save(path, "JPEG", quality=85, exif=_camera_time(at))


def film(
    path: Path, *, title: str, repair_ref: str, started_at: datetime, seconds: float = 3.0
) -> None:
    """Write an MP4 (H.264, 320 x 240) that travels along a pipe with a running clock.

    `started_at` is burned into the picture with its own offset and written into
    the file as ``creation_time`` in UTC.
    """
    created = started_at.astimezone(UTC).isoformat(timespec="microseconds")
    with av.open(str(path), "w", format="mp4", options={"movflags": "+faststart"}) as out:
        out.metadata["creation_time"] = created.replace("+00:00", "Z")
        out.metadata["title"] = f"{NOTICE}: {title}"
        stream = out.add_stream("libx264", rate=FRAMES_PER_S)
        stream.width, stream.height = FILM_SIZE
        stream.pix_fmt = "yuv420p"
        # One thread, and a fixed quantiser instead of a rate control that computes in floating
        # point: the same film has the same bytes.
        stream.options = {"preset": "ultrafast", "qp": "28", "threads": "1"}
        for number in range(max(round(seconds * FRAMES_PER_S), 1)):
            moment = _later(started_at, number / FRAMES_PER_S)
            picture = _film_picture(number, title, repair_ref, moment)
            frame = av.VideoFrame.from_image(picture)  # type: ignore[no-untyped-call]
            out.mux(stream.encode(frame))
        out.mux(stream.encode())


def pressure_csv(
    path: Path,
    *,
    start: datetime,
    end: datetime,
    hold_kpa: float,
    step_s: int = 30,
    ramp_s: float = 0.0,
    dip: Dip | None = None,
    wall_start_c: float = 22.0,
    wall_settled_c: float = 14.0,
    seed: int = 0,
) -> None:
    """Write a logger's CSV: time with offset, gauge pressure in psi, pipe-wall temperature.

    The pressure rises for `ramp_s`, holds with the jitter of a small gauge, and
    loses `dip` if given. Times keep the offset of `start`; `end` is included.
    """
    chance = Random(seed)
    last_s = int(_seconds_between(start, end))
    with path.open("w", newline="", encoding="utf-8") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["time", "pressure_psi", "temperature_c"])
        for elapsed_s in range(0, last_s + 1, step_s):
            at = _later(start, elapsed_s)
            share = min(elapsed_s / ramp_s, 1.0) if ramp_s else 1.0
            pressure_kpa = hold_kpa * share - _lost_kpa(dip, at) + chance.gauss(0, 0.15)
            wall_c = wall_temperature(
                elapsed_s, start_c=wall_start_c, settled_c=wall_settled_c
            ) + chance.gauss(0, 0.05)
            psi = max(pressure_kpa, 0.0) / KPA_PER_PSI
            rows.writerow([at.isoformat(timespec="seconds"), f"{psi:.2f}", f"{wall_c:.1f}"])


def wall_temperature(
    elapsed_s: float, *, start_c: float, settled_c: float, time_constant_s: float = 2_400.0
) -> float:
    """Return a pipe wall's simulated temperature, falling from `start_c` to the ground's.

    Newton's law of cooling with an invented time constant: a picture, not a model to cure by.
    """
    return settled_c + (start_c - settled_c) * math.exp(-elapsed_s / time_constant_s)


def _lost_kpa(dip: Dip | None, at: datetime) -> float:
    """Return what `dip` takes away at a moment: down and up again in straight lines."""
    if dip is None:
        return 0.0
    share = _seconds_between(dip.at, at) / dip.lasting_s
    return dip.depth_kpa * (1 - abs(2 * share - 1)) if 0 <= share <= 1 else 0.0


def _later(at: datetime, elapsed_s: float) -> datetime:
    """Add elapsed time by way of UTC: Python's own sum follows the wall clock and its jumps."""
    return (at.astimezone(UTC) + timedelta(seconds=elapsed_s)).astimezone(at.tzinfo)


def _seconds_between(first: datetime, second: datetime) -> float:
    """Return elapsed seconds; within one zone Python's own difference is the wall clock's."""
    return (second.astimezone(UTC) - first.astimezone(UTC)).total_seconds()


def _offset(at: datetime) -> str:
    """Return the offset as EXIF writes it, such as ``+02:00``."""
    return at.isoformat()[-6:]


def _camera_time(at: datetime) -> Image.Exif:
    exif = Image.Exif()
    exif[ExifTags.Base.Software] = NOTICE
    exif[ExifTags.Base.ImageDescription] = NOTICE
    taken = exif.get_ifd(ExifTags.IFD.Exif)
    taken[ExifTags.Base.DateTimeOriginal] = f"{at:%Y:%m:%d %H:%M:%S}"
    taken[ExifTags.Base.OffsetTimeOriginal] = _offset(at)
    return exif


def _film_picture(number: int, title: str, repair_ref: str, moment: datetime) -> Image.Image:
    image = Image.new("RGB", FILM_SIZE, "#0c0c0b")
    draw = ImageDraw.Draw(image)
    for radius in range(130, 10, -5):
        _ring(draw, radius, 25 + radius, width=0)
    # Pipe joints come nearer frame by frame: the camera travels.
    for joint in range(3):
        nearness = (joint + (number % 20) / 20) / 3
        _ring(draw, 16 + 120 * nearness**2, 20, width=1 + int(4 * nearness))
    draw.pieslice((40, -4, 280, 236), 68, 112, fill="#3d4f56")
    _ring(draw, 14, 26, width=0)
    draw.rectangle((0, 0, 320, 34), fill="black")
    draw.text((6, 2), NOTICE, fill=YELLOW, font=font(14))
    draw.text((6, 17), f"{repair_ref}  {title}"[:44], fill="white", font=font(13))
    draw.rectangle((0, 218, 320, 240), fill="black")
    tenths = moment.microsecond // 100_000
    clock = f"{moment:%Y-%m-%d %H:%M:%S}.{tenths} {_offset(moment)}"
    draw.text((6, 221), clock, fill="white", font=font(14))
    return image


def _ring(draw: ImageDraw.ImageDraw, radius: float, shade: int, *, width: int) -> None:
    """Draw a disc (width 0) or a circle about the middle of the picture."""
    box = (160 - radius, 116 - radius, 160 + radius, 116 + radius)
    colour = (shade, max(shade - 8, 0), max(shade - 18, 0))
    if width:
        draw.ellipse(box, outline=colour, width=width)
    else:
        draw.ellipse(box, fill=colour)
