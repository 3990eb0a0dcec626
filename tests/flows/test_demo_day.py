"""The invented day runs whole while its worker is killed again and again."""

import os
import random
import subprocess
import zipfile
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

import bagit
import psycopg
import pytest
from django.conf import settings

from qa.closeout.verify_package import problems

TAMPERINGS = 20
DEMO_DATABASE = "curewright_demo_day"


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """Play the day as the README says, a worker killed after each repair's post."""
    assert "\nmake demo\n" in (settings.BASE_DIR / "README.md").read_text()
    var = tmp_path_factory.mktemp("demo")
    environment = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "CUREWRIGHT_DEBUG": "yes",
        "CUREWRIGHT_VAR": str(var),
        "CUREWRIGHT_DATABASE_URL": _empty_database(var),
        "COLUMNS": "400",
    }
    done = subprocess.run(
        ["make", "demo", "DEMO=--kill-workers --workers 2"],  # noqa: S607 - from the PATH
        cwd=settings.BASE_DIR,
        env=environment,
        capture_output=True,
        text=True,
        timeout=170,
        check=False,
    )
    logs = "\n".join(log.read_text()[-2000:] for log in (var / "demo" / "logs").glob("*.log"))
    assert done.returncode == 0, f"{done.stdout[-3000:]}\n{done.stderr[-3000:]}\n{logs}"
    return var / "demo", done.stdout


def _empty_database(var: Path) -> str:
    """Return the address of an empty database of the kind this run is on."""
    url = settings.DATABASE_URL
    if not url.startswith("postgres"):
        return f"sqlite:///{var / 'demo.sqlite3'}"
    parts = urlsplit(url)
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute(f"DROP DATABASE IF EXISTS {DEMO_DATABASE}")
        connection.execute(f"CREATE DATABASE {DEMO_DATABASE}")
    return urlunsplit(parts._replace(path=f"/{DEMO_DATABASE}"))


@pytest.fixture(scope="module")
def bags(played: tuple[Path, str], tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Return the unpacked packages of the day."""
    target = tmp_path_factory.mktemp("bags")
    for package in sorted((played[0] / "packages").glob("*.zip")):
        with zipfile.ZipFile(package) as zipped:
            zipped.extractall(target)
    return sorted(target.iterdir())


@pytest.mark.slow
@pytest.mark.parametrize(
    "words",
    [
        "R-1: closed",  # closes first time
        "R-5: closed",  # posted late, shuffled, in one batch
        "30 stored, 7 already there",  # repeats were no-ops
        "below what is allowed, outside for about",  # R-2's dip
        "the film starts 35 min before the deflation",  # R-3's film
        "lot LOT-OLD expired on",  # R-4's kit
        "R-6 is live",  # still under pressure
        "the dispatcher is told",  # the crew lead did not answer
        "dora has it",
        "settled by the facts",
        "kit_expired",  # a reason of the clash
        "qualification_expired",
        "packer_does_not_fit",
        "R-2 returned; its stage is now 'returned', attempt 2",
        "R-1 accepted; its stage is now 'accepted', attempt 1",
        "R-7: crew",  # planned for tomorrow
        "R-9 is not planned: R-9 has no prescription",
        "told, each what changed for it",
    ],
)
def test_the_day_tells(played: tuple[Path, str], words: str) -> None:
    """Each turn of the day is told in its account."""
    assert words in played[1]


@pytest.mark.slow
def test_an_outside_library_calls_each_package_valid(bags: list[Path]) -> None:
    """The Library of Congress's bagit validates the package of each closed repair."""
    assert len(bags) == 4
    for bag in bags:
        assert bagit.Bag(str(bag)).validate()


def _tamperings(bag: Path) -> Iterator[tuple[Path, int]]:
    chance = random.Random(20261125)
    files = sorted(path for path in bag.rglob("*") if path.is_file())
    for _ in range(TAMPERINGS):
        path = chance.choice(files)
        yield path, chance.randrange(path.stat().st_size)


@pytest.mark.slow
def test_each_of_twenty_changed_bytes_is_found(bags: list[Path]) -> None:
    """One byte changed anywhere in a bag makes the outside library refuse it.

    The signature stands beside the lists and not in them: our own program checks it.
    """
    found = 0
    for path, position in _tamperings(bags[0]):
        original = path.read_bytes()
        path.write_bytes(
            original[:position] + bytes([original[position] ^ 0x01]) + original[position + 1 :]
        )
        try:
            bagit.Bag(str(bags[0])).validate()
            found += path.name == "signature.json" and bool(problems(bags[0]))
        except bagit.BagError:
            found += 1
        finally:
            path.write_bytes(original)
    assert found == TAMPERINGS
    assert bagit.Bag(str(bags[0])).validate()
