"""The photographs in the report."""

import io
from pathlib import Path

import pypdf
import pytest
from PIL import Image

from qa.closeout.payload import evidence_paths
from qa.closeout.report.build import report_pdf
from qa.closeout.report.photos import LONGEST_PX, shrunk
from tests.qa.closeout_example import example


def test_a_picture_is_made_smaller_and_upright(tmp_path: Path) -> None:
    """A large photo taken sideways is turned by its own note and shrunk."""
    exif = Image.Exif()
    exif[0x0112] = 6  # "rotate a quarter turn to see it upright"
    Image.new("RGB", (4000, 3000), "grey").save(tmp_path / "big.jpg", exif=exif)

    with Image.open(io.BytesIO(shrunk(tmp_path / "big.jpg"))) as small:
        assert max(small.size) <= LONGEST_PX
        assert small.height > small.width


@pytest.mark.parametrize("content", [b"", b"not a picture", b"\xff\xd8\xff\xe0cut off"])
def test_a_picture_that_cannot_be_read_is_said_so(tmp_path: Path, content: bytes) -> None:
    """A broken photo gets a frame with words; the rest of the report stands."""
    made = example(tmp_path, photos=2)
    path = tmp_path / "broken.jpg"
    path.write_bytes(content)
    files = made.files | {made.facts.evidence[0].id: path}

    content = report_pdf(made.facts, files, evidence_paths(made.facts), "0" * 64)

    text = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages)
    assert " ".join(text.split()).count("This picture could not be drawn here.") == 1


def test_a_picture_of_absurd_size_is_refused(tmp_path: Path) -> None:
    """A small file that unfolds to a gigapixel never does so here."""
    Image.new("1", (20_000, 10_000)).save(tmp_path / "bomb.png")

    assert shrunk(tmp_path / "bomb.png") is None
