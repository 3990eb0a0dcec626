"""The package as a file: whole, checkable by others, the same each time, or not there at all."""

import ast
import hashlib
import os
import random
import shutil
import signal
import subprocess
import sys
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import bagit
import pytest

from qa.closeout.bag import EvidenceChangedError, WrittenBag, write_bag
from qa.closeout.bag_check import check_bag
from qa.closeout.payload import VERIFIER
from qa.closeout.readme import readme_text
from qa.closeout.verify_package import problems
from tests.qa.closeout_example import Example, example
from tests.required import missing

TAMPERS = 20
ROOT = Path(__file__).resolve().parents[2]
BUILD = """
import os, signal, sys
from pathlib import Path
sys.path[:0] = [{root!r}, {here!r}]
from tests.qa.closeout_example import example
from qa.closeout.bag import write_bag
stop = {stop}
def progress(written):
    if stop is not None and written >= stop:
        os.kill(os.getpid(), signal.SIGKILL)
made = example(Path({files!r}), photos=2)
written = write_bag(Path({target!r}), made.facts, made.files, progress)
assert "django" not in sys.modules  # the package needs no web framework
print(written.sha256)
"""


TOP = "WO-2031-088-R-20417-attempt-2"
"""The one folder of the package: order, repair, attempt."""


def quiet(_written: int) -> None:
    """Watch nothing."""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Example:
    """One finished repair."""
    return example(tmp_path_factory.mktemp("files"), photos=2)


@pytest.fixture(scope="module")
def package(made: Example, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, WrittenBag]:
    """Its package."""
    target = tmp_path_factory.mktemp("out") / "package.zip"
    return target, write_bag(target, made.facts, made.files, quiet)


@pytest.fixture
def unpacked(package: tuple[Path, WrittenBag], tmp_path: Path) -> Path:
    """Unpack the package as a client does."""
    with zipfile.ZipFile(package[0]) as archive:
        archive.extractall(tmp_path)
    return tmp_path / TOP


def build_elsewhere(
    folder: Path, target: Path, *, stop: int | None, seed: str
) -> subprocess.CompletedProcess:
    """Build the package in a process of its own, killed after `stop` bytes."""
    folder.mkdir(exist_ok=True)
    code = BUILD.format(root=str(ROOT), here=str(Path(__file__).parent), stop=stop,
                        files=str(folder), target=str(target))  # fmt: skip
    return subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False,
        env=os.environ | {"PYTHONHASHSEED": seed},
    )  # fmt: skip


def test_the_written_bag_says_what_lies_there(package: tuple[Path, WrittenBag]) -> None:
    """Hash, size and names are those of the file on disk."""
    target, written = package
    content = target.read_bytes()

    assert written.sha256 == hashlib.sha256(content).hexdigest()
    assert written.size == len(content)
    with zipfile.ZipFile(target) as archive:
        assert archive.testzip() is None
        assert tuple(archive.namelist()) == written.names
        assert {one.compress_type for one in archive.infolist()} == {zipfile.ZIP_STORED}
        assert {name.split("/")[0] for name in written.names} == {TOP}


def test_the_library_for_bags_finds_it_valid(unpacked: Path) -> None:
    """The bagit library checks every hash and the Oxum and has nothing to say."""
    bag = bagit.Bag(str(unpacked))

    bag.validate()

    assert bag.version_info == (1, 0)
    assert bag.info["External-Identifier"] == TOP
    assert bag.info["Bagging-Date"] == "2031-03-13"


def test_the_declaration_is_exact_to_the_byte(unpacked: Path) -> None:
    """The bagit library lets a space before the colon pass, which RFC 8493 does not."""
    declaration = (unpacked / "bagit.txt").read_bytes()

    assert declaration == b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"


def test_the_program_inside_checks_the_package_alone(unpacked: Path) -> None:
    """With nothing but Python; that it is not signed has to be asked for, or it is refused."""
    command = [sys.executable, "-I", "verify_package.py"]
    run = subprocess.run([*command, "--accept-unsigned"], cwd=unpacked,
                         capture_output=True, text=True, check=False)  # fmt: skip
    doubted = subprocess.run(command, cwd=unpacked, capture_output=True, text=True, check=False)

    assert run.returncode == 0
    assert "Every file is there and unchanged" in run.stdout
    assert doubted.returncode == 1
    assert "not signed" in doubted.stdout
    assert "Every file is there" not in doubted.stdout


def test_the_program_reads_with_the_oldest_python_it_names() -> None:
    """Python 3.8 knows neither `X | None` nor `dict | dict`, nor `tuple[int]` outside of notes."""
    text = VERIFIER.read_text(encoding="utf-8")
    tree = ast.parse(text, feature_version=(3, 8))
    notes = {
        id(part)
        for node in ast.walk(tree)
        for note in (getattr(node, "annotation", None), getattr(node, "returns", None))
        if note is not None
        for part in ast.walk(note)
    }
    kept = ast.Module([each for each in tree.body if not isinstance(each, ast.If)], [])
    run = [node for node in ast.walk(kept) if id(node) not in notes]

    assert "needs Python 3.8 or later" in text
    assert ast.unparse(tree.body[1]) == "from __future__ import annotations"
    assert not [
        node for node in run
        if isinstance(node, ast.Subscript) and isinstance(node.value, ast.Name)
        and node.value.id in {"tuple", "list", "dict", "set"}
    ]  # fmt: skip
    imported = {node.module for node in run if isinstance(node, ast.ImportFrom)}
    imported |= {name.name for node in run if isinstance(node, ast.Import) for name in node.names}
    assert imported <= sys.stdlib_module_names


