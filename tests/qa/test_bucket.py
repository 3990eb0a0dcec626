"""Sealed files in a bucket: a local S3 server (moto), spoken to as to any other."""

import hashlib
from collections.abc import Iterator
from pathlib import Path

import boto3
import pytest
from django.core.files.storage import storages
from django.test import override_settings
from moto.server import ThreadedMotoServer

from qa.sealed_files import keep, lasting_sha256, package_path, path_of, seal, sealed_key

pytestmark = pytest.mark.slow
BYTES = b"invented film" * 50_000
SHA256 = hashlib.sha256(BYTES).hexdigest()


@pytest.fixture
def bucket(tmp_path: Path) -> Iterator[tuple[object, Path]]:
    """Return an empty bucket and the media folder of a server that uses it."""
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    options = {
        "bucket_name": "proof",
        "endpoint_url": f"http://{host}:{port}",
        "region_name": "us-east-1",
        "access_key": "invented",
        "secret_key": "invented",
        "default_acl": None,
        "file_overwrite": True,
    }
    client = boto3.client(
        "s3",
        endpoint_url=options["endpoint_url"],
        region_name="us-east-1",
        aws_access_key_id="invented",
        aws_secret_access_key="invented",
    )
    client.create_bucket(Bucket="proof")
    sealed = {"BACKEND": "storages.backends.s3.S3Storage", "OPTIONS": options}
    media = tmp_path / "media"
    with override_settings(MEDIA_ROOT=media, STORAGES={**storages.backends, "sealed": sealed}):
        yield client, media
    server.stop()


def test_sealed_bytes_last_in_the_bucket(bucket: tuple[object, Path]) -> None:
    """They are there when seal returns; a second server without the folder fetches them."""
    client, media = bucket
    sealed = seal([BYTES[:1000], BYTES[1000:]], most_bytes=10**7)
    key = f"sealed/{SHA256[:2]}/{SHA256}"

    there = client.get_object(Bucket="proof", Key=key)["Body"].read()  # type: ignore[attr-defined]
    path_of(SHA256).unlink()

    assert sealed.sha256 == SHA256
    assert there == BYTES
    assert path_of(SHA256).read_bytes() == BYTES
    assert [path.name for path in (media / "sealed" / SHA256[:2]).iterdir()] == [SHA256]


def test_a_package_lasts_there_too(bucket: tuple[object, Path]) -> None:
    """Kept once it is built; fetched again by whoever has not built it."""
    _, media = bucket
    package = media / "packages" / "a.zip"
    package.parent.mkdir(parents=True)
    package.write_bytes(BYTES)

    keep("packages/a.zip")
    package.unlink()

    assert package_path("packages/a.zip").read_bytes() == BYTES


def test_what_is_read_back_is_the_buckets_copy(bucket: tuple[object, Path]) -> None:
    """The folder's copy is whole, and the one that lasts is not: that is what counts."""
    client, _ = bucket
    seal([BYTES], most_bytes=10**7)
    assert lasting_sha256(sealed_key(SHA256)) == SHA256

    client.put_object(  # type: ignore[attr-defined]
        Bucket="proof", Key=sealed_key(SHA256), Body=b"changed"
    )

    assert lasting_sha256(sealed_key(SHA256)) == hashlib.sha256(b"changed").hexdigest()
    client.delete_object(Bucket="proof", Key=sealed_key(SHA256))  # type: ignore[attr-defined]
    assert lasting_sha256(sealed_key(SHA256)) is None


def test_what_was_never_sealed_is_nowhere(bucket: tuple[object, Path]) -> None:
    """The path is told, and nothing lies there."""
    assert bucket
    assert not path_of("0" * 64).exists()
