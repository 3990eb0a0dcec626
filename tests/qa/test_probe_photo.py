"""What a photo says of itself."""

from pathlib import Path

import pytest
from PIL import ExifTags, Image

from qa.probe.run import ProbeResult, probe
from tests.qa.probe_files import photo, png_header, probed


def test_a_good_photo_gives_its_facts(tmp_path: Path) -> None:
    """Size, format and the camera's own time with its offset."""
    assert probe(photo(tmp_path), "photo") == ProbeResult(
        facts={
            "format": "JPEG",
            "width": 1280,
            "height": 960,
            "captured_at_text": "2031-05-06T09:30:00+02:00",
            "has_position": False,
        }
    )


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


def test_a_photo_with_a_place_says_so_but_not_where(tmp_path: Path) -> None:
    """Whoever may see the place looks at the original."""
    exif = Image.Exif()
    exif.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitude] = (1.0, 2.0, 3.0)
    path = tmp_path / "placed.jpg"
    Image.new("RGB", (8, 8)).save(path, exif=exif)

    facts = probe(path, "photo").facts

    assert facts["has_position"] is True
    assert set(facts) == {"format", "width", "height", "captured_at_text", "has_position"}


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
    """Only JPEG, PNG and WebP have a reader here."""
    path = tmp_path / "picture.jpg"
    Image.new("RGB", (8, 8)).save(path, format=form)

    assert "not a JPEG, PNG or WebP" in str(probe(path, "photo").problem)


def test_a_cut_photo_is_called_cut(tmp_path: Path) -> None:
    """Half a photo is not shown as if it were whole."""
    whole = photo(tmp_path).read_bytes()

    found = probed(tmp_path, "half.jpg", whole[: len(whole) // 2], "photo")

    assert "cut short or damaged" in str(found.problem)
