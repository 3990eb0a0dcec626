"""What a film says of itself."""

import io
from datetime import UTC
from pathlib import Path

import av
import pytest
from PIL import Image

from qa.probe.run import probe
from tests.qa.probe_files import AT, film, probed


def test_a_good_film_gives_its_facts(tmp_path: Path) -> None:
    """Container, codec, size, length and the start written in the file, in UTC."""
    found = probe(film(tmp_path), "film")

    assert found.problem is None
    assert found.facts == {
        "container": "mp4",
        "codec": "h264",
        "width": 320,
        "height": 240,
        "duration_s": 5.0,
        "creation_time": AT.astimezone(UTC).isoformat(),
        "truncated": False,
    }
    with Image.open(io.BytesIO(found.derived), formats=("JPEG",)) as seen:
        assert seen.size == (320, 240)


@pytest.mark.parametrize(
    ("suffix", "codec", "container"),
    [
        ("mov", "mpeg4", "mp4"),
        ("mkv", "mpeg4", "matroska"),
        ("avi", "mpeg4", "avi"),
        ("mpg", "mpeg2video", "mpeg"),  # old inspection recorders
        ("mpg", "mpeg1video", "mpeg"),  # older ones
    ],
)
def test_the_usual_containers_are_read(
    tmp_path: Path, suffix: str, codec: str, container: str
) -> None:
    """A whole film is not taken for a cut one, whatever its container."""
    path = tmp_path / f"film.{suffix}"
    with av.open(str(path), "w") as out:
        stream = out.add_stream(codec, rate=25)
        stream.width, stream.height, stream.pix_fmt = 320, 240, "yuv420p"
        for shade in range(100):
            picture = Image.new("RGB", (320, 240), (shade, 90, 90))
            out.mux(stream.encode(av.VideoFrame.from_image(picture)))
        out.mux(stream.encode())

    found = probe(path, "film")

    assert found.problem is None
    assert found.facts["container"] == container
    assert float(str(found.facts["duration_s"])) == pytest.approx(4.0, abs=0.2)
    assert found.facts["truncated"] is False


def test_a_film_without_its_end_is_called_cut(tmp_path: Path) -> None:
    """Its table of contents came first, so it opens: the stated length gives it away."""
    whole = film(tmp_path, seconds=20).read_bytes()

    found = probed(tmp_path, "half.mp4", whole[: len(whole) // 2], "film")

    assert found.facts["truncated"] is True
    assert found.facts["duration_s"] == 20.0
    assert found.problem == "The film is cut short: it ends before the length it states."


def test_a_film_whose_last_box_is_cut_is_called_cut(tmp_path: Path) -> None:
    """The last kilobyte is missing: too little to be missed in time, but the box says so."""
    whole = film(tmp_path, seconds=20).read_bytes()

    found = probed(tmp_path, "nearly.mp4", whole[:-1000], "film")

    assert found.facts["truncated"] is True
    assert found.problem == "The film is cut short: its box mdat lacks 1000 bytes."


def test_padding_after_the_last_box_is_no_cut(tmp_path: Path) -> None:
    """Some recorders fill their last block with zeros."""
    whole = film(tmp_path).read_bytes()

    assert probed(tmp_path, "padded.mp4", whole + bytes(4096), "film").problem is None


def test_a_film_without_its_table_of_contents_is_refused(tmp_path: Path) -> None:
    """A recorder that lost power before it wrote the index."""
    whole = film(tmp_path).read_bytes()

    found = probed(tmp_path, "headless.mp4", whole[:30], "film")

    assert "or it is cut short" in str(found.problem)


def test_sound_alone_is_no_film(tmp_path: Path) -> None:
    """A voice memo in a film container shows nothing."""
    path = tmp_path / "memo.mkv"
    with av.open(str(path), "w") as out:
        stream = out.add_stream("pcm_s16le", rate=48_000)
        frame = av.AudioFrame(format="s16", layout="mono", samples=1_024)
        frame.rate = 48_000
        out.mux(stream.encode(frame))

    assert probe(path, "film").problem == "The file holds no moving picture."
