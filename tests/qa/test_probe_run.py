"""Hostile and broken files give a problem in plain words, whatever they do to their reader."""

import time
from pathlib import Path

import pytest

from qa.probe import run
from qa.probe.run import MediaKind, probe
from tests.qa.probe_files import CONCAT, PLAYLIST, SVG, film, noise, photo, probed


@pytest.mark.parametrize(
    ("name", "content", "kind"),
    [
        ("drawing.jpg", SVG, "photo"),  # a script in a picture's clothes
        ("page.jpg", b"<html>" + b"\xff\xd8\xff\xe0" * 50, "photo"),  # a page first, JPEG after
        ("noise.jpg", noise(1).randbytes(5_000), "photo"),
        ("playlist.mp4", PLAYLIST, "film"),  # would open another file
        ("script.mp4", CONCAT, "film"),  # likewise
        ("shell.mp4", b"#!/bin/sh\necho owned\n", "film"),
        ("noise.mp4", noise(2).randbytes(5_000), "film"),
        ("drawing.mp4", SVG, "film"),
    ],
)
def test_what_is_no_photo_or_film_is_refused(
    tmp_path: Path, name: str, content: bytes, kind: MediaKind
) -> None:
    """The content decides, not the name."""
    found = probed(tmp_path, name, content, kind)

    assert found.facts == {}
    assert found.problem is not None
    assert found.problem.startswith("This is not a")


@pytest.mark.parametrize("kind", ["photo", "film"])
def test_an_empty_file_is_called_empty(tmp_path: Path, kind: MediaKind) -> None:
    """An upload that broke off at once."""
    assert probed(tmp_path, "empty", b"", kind).problem == "The file is empty."


def test_a_missing_file_is_called_missing(tmp_path: Path) -> None:
    """Due work may come after somebody removed it."""
    assert probe(tmp_path / "gone.jpg", "photo").problem == "The file is not there any more."


@pytest.mark.parametrize("order", ["reach", "reach bare"])
def test_the_child_has_nothing_left_but_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, order: str
) -> None:
    """No socket, no other file, no more bytes than allowed, with a namespace or without."""
    monkeypatch.setattr(run, "_CHILD", "tests.qa.misbehaving_child")

    found = probed(tmp_path, "order.jpg", order.encode(), "photo")

    assert found.facts == {"socket": "OSError", "file": "OSError", "write": "too large"}
    assert "no descriptor left" in found.cut_off


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["photo", "film"])
def test_damaged_files_never_crash_the_caller(tmp_path: Path, kind: MediaKind) -> None:
    """Twenty files with bytes overwritten at random: each gives facts or a problem, and soon."""
    whole = (photo(tmp_path) if kind == "photo" else film(tmp_path, 2)).read_bytes()
    for seed in range(20):
        chance = noise(seed)
        broken = bytearray(whole)
        for _ in range(30):
            broken[chance.randrange(len(broken))] = chance.randrange(256)

        found = probed(tmp_path, f"broken-{seed}", bytes(broken), kind)

        assert found.facts or found.problem


@pytest.mark.parametrize(
    ("order", "words"),
    [
        ("crash", "made its reader fail"),
        ("sleep", "took too long"),
        ("babble", "took too long"),  # killed at 64 KiB, long before memory is short
        ("nonsense", "say nonsense"),
    ],
)
def test_a_child_taken_over_by_a_file_does_no_harm(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, order: str, words: str
) -> None:
    """Whatever it does, the caller gets a problem within the time allowed."""
    monkeypatch.setattr(run, "_CHILD", "tests.qa.misbehaving_child")
    monkeypatch.setattr(run, "WALL_S", 1.0)
    began = time.monotonic()

    found = probed(tmp_path, "order.jpg", order.encode(), "photo")

    assert words in str(found.problem)
    assert time.monotonic() - began < 5


def test_the_child_sees_no_secrets(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of the environment only the search paths, the language and a thread count reach it."""
    monkeypatch.setattr(run, "_CHILD", "tests.qa.misbehaving_child")
    monkeypatch.setenv("CUREWRIGHT_SECRET_KEY", "canary")

    assert probed(tmp_path, "order.jpg", b"spy", "photo").facts == {"seen": 5}
