"""signature.json: the contractor's signature over the lists of hashes, and the history's head."""

from collections.abc import Callable
from dataclasses import dataclass

from qa.domain.history import Checkpoint, canonical
from repairs.domain.plain import stamp

SIGNATURE_FORMAT = "curewright-signature-1"
FILE_NAME = "signature.json"


@dataclass(frozen=True, slots=True)
class Seal:
    """Who signs, and where the history stood when the package was ordered.

    Parameters
    ----------
    sign : callable
        Takes a message and returns its signature in hexadecimal digits, the same each time.
    """

    key_id: str
    public_hex: str
    checkpoint: Checkpoint
    sign: Callable[[bytes], str]


def signature_json(tagmanifest_sha256: str, seal: Seal) -> bytes:
    """Return the file: everything in it but the signature itself is what is signed.

    Canonical JSON and one line feed, so that not a byte of it can change unnoticed.
    """
    checkpoint = seal.checkpoint
    said: dict[str, object] = {
        "algorithm": "Ed25519 (RFC 8032)",
        "format": SIGNATURE_FORMAT,
        "history": {
            "entries": checkpoint.entries,
            "head": checkpoint.head,
            "key_id": checkpoint.key_id,
            "made_at": stamp(checkpoint.made_at),
            "signature": checkpoint.signature,
        },
        "key_id": seal.key_id,
        "public_key": seal.public_hex,
        "signs": "tagmanifest-sha256.txt",
        "tagmanifest_sha256": tagmanifest_sha256,
    }
    return canonical({**said, "signature": seal.sign(canonical(said))}) + b"\n"
