"""Schematic field pictures: drawn, so that nobody takes them for a real site.

Each sketch fills a canvas of `SIZE` and leaves the band at the bottom free for the caption.
"""

import math
from collections.abc import Callable
from random import Random

from PIL import ImageDraw, ImageFont

SIZE = (1280, 960)
BAND_TOP = 800

Draw = ImageDraw.ImageDraw
Sketch = Callable[[Draw, Random, float], None]

STEEL, DARK, PAPER, INK = "#8d99a3", "#2d3439", "#f2efe6", "#20262a"
RED, YELLOW, GREEN, CONCRETE = "#c0392b", "#f2c230", "#5f8f4e", "#b9b2a4"
RESIN, GLASS, EARTH = "#a9c46c", "#e9efe2", "#6b5a48"


def font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    """Return Pillow's own face at `size`, the same on every machine."""
    return ImageFont.load_default(size)


def gauge(draw: Draw, chance: Random, value: float) -> None:
    """Draw a pressure gauge on a hose, its needle at `value` psi (0 to 10)."""
    draw.rectangle((0, 0, 1280, BAND_TOP), fill=CONCRETE)
    _speckle(draw, chance, "#a69f91", (0, 0, 1280, BAND_TOP), 900)
    draw.line([(640, 700), (640, 800)], fill=DARK, width=60)
    draw.line([(0, 775), (1280, 745)], fill="#15181a", width=46)
    draw.rectangle((590, 690, 690, 770), fill="#b08d3c", outline=INK, width=4)
    centre, radius = (640, 390), 330
    _disc(draw, centre, radius + 26, STEEL, INK)
    _disc(draw, centre, radius, "#fbfbf7", INK)
    for tenth in range(101):
        angle = _dial_angle(tenth / 10)
        inner = radius - (60 if tenth % 10 == 0 else 40 if tenth % 5 == 0 else 26)
        draw.line(
            [_at(centre, inner, angle), _at(centre, radius - 12, angle)],
            fill=INK,
            width=6 if tenth % 10 == 0 else 3,
        )
    for whole in range(11):
        draw.text(
            _at(centre, radius - 96, _dial_angle(whole)),
            str(whole),
            fill=INK,
            font=font(44),
            anchor="mm",
        )
    draw.text((640, 520), "psi", fill=INK, font=font(48), anchor="mm")
    needle = _dial_angle(min(max(value, 0.0), 10.0))
    draw.line([_at(centre, -70, needle), _at(centre, radius - 50, needle)], fill=RED, width=10)
    _disc(draw, centre, 22, DARK, INK)


def cable_mark(draw: Draw, chance: Random, value: float) -> None:
    """Draw the cable at the access edge with its tape mark; `value` m on the counter."""
    draw.rectangle((0, 0, 1280, BAND_TOP), fill="#9fb0a0")
    draw.rectangle((0, 470, 620, BAND_TOP), fill=CONCRETE)
    _speckle(draw, chance, "#8f887b", (0, 470, 620, BAND_TOP), 500)
    draw.rectangle((620, 470, 1280, BAND_TOP), fill="#1b1a18")
    draw.rectangle((560, 440, 640, BAND_TOP), fill="#77716a", outline=INK, width=4)
    draw.text((300, 760), "access edge", fill=INK, font=font(40), anchor="mm")
    draw.line([(440, 745), (556, 700)], fill=INK, width=4)
    draw.line([(0, 400), (590, 425)], fill="#20201f", width=34)
    draw.arc((470, 425, 790, 745), 268, 350, fill="#20201f", width=34)
    draw.line([(783, 560), (800, BAND_TOP)], fill="#20201f", width=34)
    draw.polygon([(545, 398), (592, 400), (590, 452), (543, 450)], fill=YELLOW, outline=INK)
    draw.line([(568, 398), (566, 452)], fill=RED, width=5)
    draw.rounded_rectangle((70, 90, 520, 290), 22, fill=DARK, outline=INK, width=5)
    draw.rounded_rectangle((100, 120, 490, 230), 10, fill="#c8d6b8")
    draw.text((295, 175), f"{value:06.2f} m", fill=INK, font=font(78), anchor="mm")
    draw.text((295, 258), "distance counter", fill=PAPER, font=font(30), anchor="mm")
    draw.line([(660, 330), (590, 395)], fill=INK, width=5)
    draw.text((670, 310), "tape mark at the edge", fill=INK, font=font(42))


