"""Closes an invented repair and has its package built, shot again and again; prints what stands.

    python -m tests.faults.package_to_build FOLDER KILLS

Each round forks a runner from this process, so that it begins at once, and sends it SIGKILL after a
time of its own, between nothing and half as much again as a build takes. At last one is let finish.
"""

import hashlib
import json
import os
import random
import signal
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

import django

if TYPE_CHECKING:
    from duework.domain.work import Lease
    from qa.models import CloseoutPackage


AIMED = 0.4
"""Share of the shots that wait until the file is being written; the rest go by time alone."""


class _NobodyTakesIt:
    """The lease of the build that is only timed."""

    def check(self) -> None:
        """Hold."""

    def report(self, _percent: int) -> None:
        """Tell nobody."""


def main(folder: Path, kills: int) -> None:
    """Print the findings as JSON."""
    django.setup()
    package = _closed(folder)
    wanted, takes_s = _undisturbed(package, _NobodyTakesIt())
    parts = sum(_shot(package, takes_s, number / kills) for number in range(kills))
    _ready_again()
    _run()
    package.refresh_from_db()
    path = _path(package)
    found = {
        "wanted": wanted,
        "found": hashlib.sha256(path.read_bytes()).hexdigest(),
        "stored": package.sha256,
        "files": sorted(each.name for each in path.parent.iterdir()),
        "name": path.name,
        "packages": type(package).objects.count(),
        "shot_while_writing": parts,
    }
    sys.stdout.write(json.dumps(found))


def _closed(folder: Path) -> "CloseoutPackage":
    from qa.models import CloseoutPackage  # noqa: PLC0415 - Django comes first
    from qa.services.close import close  # noqa: PLC0415
    from tests.factories import now  # noqa: PLC0415
    from tests.proved_repair import a_proved_repair  # noqa: PLC0415

    folder.mkdir()
    proved = a_proved_repair(folder)
    closing = close(repair=proved.repair, by=proved.reviewer, now=now())
    return CloseoutPackage.objects.get(closing=closing)


def _undisturbed(package: "CloseoutPackage", lease: "Lease") -> tuple[str, float]:
    """Build it once without telling anybody; return its hash and how long that took."""
    from qa.services.build_package import build  # noqa: PLC0415
    from tests.factories import now  # noqa: PLC0415

    begun = time.monotonic()
    bag = build(package_id=package.pk, lease=lease, now=now())
    _path(package).unlink()
    return bag.sha256, time.monotonic() - begun


def _shot(package: "CloseoutPackage", takes_s: float, share: float) -> bool:
    """Let a runner begin and shoot it; say whether it was in the middle of writing."""
    from django.db import connections  # noqa: PLC0415

    _ready_again()
    folder = _path(package).parent
    before = _parts(folder)
    connections.close_all()
    child = os.fork()
    if not child:
        _run()
        os._exit(0)
    chance = random.Random(share)
    if share < AIMED:
        _until_it_writes(folder, before, takes_s * 4)
    else:
        time.sleep(takes_s * 1.5 * ((share - AIMED) / (1 - AIMED) + chance.random() / 50))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return bool(_parts(folder) - before)


def _parts(folder: Path) -> set[str]:
    return {each.name for each in folder.iterdir() if each.suffix == ".part"}


def _until_it_writes(folder: Path, before: set[str], within_s: float) -> None:
    """Wait for a new part file: then the build is in the middle of it."""
    end = time.monotonic() + within_s
    while time.monotonic() < end:
        if _parts(folder) - before:
            return
        time.sleep(0.001)


def _run() -> None:
    from duework.runner import run_due  # noqa: PLC0415

    while run_due():
        pass


def _ready_again() -> None:
    """Let the dead runner's lease end and forget its tries, as whoever rules on dead work would."""
    from duework.models import WorkItem  # noqa: PLC0415
    from qa.services.close import BUILD_PACKAGE  # noqa: PLC0415
    from tests.factories import now  # noqa: PLC0415

    WorkItem.objects.filter(kind=BUILD_PACKAGE).exclude(state=WorkItem.State.DONE).update(
        state=WorkItem.State.DUE, lease_until=None, lease_token=None, attempts=0, due_at=now()
    )


def _path(package: "CloseoutPackage") -> Path:
    from qa.sealed_files import package_path  # noqa: PLC0415

    return package_path(package.storage_key)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]))
