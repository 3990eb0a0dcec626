"""Makes the picture people look at: small, upright, and without anything but its pixels."""

import io

from PIL import Image, ImageOps

LONGEST_PX = 1600
"""Enough for half a page in print and any screen in a truck."""
QUALITY = 82

# Loaded now: once the file is open, nothing else can be.
Image.preinit()


def small_jpeg(picture: Image.Image) -> bytes:
    """Return a decoded picture as a small JPEG; place, time, maker and serial number stay behind.

    The pixels are drawn anew, so nothing hidden in or behind the file comes along.
    """
    picture.thumbnail((LONGEST_PX, LONGEST_PX))
    upright = ImageOps.exif_transpose(picture).convert("RGB")
    bare = Image.new("RGB", upright.size)
    bare.paste(upright)
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=QUALITY)
    return out.getvalue()
