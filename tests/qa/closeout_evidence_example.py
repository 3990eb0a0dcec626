"""Invented evidence for the example: pictures drawn, logs counted out, films of zeros."""

import hashlib
import math
from datetime import UTC, datetime, timedelta
from pathlib import Path

from PIL import Image, ImageDraw

from qa.domain.closeout import EvidenceFact, Series

MIXING = datetime(2031, 3, 11, 14, 2, tzinfo=UTC)
PHOTOS = (
    ("Access cover and reference plate", {"place": "AP-2041"}),
    ("Defect before repair, camera at centre", {"distance_m": 31.42}),
    ("Protective film after dry run", {"pinholes": 0}),
    ("Kit label with both lots", {"kit_lot": "K-7731-04"}),
    ("Wet-out, both sides saturated", {"resin_temperature_c": 14.5}),
    ("Sleeve tied on the packer", {"ties": 6}),
    ("Gauge at full pressure", {"reading_kpa": 34.0}),
    ("Finished repair, downstream end", {"distance_m": 31.98}),
)


def pressure(inflated: datetime, deflated: datetime) -> Series:
    """Ten-second samples: up, held with a little drift, down; one logger gap of four minutes."""
    seconds = int((deflated - inflated).total_seconds())
    found = []
    for second in range(-120, seconds + 60, 10):
        if second < 0:
            value = 34.5 * (120 + second) / 120
        elif second > seconds:
            value = max(0.0, 34.0 - 1.2 * (second - seconds))
        else:
            value = 34.2 + 0.7 * math.sin(second / 900) - 0.9 * (abs(second - seconds / 2) < 60)
        if not seconds * 0.6 < second < seconds * 0.6 + 240:
            found.append((inflated + timedelta(seconds=second), round(value, 2)))
    return tuple(found)


def temperature(inflated: datetime, deflated: datetime) -> Series:
    """Read the wall each minute, warming a little as the resin does."""
    minutes = int((deflated - inflated).total_seconds() // 60)
    return tuple(
        (
            inflated + timedelta(minutes=n),
            round(11.2 + 1.6 * (1 - math.exp(-n / 70)) + 0.1 * math.sin(n / 5), 2),
        )
        for n in range(minutes + 1)
    )


def evidence_files(
    folder: Path, photos: int, cure_h: float
) -> tuple[tuple[EvidenceFact, ...], dict[str, Path]]:
    """Write the evidence files and declare them."""
    items: list[EvidenceFact] = []
    files: dict[str, Path] = {}

    def keep(  # noqa: PLR0917
        kind: str, title: str, name: str, media: str, content: bytes, facts: dict
    ) -> None:
        number = len(items) + 1
        path = folder / f"{number:02d}.bin"
        path.write_bytes(content)
        one = EvidenceFact(
            f"0195f0aa-0000-7000-8000-{number:012d}",
            kind,
            title,
            name,
            hashlib.sha256(content).hexdigest(),
            len(content),
            media,
            MIXING + timedelta(minutes=7 * number),
            facts,
        )
        items.append(one)
        files[one.id] = path

    for n in range(photos):
        title, facts = PHOTOS[n % len(PHOTOS)]
        portrait, png = n % 4 == 2, n == 3
        keep(
            "photo",
            title,
            f"IMG 20{n:02d}.{'png' if png else 'jpg'}",
            "image/png" if png else "image/jpeg",
            picture(folder / "picture", n, portrait=portrait, png=png),
            facts,
        )
    keep(
        "pressure_log",
        "Pressure logger, packer",
        "pressure.csv",
        "text/csv",
        f"t_s,p_kpa\n0,34.2\n{cure_h * 3600},34.1\n".encode(),
        {"samples": 780, "longest_gap_s": 240},
    )
    keep(
        "temperature_log",
        "Wall sensor",
        "wall temperature.csv",
        "text/csv",
        b"t_s,t_c\n0,11.2\n",
        {},
    )
    keep(
        "video",
        "Film before the repair",
        "before.mp4",
        "video/mp4",
        b"\0" * 4096 + b"before",
        {"seconds": 214},
    )
    keep(
        "video",
        "Film after the repair",
        "after.mp4",
        "video/mp4",
        b"\0" * 4096 + b"after",
        {"seconds": 188},
    )
    return tuple(items), files


def picture(path: Path, seed: int, *, portrait: bool, png: bool) -> bytes:
    """Draw something like a view down a pipe: rings that darken towards the middle."""
    size = (900, 1200) if portrait else (2000, 1500)
    image = Image.new("RGB", size, (34, 30, 28))
    draw = ImageDraw.Draw(image)
    x, y = size[0] // 2, size[1] // 2
    for step in range(40, 0, -1):
        r = step * min(size) // 84
        shade = 30 + step * 5
        draw.ellipse(
            (x - r, y - r, x + r, y + r),
            fill=(shade, int(shade * 0.9), int(shade * 0.75 + seed * 5)),
        )
    draw.arc(
        (x - 500, y - 500, x + 500, y + 500),
        200 + seed * 15,
        320 + seed * 9,
        fill=(20, 20, 20),
        width=9,
    )
    image.save(path, "PNG" if png else "JPEG")
    return path.read_bytes()