def wet_out(draw: Draw, chance: Random, value: float) -> None:
    """Draw a sleeve on the wet-out sheet, `value` (0 to 1) of it saturated."""
    draw.rectangle((0, 0, 1280, BAND_TOP), fill="#cfd6da")
    draw.rectangle((60, 60, 1220, 770), fill="#f6f7f5", outline="#9aa4aa", width=4)
    left, top, right, bottom = 140, 200, 1140, 640
    draw.rectangle((left, top, right, bottom), fill=GLASS, outline=INK, width=4)
    edge = left + (right - left) * min(max(value, 0.0), 1.0)
    draw.rectangle((left, top, edge, bottom), fill=RESIN)
    for x in range(left, right, 20):
        draw.line([(x, top), (x, bottom)], fill="#8fa463" if x < edge else "#c9d2c0", width=2)
    for y in range(top, bottom, 20):
        draw.line([(left, y), (edge, y)], fill="#8fa463", width=2)
        draw.line([(edge, y), (right, y)], fill="#c9d2c0", width=2)
    for _ in range(14):
        drop_x, drop_y = chance.uniform(left, edge - 40), chance.uniform(top + 10, bottom - 20)
        draw.ellipse((drop_x, drop_y, drop_x + 34, drop_y + 8), fill="#bcd483")
    draw.rectangle((left, top, right, bottom), outline=INK, width=4)
    roller = min(edge, right - 40)
    draw.rounded_rectangle((roller - 34, 250, roller + 34, 590), 26, fill=YELLOW, outline=INK)
    draw.line([(roller + 34, 420), (roller + 130, 420), (roller + 130, 720)], fill=DARK, width=16)
    for x in (left, right):
        draw.line([(x, 130), (x, 170)], fill=INK, width=5)
    draw.line([(left, 150), (right, 150)], fill=INK, width=4)
    draw.text((640, 110), "sleeve", fill=INK, font=font(40), anchor="mm")


def packer(draw: Draw, chance: Random, value: float) -> None:
    """Draw the inflated packer with its sleeve tied on at `value` places."""
    draw.rectangle((0, 0, 1280, BAND_TOP), fill="#a7a294")
    _speckle(draw, chance, "#8f8a7d", (0, 520, 1280, BAND_TOP), 700)
    draw.line([(0, 400), (200, 400)], fill="#15181a", width=40)
    draw.line([(1080, 400), (1280, 400)], fill="#d8cfb5", width=18)
    for x, width in ((160, 60), (1060, 60)):
        draw.rounded_rectangle((x, 330, x + width, 470), 12, fill=STEEL, outline=INK, width=4)
    draw.rounded_rectangle((215, 270, 1065, 530), 90, fill="#2c2c2b", outline=INK, width=4)
    draw.rounded_rectangle((245, 278, 1035, 522), 80, outline="#d7e3ea", width=8)
    draw.rectangle((380, 250, 900, 550), fill=RESIN, outline=INK, width=4)
    for x in range(400, 900, 20):
        draw.line([(x, 252), (x, 548)], fill="#8fa463", width=2)
    ties = max(int(value), 2)
    for number in range(ties):
        tie = 396 + number * 488 / (ties - 1)
        draw.line([(tie, 246), (tie, 554)], fill="#f4f1e8", width=7)
    draw.text((640, 190), "sleeve tied on the packer", fill=INK, font=font(42), anchor="mm")
    draw.text((640, 620), "protective film underneath", fill=INK, font=font(36), anchor="mm")


def film_check(draw: Draw, chance: Random, value: float) -> None:
    """Draw the protective film held against the light, with `value` pinholes marked."""
    draw.rectangle((0, 0, 1280, BAND_TOP), fill="#dfe7ea")
    _disc(draw, (640, 400), 260, "#fbfdfb", "#e9f0f2")
    draw.polygon([(180, 90), (1110, 140), (1080, 720), (210, 690)], fill="#cfe0e6", outline=INK)
    for _ in range(30):
        x, y = chance.uniform(220, 1040), chance.uniform(150, 660)
        draw.line([(x, y), (x + chance.uniform(20, 90), y + chance.uniform(-30, 30))],
                  fill="#e6f1f4", width=3)  # fmt: skip
    for _ in range(int(value)):
        x, y = chance.uniform(330, 950), chance.uniform(220, 600)
        draw.ellipse((x - 6, y - 6, x + 6, y + 6), fill=INK)
        draw.ellipse((x - 44, y - 44, x + 44, y + 44), outline=RED, width=6)
    words = f"pinholes marked: {int(value)}" if value >= 1 else "no pinhole found"
    draw.text((640, 755), words, fill=INK, font=font(40), anchor="mm")


