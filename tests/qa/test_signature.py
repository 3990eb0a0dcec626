"""The signature of a package: checked by RFC 8032's vectors, an outside library, and by bending."""

import hashlib
import json
import random
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import bagit
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from hypothesis import given, settings
from hypothesis import strategies as st

from qa.closeout.bag import write_bag
from qa.closeout.signature import Seal, signature_json
from qa.closeout.verify_package import NOT_SIGNED, ORDER, is_signed, problems, sha256, told
from qa.domain.history import Checkpoint
from tests.qa.closeout_example import example
from tests.qa.test_bag import TOP, quiet

TAMPERS = 1000
AT = datetime(2031, 3, 14, 7, 0, tzinfo=UTC)
SECRET = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))

# RFC 8032, section 7.1, TEST 1 to TEST 3: public key, message, signature. Values from memory,
# found right by the outside library below.
RFC_8032 = [
    (
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        (
            "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
            "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"
        ),
    ),
    (
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        (
            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
            "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
        ),
    ),
    (
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        (
            "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
            "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"
        ),
    ),
]


def public_hex(secret: Ed25519PrivateKey) -> str:
    """Return a secret's public key."""
    return secret.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw).hex()


def seal_of(secret: Ed25519PrivateKey) -> Seal:
    """Return who signs, with an invented checkpoint."""
    public = public_hex(secret)
    key_id = hashlib.sha256(bytes.fromhex(public)).hexdigest()[:16]
    checkpoint = Checkpoint(812, "9f" * 32, AT, key_id, "ab" * 64)
    return Seal(key_id, public, checkpoint, lambda message: secret.sign(message).hex())


