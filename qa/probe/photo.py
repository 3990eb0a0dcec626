"""What a photo says of itself.

Facts: ``format`` (JPEG, PNG, WEBP, HEIF), ``width`` and ``height`` in pixels as stored,
``orientation`` (EXIF's 1 to 8: how it is turned to be upright; None when not written),
``captured_at_text`` (ISO 8601, with offset only if the camera wrote one; None when it wrote
no time), ``has_position``, and ``position`` where the camera wrote one that can be read.
Derived: a small JPEG.
"""

import re
import warnings
from datetime import datetime
from typing import BinaryIO

import pi_heif
from PIL import (
    ExifTags,
    Image,
    MpoImagePlugin,
    TiffImagePlugin,
    UnidentifiedImageError,
    WebPImagePlugin,
)

from qa.probe.found import Found
from qa.probe.picture import small_jpeg
from qa.probe.position import position_of
from qa.probe.problem import FileProblem

MOST_PIXELS = 64_000_000
"""Above any camera carried into a trench; refused by the header, before decoding."""

_HEIF_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"mif1", b"msf1")
"""What ISO 23008-12 names a file with HEVC pictures, after ``ftyp``."""

_MOMENT = re.compile(r"(\d{4}):(\d\d):(\d\d) (\d\d:\d\d:\d\d)")
_LATITUDE = ExifTags.GPS.GPSLatitude

# Loaded now: once the file is open, nothing else can be.
pi_heif.register_heif_opener(thumbnails=False)
LOADED = (MpoImagePlugin, TiffImagePlugin, WebPImagePlugin)


def read(file: BinaryIO) -> Found:
    """Return what is known of the photo; FileProblem when it cannot serve."""
    Image.MAX_IMAGE_PIXELS = MOST_PIXELS
    # Pillow only warns up to twice the limit.
    warnings.simplefilter("error", Image.DecompressionBombWarning)
    form = _form(file)
    try:
        with Image.open(file, formats=(form,)) as image:
            _refuse_bomb(image)
            image.load()
            return Found(_facts(image, form), small_jpeg(image))
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise FileProblem("The photo claims more than 64 million pixels.") from None
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, EOFError):
        raise FileProblem("The photo is cut short or damaged; send the original again.") from None


def _refuse_bomb(image: Image.Image) -> None:
    """Ask once more, for readers that do not ask themselves."""
    if image.width * image.height > MOST_PIXELS:
        raise Image.DecompressionBombError


def _form(file: BinaryIO) -> str:
    """Return the one reader that is tried, by the first bytes: each reader fewer is safer."""
    head = file.read(16)
    file.seek(0)
    if head.startswith(b"\xff\xd8\xff"):
        return "JPEG"
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return "PNG"
    if head.startswith(b"RIFF") and head[8:12] == b"WEBP":
        return "WEBP"
    if head[4:8] == b"ftyp" and head[8:12] in _HEIF_BRANDS:
        return "HEIF"
    raise FileProblem("This is not a JPEG, PNG, WebP or HEIC photo, whatever its name.")


def _facts(image: Image.Image, form: str) -> dict[str, object]:
    exif = image.getexif()
    taken = exif.get_ifd(ExifTags.IFD.Exif)
    gps = exif.get_ifd(ExifTags.IFD.GPSInfo)
    position = position_of(gps)
    return {
        "format": form,
        "width": image.width,
        "height": image.height,
        "orientation": _orientation(image, exif),
        "captured_at_text": _captured_at(
            taken.get(ExifTags.Base.DateTimeOriginal), taken.get(ExifTags.Base.OffsetTimeOriginal)
        ),
        "has_position": _LATITUDE in gps,
        **({"position": position} if position else {}),
    }


def _orientation(image: Image.Image, exif: Image.Exif) -> int | None:
    # A HEIC photo comes upright already; how it lay is kept beside.
    found = image.info.get("original_orientation") or exif.get(ExifTags.Base.Orientation)
    return found if isinstance(found, int) and 1 <= found <= 8 else None  # noqa: PLR2004 - EXIF's


def _captured_at(moment: object, offset: object) -> str | None:
    """Return EXIF's "2031:05:06 09:30:00" and "+02:00" as ISO 8601, or None when unreadable."""
    found = _MOMENT.fullmatch(str(moment).strip("\x00 "))
    try:
        local = datetime.fromisoformat("{}-{}-{}T{}".format(*found.groups())) if found else None
    except ValueError:
        return None
    if local is None:
        return None
    try:
        return datetime.fromisoformat(local.isoformat() + str(offset).strip("\x00 ")).isoformat()
    except ValueError:
        return local.isoformat()