def test_the_program_runs_with_the_oldest_python_it_names(unpacked: Path) -> None:
    """Where that Python is at hand."""
    oldest = shutil.which("python3.8")
    if oldest is None or subprocess.run([oldest, "-V"], check=False).returncode != 0:
        pytest.skip("there is no Python 3.8 here")
    run = subprocess.run([oldest, "-I", "verify_package.py", "--accept-unsigned"], cwd=unpacked,
                         capture_output=True, text=True, check=False)  # fmt: skip

    assert (run.returncode, run.stderr) == (0, "")


@pytest.mark.parametrize(
    ("where", "make", "says"),
    [
        ("x/more", lambda path: path.symlink_to("/tmp"), "a link, no file of the package"),  # noqa: S108
        ("more", lambda path: path.symlink_to("README.txt"), "a link, no file of the package"),
        ("data/more", lambda path: path.symlink_to("evidence"), "a link, no file of the package"),
        ("data/evidence/more", lambda path: path.symlink_to("nowhere"), "a link, no file"),
        ("x", lambda path: path.mkdir(), "a folder"),
        ("data/x", lambda path: path.mkdir(), "a folder"),
        ("x/y/z.txt", lambda path: path.write_text("added"), ""),
        ("more", os.mkfifo, "neither a file nor a folder"),
    ],
)
def test_whatever_was_added_is_named(
    unpacked: Path, where: str, make: Callable[[Path], None], says: str
) -> None:
    """A link, an empty folder, a pipe: beside data or in it, none is passed over."""
    path = unpacked / where
    path.parent.mkdir(parents=True, exist_ok=True)
    make(path)

    found = problems(unpacked)

    line = next(line for line in found if line.startswith(f"not listed: {where}"))
    assert says in line
    folders = [f"not listed: {each}/ (a folder)" for each in ("x", "x/y") if f"{each}/" in where]
    assert set(folders) <= set(found)
    assert len(found) == 1 + len(folders)


def test_a_link_in_a_files_place_is_no_file(unpacked: Path, tmp_path: Path) -> None:
    """Even one that leads to the same bytes: they lie outside and can be changed at any time."""
    record, outside = unpacked / "data/record.json", tmp_path / "outside.json"
    record.rename(outside)
    record.symlink_to(outside)

    found = problems(unpacked)

    assert found == ["changed: data/record.json (a link, no file of the package)"]


@pytest.mark.parametrize("manifest", ["manifest-sha256.txt", "tagmanifest-sha256.txt"])
def test_the_plain_command_of_the_readme_works(unpacked: Path, manifest: str) -> None:
    """README.txt promises that sha256sum -c takes the manifests."""
    if shutil.which("sha256sum") is None:
        missing("there is no sha256sum command")
    run = subprocess.run(["sha256sum", "--strict", "-c", manifest], cwd=unpacked,  # noqa: S607
                         capture_output=True, check=False)  # fmt: skip

    assert run.returncode == 0


@pytest.mark.parametrize("seed", range(TAMPERS))
def test_one_changed_byte_anywhere_is_found(unpacked: Path, seed: int) -> None:
    """Payload, tag file or manifest: the bagit library and our program both refuse the bag."""
    chance = random.Random(seed)
    path = chance.choice(sorted(one for one in unpacked.rglob("*") if one.is_file()))
    content = bytearray(path.read_bytes())
    content[chance.randrange(len(content))] ^= chance.randrange(1, 256)
    path.write_bytes(content)

    with pytest.raises((bagit.BagError, UnicodeDecodeError)):
        bagit.Bag(str(unpacked)).validate()
    assert problems(unpacked)
    assert not check_bag(unpacked).valid


def test_a_changed_file_is_named(unpacked: Path) -> None:
    """The client learns which file, not only that something is wrong."""
    record = unpacked / "data/record.json"
    record.write_bytes(record.read_bytes().replace(b"R-20417", b"R-20418"))
    (unpacked / "data/extra.txt").write_text("added")
    (unpacked / "data/quantities.csv").unlink()

    assert problems(unpacked) == [
        "missing: data/quantities.csv",
        "not listed: data/extra.txt",
        "changed: data/record.json",
    ]


def test_evidence_is_there_byte_for_byte(made: Example, unpacked: Path) -> None:
    """Each evidence file in the package has the bytes it came with."""
    packed = sorted((unpacked / "data/evidence").iterdir())

    assert [path.read_bytes() for path in packed] == [
        made.files[one.id].read_bytes() for one in made.facts.evidence
    ]


