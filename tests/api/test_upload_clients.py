"""Two outside clients of tus 1.0 against a running server: tuspy (Python), tus-js-client (Node)."""

import hashlib
import json
import random
import shutil
import socket
import subprocess
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
import requests
from tusclient.client import TusClient

from tests.clients import FOLDER, installed
from tests.live_server import TIMEOUT_S, Live
from tests.required import missing

pytestmark = pytest.mark.slow
SIZE = 3_000_001
NODE = shutil.which("node")


@pytest.fixture
def film(tmp_path: Path) -> tuple[Path, str]:
    """Return a file that nobody sent before, and its hash; its bytes are no film."""
    path = tmp_path / "film.mp4"
    path.write_bytes(random.randbytes(SIZE))
    return path, hashlib.sha256(path.read_bytes()).hexdigest()


def _metadata(live: Live, sha256: str) -> dict[str, str]:
    kind = {"kind": "post_repair_film", "filename": "film.mp4", "filetype": "video/mp4"}
    return {"repair": live.told["repair"], "sha256": sha256, **kind}


def _became(live: Live, where: str) -> dict[str, Any]:
    headers = {"Authorization": f"Bearer {live.told['crew_token']}"}
    return dict(requests.get(where, headers=headers, timeout=TIMEOUT_S).json())


def _sealed(live: Live, upload: Mapping[str, Any]) -> str:
    """Fetch the evidence an upload became and return its hash."""
    headers = {"Authorization": f"Bearer {live.told['crew_token']}"}
    where = f"{live.api}/evidence/{upload['evidence']}/file"
    return hashlib.sha256(requests.get(where, headers=headers, timeout=60).content).hexdigest()


@pytest.mark.parametrize("checksums", [False, True])
def test_tuspy_stops_and_goes_on(live: Live, film: tuple[Path, str], *, checksums: bool) -> None:
    """Half of it, then another client object goes on from the address; with and without sums."""
    path, sha256 = film
    client = TusClient(
        f"{live.api}/uploads", headers={"Authorization": f"Bearer {live.told['crew_token']}"}
    )
    told = {"metadata": _metadata(live, sha256), "chunk_size": 400_000}
    first = client.uploader(str(path), upload_checksum=checksums, **told)
    first.upload(stop_at=SIZE // 2)
    again = client.uploader(str(path), url=first.url, upload_checksum=checksums, **told)
    again.upload()

    upload = _became(live, str(first.url))
    assert upload["state"] == "done"
    assert _sealed(live, upload) == sha256


@pytest.mark.parametrize(
    ("mode", "state"),
    [
        ("whole", "done"),
        ("with-creation", "done"),
        ("override", "done"),
        ("resume", "done"),
        ("terminate", "ended"),
    ],
)
def test_tus_js_client_does_what_it_can(
    live: Live, film: tuple[Path, str], mode: str, state: str
) -> None:
    """Whole, with creation, POST for PATCH, aborted and resumed, terminated."""
    if NODE is None:
        missing("there is no Node.js, which .ci/run installs")
    path, sha256 = film
    asked = {
        "endpoint": f"{live.api}/uploads",
        "mode": mode,
        "file": str(path),
        "token": live.told["crew_token"],
        "metadata": _metadata(live, sha256),
    }
    said = subprocess.run(
        [NODE, "upload.mjs", json.dumps(asked)],
        cwd=installed(),
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )

    assert said.returncode == 0, said.stderr
    upload = _became(live, json.loads(said.stdout)["url"])
    assert upload["state"] == state
    assert state != "done" or _sealed(live, upload) == sha256


def test_a_line_cut_in_the_middle_keeps_what_came(live: Live, film: tuple[Path, str]) -> None:
    """2,000,000 bytes of a piece of 3,000,001, then the socket dies: exactly these are kept."""
    path, sha256 = film
    client = TusClient(
        f"{live.api}/uploads", headers={"Authorization": f"Bearer {live.told['crew_token']}"}
    )
    uploader = client.uploader(str(path), metadata=_metadata(live, sha256))
    where = str(uploader.create_url())
    address = urlsplit(where)
    head = (
        f"PATCH {address.path} HTTP/1.1\r\nHost: {address.netloc}\r\n"
        f"Authorization: Bearer {live.told['crew_token']}\r\nTus-Resumable: 1.0.0\r\n"
        f"Content-Type: application/offset+octet-stream\r\nUpload-Offset: 0\r\n"
        f"Content-Length: {SIZE}\r\n\r\n"
    )
    with socket.create_connection((address.hostname or "", address.port or 80)) as line:
        line.sendall(head.encode() + path.read_bytes()[:2_000_000])
        _wait_for(live, where, 1_500_000)
    _wait_for(live, where, 2_000_000)
    goes_on = client.uploader(str(path), url=where)
    goes_on.upload()

    assert _sealed(live, _became(live, where)) == sha256


def _wait_for(live: Live, where: str, offset: int) -> None:
    deadline = time.monotonic() + TIMEOUT_S
    while _became(live, where)["offset_bytes"] < offset:
        assert time.monotonic() < deadline, "the bytes never came"
        time.sleep(0.05)


def test_the_clients_lock_file_holds_no_address() -> None:
    """Nobody's mirror is written into the lock."""
    assert "://" not in (FOLDER / "package-lock.json").read_text(encoding="utf-8")