def pipe_view(draw: Draw, chance: Random, value: float) -> None:
    """Draw the view along the pipe to the finished sleeve; `value` is the water's share."""
    draw.rectangle((0, 0, 1280, BAND_TOP), fill="#0d0d0c")
    centre = (640, 400)
    for ring in range(20, 0, -1):
        shade = 30 + 7 * ring
        near = 8 <= ring <= 14
        colour = (
            (shade, min(shade + 40, 255), shade // 2) if near else (shade, shade - 6, shade - 14)
        )
        _disc(draw, centre, ring * 21, "#{:02x}{:02x}{:02x}".format(*colour), None)
    draw.pieslice((220, -20, 1060, 820), 90 - 60 * value, 90 + 60 * value, fill="#46565c")
    _disc(draw, centre, 62, "#070707", None)
    for ring in (168, 294):
        draw.ellipse((640 - ring, 400 - ring, 640 + ring, 400 + ring), outline=GREEN, width=4)
    _speckle(draw, chance, "#8c857a", (300, 60, 980, 740), 160)
    draw.text((985, 90), "repair sleeve", fill=PAPER, font=font(38))
    draw.line([(980, 125), (850, 215)], fill=PAPER, width=4)


def kit_label(draw: Draw, chance: Random, value: float) -> None:
    """Draw two resin cans and a label; `value` kg in the larger one."""
    draw.rectangle((0, 0, 1280, BAND_TOP), fill="#c9bfae")
    _speckle(draw, chance, "#b8ad9a", (0, 560, 1280, BAND_TOP), 600)
    for x, height, name, kg in ((140, 460, "A", value), (520, 320, "B", value / 2)):
        top = 680 - height
        draw.rectangle((x, top, x + 300, 680), fill=STEEL, outline=INK, width=5)
        draw.ellipse((x, top - 34, x + 300, top + 34), fill="#b7c0c7", outline=INK, width=5)
        draw.rectangle((x + 24, top + 90, x + 276, 640), fill=PAPER, outline=INK, width=3)
        draw.text((x + 150, top + 150), name, fill=RED, font=font(90), anchor="mm")
        draw.text((x + 150, 600), f"{kg:.2f} kg", fill=INK, font=font(46), anchor="mm")
    draw.rounded_rectangle((890, 300, 1180, 680), 14, fill="#f8f6ee", outline=INK, width=4)
    for row in range(9):
        width = chance.uniform(120, 240)
        draw.rectangle((915, 330 + row * 26, 915 + width, 342 + row * 26), fill="#9a968a")
    left = 915
    while left < 1150:
        bar = chance.choice((3, 5, 8))
        draw.rectangle((left, 585, left + bar, 655), fill=INK)
        left += bar + chance.choice((4, 6, 9))


SKETCHES: dict[str, Sketch] = {
    "gauge": gauge,
    "cable_mark": cable_mark,
    "wet_out": wet_out,
    "packer": packer,
    "film_check": film_check,
    "pipe_view": pipe_view,
    "kit_label": kit_label,
}


def _dial_angle(psi: float) -> float:
    """Return the dial's angle in radians: 0 psi at seven o'clock, 10 psi at five."""
    return math.radians(135 + 27 * psi)


def _at(centre: tuple[int, int], radius: float, angle: float) -> tuple[float, float]:
    return centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)


def _disc(
    draw: Draw, centre: tuple[int, int], radius: float, fill: str, outline: str | None
) -> None:
    x, y = centre
    box = (x - radius, y - radius, x + radius, y + radius)
    draw.ellipse(box, fill=fill, outline=outline, width=5 if outline else 0)


def _speckle(
    draw: Draw, chance: Random, fill: str, box: tuple[int, int, int, int], count: int
) -> None:
    left, top, right, bottom = box
    for _ in range(count):
        x, y, size = chance.uniform(left, right), chance.uniform(top, bottom), chance.uniform(1, 4)
        draw.ellipse((x, y, x + size, y + size), fill=fill)