def test_the_readme_and_the_report_name_the_same_record(unpacked: Path) -> None:
    """The digest printed for people is that of record.json in the package."""
    digest = hashlib.sha256((unpacked / "data/record.json").read_bytes()).hexdigest()
    readme = (unpacked / "README.txt").read_text()

    assert digest in readme
    assert "INVENTED DATA" in readme


def test_the_readme_says_what_no_bagit_program_finds(unpacked: Path, made: Example) -> None:
    """Nothing is promised of others that only our program does; the bagit library agrees."""
    readme = " ".join((unpacked / "README.txt").read_text().split())

    missed = "What was added beside data/ and anything about signature.json it does not find"
    assert missed in readme
    assert "can put another program in the place of verify_package.py" in readme
    assert "python3 KEPT/verify_package.py THIS_FOLDER --accept-unsigned" in readme
    (unpacked / "added.txt").write_text("added beside data/")
    (unpacked / "signature.json").write_text("{}")
    bagit.Bag(str(unpacked)).validate()
    assert "not listed: added.txt" in problems(unpacked)
    assert "--key ID" in readme_text(made.facts, "0" * 64, "56475aa75463474c")


def test_two_builds_are_the_same_bytes(
    made: Example, package: tuple[Path, WrittenBag], tmp_path: Path
) -> None:
    """The same input gives the same package, also a day later."""
    again = write_bag(tmp_path / "again.zip", made.facts, made.files, quiet)

    assert again == package[1]
    assert (tmp_path / "again.zip").read_bytes() == package[0].read_bytes()


def test_another_process_builds_the_same_bytes(
    package: tuple[Path, WrittenBag], tmp_path: Path
) -> None:
    """Nothing of the process (hash seed, order, time) gets into the package."""
    run = build_elsewhere(tmp_path / "files", tmp_path / "x.zip", stop=None, seed="7")

    assert run.stdout.strip() == package[1].sha256


def test_changed_evidence_refuses_the_package(made: Example, tmp_path: Path) -> None:
    """One bit in one film, and there is no package, and the film is named."""
    files = dict(made.files)
    film = next(one for one in made.facts.evidence if one.file_name == "after.mp4")
    content = bytearray(files[film.id].read_bytes())
    content[100] ^= 1
    files[film.id] = tmp_path / "changed.bin"
    files[film.id].write_bytes(content)

    with pytest.raises(EvidenceChangedError, match=r"after\.mp4.*SHA-256"):
        write_bag(tmp_path / "package.zip", made.facts, files, quiet)
    assert [path.name for path in tmp_path.iterdir()] == ["changed.bin"]


@pytest.mark.parametrize("lost", ["not given", "not on disk"])
def test_missing_evidence_refuses_the_package(made: Example, tmp_path: Path, lost: str) -> None:
    """A package without one of its proofs is not made."""
    first = made.facts.evidence[0].id
    files = {key: path for key, path in made.files.items() if key != first}
    if lost == "not on disk":
        files[first] = tmp_path / "nowhere"

    with pytest.raises(EvidenceChangedError, match="the file is missing"):
        write_bag(tmp_path / "package.zip", made.facts, files, quiet)
    assert not list(tmp_path.iterdir())


def test_a_wrong_declared_size_refuses_the_package(made: Example, tmp_path: Path) -> None:
    """The size is part of the declaration."""
    wrong = replace(made.facts.evidence[0], size_bytes=1)
    facts = replace(made.facts, evidence=(wrong, *made.facts.evidence[1:]))

    with pytest.raises(EvidenceChangedError, match="declared 1 bytes"):
        write_bag(tmp_path / "package.zip", facts, made.files, quiet)


def test_a_build_told_to_stop_leaves_nothing(made: Example, tmp_path: Path) -> None:
    """A lost lease ends the build through the progress call, and the old package stays."""
    target = tmp_path / "package.zip"
    target.write_bytes(b"the older one")

    def stop(_written: int) -> None:
        raise TimeoutError

    with pytest.raises(TimeoutError):
        write_bag(target, made.facts, made.files, stop)
    assert [(one.name, one.read_bytes()) for one in tmp_path.iterdir()] == [
        ("package.zip", b"the older one")
    ]


def test_progress_only_grows_and_ends_with_everything(made: Example, tmp_path: Path) -> None:
    """The figure a person watches never goes back."""
    seen: list[int] = []

    written = write_bag(tmp_path / "package.zip", made.facts, made.files, seen.append)

    assert seen == sorted(seen)
    assert sum(one.size_bytes for one in made.facts.evidence) < seen[-1] < written.size


@pytest.mark.slow
@pytest.mark.parametrize("stop", [1, 60_000, 150_000, 260_000])
def test_a_killed_build_leaves_no_visible_file(tmp_path: Path, stop: int) -> None:
    """The process is killed with the file half written; the folder shows nothing."""
    out = tmp_path / "out"
    out.mkdir()

    run = build_elsewhere(tmp_path / "files", out / "package.zip", stop=stop, seed="0")

    assert run.returncode == -signal.SIGKILL
    left = list(out.iterdir())
    assert [one.name for one in left if not one.name.startswith(".")] == []
    assert [one.suffix for one in left] == [".part"]  # killed while writing, not before
