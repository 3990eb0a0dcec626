"""What a photo says of itself.

Facts: ``format`` (JPEG, PNG, WEBP), ``width`` and ``height`` in pixels as stored,
``captured_at_text`` (ISO 8601, with offset only if the camera wrote one; None when
it wrote no time) and ``has_position`` (whether a place is in the file; the place
itself is not passed on).
"""

import warnings
from datetime import datetime
from pathlib import Path

from PIL import ExifTags, Image, UnidentifiedImageError

from qa.probe.problem import FileProblem

FORMATS = ("JPEG", "PNG", "WEBP")
"""Nothing else is opened: each reader fewer is an attack fewer."""

MOST_PIXELS = 64_000_000
"""Above any camera carried into a trench; refused by the header, before decoding."""

_LATITUDE = ExifTags.GPS.GPSLatitude


def read(path: Path) -> dict[str, object]:
    """Return the facts of the photo at `path`; FileProblem when it cannot serve."""
    Image.MAX_IMAGE_PIXELS = MOST_PIXELS
    # Pillow only warns up to twice the limit.
    warnings.simplefilter("error", Image.DecompressionBombWarning)
    try:
        with Image.open(path, formats=FORMATS) as image:
            facts = _facts(image)
            image.load()
    except UnidentifiedImageError:
        raise FileProblem("This is not a JPEG, PNG or WebP photo, whatever its name.") from None
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise FileProblem("The photo claims more than 64 million pixels.") from None
    except (OSError, SyntaxError, ValueError):
        raise FileProblem("The photo is cut short or damaged; send the original again.") from None
    return facts


def _facts(image: Image.Image) -> dict[str, object]:
    exif = image.getexif()
    taken = exif.get_ifd(ExifTags.IFD.Exif)
    return {
        "format": image.format,
        "width": image.width,
        "height": image.height,
        "captured_at_text": _captured_at(
            taken.get(ExifTags.Base.DateTimeOriginal), taken.get(ExifTags.Base.OffsetTimeOriginal)
        ),
        "has_position": _LATITUDE in exif.get_ifd(ExifTags.IFD.GPSInfo),
    }


def _captured_at(moment: object, offset: object) -> str | None:
    """Return EXIF's "2031:05:06 09:30:00" and "+02:00" as ISO 8601, or None when unreadable."""
    try:
        # The offset, if any, is joined below.
        local = datetime.strptime(str(moment), "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007
    except ValueError:
        return None
    text = local.isoformat()
    try:
        return datetime.fromisoformat(f"{text}{str(offset).strip()}").isoformat()
    except ValueError:
        return text
