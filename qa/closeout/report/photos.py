"""The photographs, two in a row, with what is known of each below it."""

import io
import warnings
from collections.abc import Mapping
from pathlib import Path
from zoneinfo import ZoneInfo

from PIL import Image as Picture
from PIL import ImageOps
from reportlab.platypus import Flowable

from qa.closeout.report.block import PLAIN, section
from qa.closeout.report.requirements import evidence_numbers
from qa.closeout.report.style import BOLD, QUIET, RULE, SMALL
from qa.closeout.report.tagged import Paragraph, Photo, Table
from qa.closeout.report.words import moment, number_words, xml
from qa.domain.closeout import CloseoutFacts, EvidenceFact

LONGEST_PX = 1600
"""Enough for half a page in print; the originals lie in the package."""
QUALITY = 82
CAPTION = 46.0
"""Room for caption and air below a picture, points."""
HEADING = 46.0
UNDER = "Made smaller for print; the originals are in the package."
UNREADABLE = "This picture could not be drawn here. The file itself is in the package, unchanged."


def photos(
    facts: CloseoutFacts, files: Mapping[str, Path], width: float, height: float
) -> list[Flowable]:
    """Set the section; nothing if there are no pictures."""
    shown = [one for one in facts.evidence if one.kind == "photo"]
    if not shown:
        return []
    zone, numbers = ZoneInfo(facts.site.time_zone), evidence_numbers(facts)
    half = width / 2 - 6
    tall = (height - HEADING) / _rows(len(shown)) - CAPTION
    cells = [
        [
            _picture(files.get(one.id), half, tall, f"Photo {numbers[one.id]}: {one.title}"),
            Paragraph(_caption(one, numbers[one.id], zone), SMALL),
        ]
        for one in shown
    ]
    rows = [
        [pair[0], "", pair[1] if len(pair) > 1 else ""]
        for pair in (cells[n : n + 2] for n in range(0, len(cells), 2))
    ]
    table = Table(rows, [half, 12, half])
    table.setStyle(
        [*PLAIN, ("RIGHTPADDING", (0, 0), (-1, -1), 0), ("BOTTOMPADDING", (0, 0), (-1, -1), 14)]
    )
    return [
        *section("Photographs", UNDER, room=HEADING + tall + CAPTION),
        table,
    ]


def shrunk(path: Path) -> bytes | None:
    """Make a picture small enough for print; None if it cannot be read as one."""
    with warnings.catch_warnings():
        # A picture of absurd size is refused like a broken one.
        warnings.simplefilter("error", Picture.DecompressionBombWarning)
        try:
            with Picture.open(path, formats=("JPEG", "PNG")) as original:
                original.draft("RGB", (LONGEST_PX, LONGEST_PX))
                picture = ImageOps.exif_transpose(original).convert("RGB")
                picture.thumbnail((LONGEST_PX, LONGEST_PX))
                out = io.BytesIO()
                picture.save(out, "JPEG", quality=QUALITY)
        except (OSError, ValueError, SyntaxError, Picture.DecompressionBombError, Warning):
            return None
    return out.getvalue()


def _rows(pictures: int) -> int:
    """Choose rows a page: three large ones, or four where that saves a page."""
    return 4 if pictures in (7, 8) else 3


def _picture(path: Path | None, width: float, height: float, alt: str) -> Flowable:
    """Set one picture into its half of the row."""
    content = shrunk(path) if path is not None else None
    if content is None:
        frame = Table([[Paragraph(UNREADABLE, QUIET)]], [width], [height / 2])
        frame.setStyle(
            [("BOX", (0, 0), (-1, -1), 0.5, RULE), ("VALIGN", (0, 0), (-1, -1), "MIDDLE")]
        )
        return frame
    picture = Photo(io.BytesIO(content), width, height, kind="proportional", hAlign="LEFT")
    picture.alt = alt
    return picture


def _caption(one: EvidenceFact, number: str, zone: ZoneInfo) -> str:
    """Say number, title, time and facts of a picture."""
    words = f"<font name='{BOLD}'>{number}</font>&nbsp; {xml(one.title)}"
    quiet = (
        [moment(one.captured_at, zone)] if one.captured_at else ["time of the picture not known"]
    )
    quiet += [number_words(name, value) for name, value in sorted(one.facts.items())]
    return f"{words}<br/><font color='#5a6472'>{xml('; '.join(quiet))}</font>"