@pytest.fixture(scope="module")
def bag(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return an unpacked package that is signed."""
    folder = tmp_path_factory.mktemp("signed")
    (folder / "files").mkdir()
    made = example(folder / "files", photos=1)
    write_bag(folder / "package.zip", made.facts, made.files, quiet, seal=seal_of(SECRET))
    with zipfile.ZipFile(folder / "package.zip") as archive:
        archive.extractall(folder)
    return folder / TOP


@pytest.mark.parametrize(("public", "message", "signature"), RFC_8032)
def test_the_vectors_of_the_standard(public: str, message: str, signature: str) -> None:
    """RFC 8032, section 7.1; one bit more or less is refused."""
    key, text, proof = (bytes.fromhex(each) for each in (public, message, signature))

    assert is_signed(text, proof, key)
    assert not is_signed(text + b"\0", proof, key)
    for place in (0, 31, 32, 63):
        bent = bytearray(proof)
        bent[place] ^= 1
        assert not is_signed(text, bytes(bent), key)


def test_a_second_form_of_a_signature_is_refused() -> None:
    """RFC 8032, section 5.1.7: the scalar lies below the order, so that nobody makes a twin."""
    public, message, signature = RFC_8032[1]
    proof = bytes.fromhex(signature)
    twin = int.from_bytes(proof[32:], "little") + ORDER
    other = proof[:32] + twin.to_bytes(32, "little")

    assert not is_signed(bytes.fromhex(message), other, bytes.fromhex(public))


@settings(max_examples=40)
@given(st.binary(min_size=32, max_size=32), st.binary(max_size=200), st.integers(0, 63))
def test_it_agrees_with_an_outside_library(seed: bytes, message: bytes, place: int) -> None:
    """The cryptography library signs, the program inside the package verifies."""
    secret = Ed25519PrivateKey.from_private_bytes(seed)
    public, proof = bytes.fromhex(public_hex(secret)), bytearray(secret.sign(message))

    assert is_signed(message, bytes(proof), public)
    proof[place] ^= 0x10
    assert not is_signed(message, bytes(proof), public)


@pytest.mark.parametrize("broken", [(b"", bytes(32)), (bytes(64), b""), (bytes(64), b"\xff" * 32)])
def test_what_is_no_signature_or_key_is_refused(broken: tuple[bytes, bytes]) -> None:
    """Too short, or no point of the curve."""
    assert not is_signed(b"x", *broken)


def test_a_signed_package_is_whole_for_everybody(bag: Path) -> None:
    """Our program says whose it is; the bagit library takes the signature for a tag file."""
    found, said = told(bag, "")

    assert found == []
    assert "The signature is that of key 56475aa75463474c." in said
    bagit.Bag(str(bag)).validate()


def test_the_program_asks_for_the_key_one_was_told(bag: Path) -> None:
    """By id or by the whole key; another key is named."""
    run = [sys.executable, "-I", "verify_package.py", "--key"]
    good = subprocess.run([*run, "56475aa75463474c"], cwd=bag, capture_output=True, check=False,
                          text=True)  # fmt: skip
    bad = subprocess.run([*run, "0123456789abcdef"], cwd=bag, capture_output=True, check=False,
                         text=True)  # fmt: skip

    assert (good.returncode, bad.returncode) == (0, 1)
    assert "That is the key you asked for." in good.stdout
    assert "signed by key 56475aa75463474c, not by 0123456789abcdef" in bad.stdout
    assert told(bag, public_hex(SECRET))[0] == []


def test_a_forger_cannot_just_leave_the_signature_out(bag: Path, tmp_path: Path) -> None:
    """Lists written anew, no key named and no signature: refused until somebody accepts that."""
    forged = tmp_path / "forged"
    shutil.copytree(bag, forged)
    (forged / "signature.json").unlink()
    lines = (forged / "bag-info.txt").read_text().splitlines(keepends=True)
    (forged / "bag-info.txt").write_text("".join(x for x in lines if "Signing-Key" not in x))
    tags = forged / "tagmanifest-sha256.txt"
    names = [line.split("  ")[1] for line in tags.read_text().splitlines()]
    tags.write_text("".join(f"{sha256(forged / name)}  {name}\n" for name in names))

    assert told(forged, "") == ([NOT_SIGNED], [])
    assert told(forged, "56475aa75463474c")[0] == ["not signed: no key can be asked for"]
    assert told(forged, "", unsigned=True)[0] == []
    bagit.Bag(str(forged)).validate()  # any BagIt program is content


def test_a_copy_kept_elsewhere_checks_a_folder(bag: Path, tmp_path: Path) -> None:
    """The one inside may be the forger's: it is not run, and named when it was changed."""
    kept, inside = tmp_path / "kept.py", bag / "verify_package.py"
    whole = inside.read_bytes()
    kept.write_bytes(whole)
    inside.write_text("print('All is well.')")
    run = [sys.executable, "-I", str(kept), str(bag), "--key", "56475aa75463474c"]
    bad = subprocess.run(run, capture_output=True, check=False, text=True)
    inside.write_bytes(whole)
    good = subprocess.run(run, capture_output=True, check=False, text=True)

    assert (bad.returncode, bad.stdout) == (1, "changed: verify_package.py\n")
    assert good.returncode == 0


@pytest.mark.parametrize(
    ("asked", "status", "words"),
    [
        (["--key=56475aa75463474c"], 0, "That is the key you asked for."),
        (["--key=0123456789abcdef"], 1, "not by 0123456789abcdef"),
        (["--key", ""], 2, "expected the id of the key"),  # an unset variable asks for no key
        (["--key="], 2, "expected the id of the key"),
        (["--key"], 2, "expected the id of the key"),
        (["--kee=1"], 2, "Check a closeout package"),
    ],
)
def test_a_key_is_asked_for_or_the_question_is_wrong(
    bag: Path, asked: list[str], status: int, words: str
) -> None:
    """Nobody is told that all is well when the id was left out."""
    run = [sys.executable, "-I", "verify_package.py", *asked]
    done = subprocess.run(run, cwd=bag, capture_output=True, check=False, text=True)

    assert done.returncode == status
    assert words in done.stdout


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "it is not written as a signature is"),
        (b"\xff\xfe", "it is not written as a signature is"),
        (b"[]", "it is not written as a signature is"),
        (b'{"public_key": "xyz"}', "it is not written as a signature is"),
        (b"{}", "public_key is not in it"),
    ],
)
def test_what_is_wrong_with_the_signature_is_said_in_words(
    bag: Path, content: bytes, words: str
) -> None:
    """Not in those of a programming language."""
    path = bag / "signature.json"
    whole = path.read_bytes()
    path.write_bytes(content)
    found = problems(bag)
    path.write_bytes(whole)

    assert found == [f"changed: signature.json: {words}"]


