"""What a photo says of itself."""

import io
from pathlib import Path
from typing import Any

import pillow_heif
import pytest
from PIL import ExifTags, Image

from qa.probe.run import probe
from tests.qa.probe_files import photo, png_header, probed


def test_a_good_photo_gives_its_facts(tmp_path: Path) -> None:
    """Size, format and the camera's own time with its offset."""
    found = probe(photo(tmp_path), "photo")

    assert found.problem is None
    assert found.facts == {
        "format": "JPEG",
        "width": 1280,
        "height": 960,
        "orientation": None,
        "captured_at_text": "2031-05-06T09:30:00+02:00",
        "has_position": False,
    }


@pytest.mark.parametrize(
    ("written", "offset", "text"),
    [
        ("2031:05:06 09:30:00", "+02:00", "2031-05-06T09:30:00+02:00"),
        ("2031:05:06 09:30:00", None, "2031-05-06T09:30:00"),  # many cameras write no offset
        ("2031:05:06 09:30:00", "summer", "2031-05-06T09:30:00"),  # an unreadable offset is none
        ("0000:00:00 00:00:00", "+02:00", None),  # a camera whose clock was never set
        ("yesterday", None, None),
        (None, None, None),
    ],
)
def test_the_cameras_time_is_passed_on_as_written(
    tmp_path: Path, written: str | None, offset: str | None, text: str | None
) -> None:
    """An offset is never made up, and an unreadable time is no time."""
    exif = Image.Exif()
    taken = exif.get_ifd(ExifTags.IFD.Exif)
    if written is not None:
        taken[ExifTags.Base.DateTimeOriginal] = written
    if offset is not None:
        taken[ExifTags.Base.OffsetTimeOriginal] = offset
    path = tmp_path / "small.jpg"
    Image.new("RGB", (8, 8)).save(path, exif=exif)

    assert probe(path, "photo").facts["captured_at_text"] == text


GPS = ExifTags.GPS


@pytest.mark.parametrize(
    ("written", "position"),
    [
        # 41 deg 30' 36" N, 93 deg 37' 12" W, in degrees: 41.51 and -93.62
        (
            {
                GPS.GPSLatitudeRef: "N",
                GPS.GPSLatitude: (41.0, 30.0, 36.0),
                GPS.GPSLongitudeRef: "W",
                GPS.GPSLongitude: (93.0, 37.0, 12.0),
                GPS.GPSHPositioningError: 4.75,
            },
            {"latitude": 41.51, "longitude": -93.62, "accuracy_m": 4.8},
        ),
        ({GPS.GPSLatitude: (0.0, 0.0, 0.0), GPS.GPSLongitude: (0.0, 0.0, 0.0)}, None),  # no fix yet
        ({GPS.GPSLatitude: (91.0, 0.0, 0.0), GPS.GPSLongitude: (1.0, 0.0, 0.0)}, None),
        ({GPS.GPSLatitude: (41.0, 0.0, 0.0)}, None),  # half a place
    ],
)
def test_the_place_is_read_where_it_makes_sense(
    tmp_path: Path, written: dict[int, Any], position: dict[str, float] | None
) -> None:
    """Degrees, minutes and seconds become signed degrees; what is no place is none."""
    exif = Image.Exif()
    exif.get_ifd(ExifTags.IFD.GPSInfo).update(written)
    path = tmp_path / "placed.jpg"
    Image.new("RGB", (8, 8)).save(path, exif=exif)

    found = probe(path, "photo")

    assert found.facts["has_position"] is True
    assert found.facts.get("position") == position


@pytest.mark.parametrize("form", ["PNG", "WEBP", "HEIF", "MPO"])
def test_the_usual_camera_formats_are_read(tmp_path: Path, form: str) -> None:
    """HEIC as newer phones write it, and photos that hold a second picture."""
    pillow_heif.register_heif_opener()
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "invented"
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = "2031:05:06 09:30:00"
    path = tmp_path / "picture"
    Image.new("RGB", (64, 48), "orange").save(path, format=form, exif=exif)

    found = probe(path, "photo")

    assert found.problem is None
    assert found.facts["format"] == ("JPEG" if form == "MPO" else form)
    assert (found.facts["width"], found.facts["height"]) == (64, 48)
    assert found.facts["captured_at_text"] == "2031-05-06T09:30:00"


@pytest.mark.parametrize("form", ["JPEG", "HEIF", "PNG", "WEBP"])
def test_the_picture_people_see_is_upright_small_and_bare(tmp_path: Path, form: str) -> None:
    """Place, serial number, comment and owner's name stay in the original."""
    pillow_heif.register_heif_opener()
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6  # a quarter turn makes it upright
    exif[ExifTags.Base.Make] = "canary of a maker"
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.BodySerialNumber] = "canary 12345"
    exif.get_ifd(ExifTags.IFD.GPSInfo)[GPS.GPSLatitude] = (1.0, 2.0, 3.0)
    path = tmp_path / "original"
    more = {"comment": b"canary"} if form == "JPEG" else {}
    Image.new("RGB", (3200, 2400), "orange").save(path, format=form, exif=exif, **more)
    assert b"canary" in path.read_bytes()

    found = probe(path, "photo")

    assert found.facts["orientation"] == 6
    assert b"canary" not in found.derived
    assert b"Exif" not in found.derived
    with Image.open(io.BytesIO(found.derived), formats=("JPEG",)) as seen:
        # HEIC turns its pictures by a note of its own (ISO 23008-12); what EXIF says is not heard.
        assert seen.size == ((1600, 1200) if form == "HEIF" else (1200, 1600))
        assert seen.info.keys() <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


@pytest.mark.parametrize(
    ("width", "height", "refused"),
    [
        (30_000, 30_000, True),  # 2.7 GB once decoded
        (8_000, 8_001, True),  # just above 64 million pixels
        (8_000, 8_000, False),  # just at it: decoded, and found to lack its data
    ],
)
def test_a_pixel_bomb_is_refused_by_its_header(
    tmp_path: Path, width: int, height: int, *, refused: bool
) -> None:
    """A hundred bytes that claim to be huge are never decoded."""
    found = probed(tmp_path, "bomb.png", png_header(width, height), "photo")

    assert (found.problem == "The photo claims more than 64 million pixels.") is refused


@pytest.mark.parametrize("form", ["TIFF", "GIF", "BMP"])
def test_other_picture_formats_are_refused(tmp_path: Path, form: str) -> None:
    """Only JPEG, PNG, WebP and HEIC have a reader here."""
    path = tmp_path / "picture.jpg"
    Image.new("RGB", (8, 8)).save(path, format=form)

    assert "not a JPEG, PNG, WebP or HEIC" in str(probe(path, "photo").problem)


def test_a_cut_photo_is_called_cut(tmp_path: Path) -> None:
    """Half a photo is not shown as if it were whole."""
    whole = photo(tmp_path).read_bytes()

    found = probed(tmp_path, "half.jpg", whole[: len(whole) // 2], "photo")

    assert "cut short or damaged" in str(found.problem)