@pytest.mark.parametrize("name", ["tagmanifest-sha256.txt", "manifest-sha256.txt"])
def test_a_list_that_is_gone_is_missing(bag: Path, name: str) -> None:
    """Not 'changed'."""
    path = bag / name
    whole = path.read_bytes()
    path.unlink()
    found = problems(bag)
    path.write_bytes(whole)

    assert found == [f"missing: {name}"]


@pytest.mark.parametrize("name", [".DS_Store", "data/Thumbs.db", "data/evidence/desktop.ini"])
def test_a_file_of_the_system_is_named_as_that(bag: Path, name: str) -> None:
    """It was added and counts as added; a person need not think of a forger."""
    (bag / name).write_bytes(b"x")
    found = problems(bag)
    (bag / name).unlink()

    assert found == [f"not listed: {name} (the system may have put it there)"]


def test_a_thousand_changed_bytes_are_each_named(bag: Path) -> None:
    """Wherever the byte lies: its file is named, or what can be concluded from the lists."""
    chance = random.Random(20310314)
    files = sorted(each for each in bag.rglob("*") if each.is_file())
    unnamed = []
    for _ in range(TAMPERS):
        path = chance.choice(files)
        whole = path.read_bytes()
        bent = bytearray(whole)
        bent[chance.randrange(len(bent))] ^= chance.randrange(1, 256)
        path.write_bytes(bent)
        found = problems(bag)
        path.write_bytes(whole)
        if not any(path.name in line for line in found):
            unnamed.append((path.name, found))
    assert unnamed == []
    assert problems(bag) == []


def rewrite(bag: Path, name: str, change: Callable[[dict[str, object]], object]) -> list[str]:
    """Change the signature file as a forger would, look, and put it back."""
    path = bag / name
    whole = path.read_bytes()
    said = json.loads(whole)
    change(said)
    path.write_bytes(json.dumps(said, sort_keys=True, separators=(",", ":")).encode() + b"\n")
    found = problems(bag)
    path.write_bytes(whole)
    return found


def test_each_part_of_the_signature_is_under_it(bag: Path) -> None:
    """The history's head, the key, the digest: none is changed without another being wrong."""
    other = public_hex(Ed25519PrivateKey.from_private_bytes(bytes(32)))
    changes: list[Callable[[dict[str, object]], object]] = [
        lambda said: said.update(history={**dict(said["history"]), "entries": 811}),  # type: ignore[call-overload]
        lambda said: said.update(public_key=other),
        lambda said: said.update(key_id="0" * 16),
        lambda said: said.update(tagmanifest_sha256="0" * 64),
        lambda said: said.update(signature="0" * 128),
        lambda said: said.update(more=1),
        lambda said: said.pop("history"),
    ]
    for change in changes:
        assert rewrite(bag, "signature.json", change) != []


def test_lists_made_anew_do_not_fit_the_signature(bag: Path) -> None:
    """Who changes a file and both lists cannot sign: the list is named as changed."""
    names = ("data/quantities.csv", "manifest-sha256.txt", "tagmanifest-sha256.txt")
    path, manifest, tags = (bag / name for name in names)
    before = {each: each.read_bytes() for each in (path, manifest, tags)}
    for changed, its_list in ((path, manifest), (manifest, tags)):
        old = hashlib.sha256(before[changed]).hexdigest()
        if changed is path:
            changed.write_bytes(before[path].replace(b"1", b"9"))
        new = hashlib.sha256(changed.read_bytes()).hexdigest()
        its_list.write_bytes(its_list.read_bytes().replace(old.encode(), new.encode()))
    found = problems(bag)
    for each, content in before.items():
        each.write_bytes(content)

    assert found == ["changed: tagmanifest-sha256.txt"]


def test_a_signature_taken_away_is_missed(bag: Path) -> None:
    """The bag's own list says that there is one."""
    path = bag / "signature.json"
    whole = path.read_bytes()
    path.unlink()
    found = problems(bag)
    path.write_bytes(whole)

    assert found == ["missing: signature.json"]


def test_the_same_seal_is_the_same_bytes() -> None:
    """Ed25519 signatures have no chance in them, so a package built twice is one package."""
    assert signature_json("ab" * 32, seal_of(SECRET)) == signature_json("ab" * 32, seal_of(SECRET))
