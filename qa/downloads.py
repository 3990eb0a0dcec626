"""A package as a download: whole, or from where a broken one ended."""

from io import BufferedReader
from pathlib import Path

from django.http import FileResponse, HttpResponse, HttpResponseBase

from qa.domain.byte_range import NotInFileError, Part, part_asked

ZIP = "application/zip"


class _Part:
    """So many bytes of an open file, and no more."""

    def __init__(self, file: BufferedReader, part: Part) -> None:
        file.seek(part.first)
        self._file, self._left = file, part.length

    def read(self, size: int = -1) -> bytes:
        """Return the next bytes."""
        content = self._file.read(self._left if size < 0 else min(size, self._left))
        self._left -= len(content)
        return content

    def close(self) -> None:
        """Close the file."""
        self._file.close()


def download(
    path: Path, *, file_name: str, sha256: str, asked: str = "", if_range: str = ""
) -> HttpResponseBase:
    """Answer with a package.

    Parameters
    ----------
    sha256
        Names the bytes (ETag): whoever goes on with other bytes gets the whole (`if_range`).
    asked, if_range
        The headers Range and If-Range, as they came.
    """
    etag, size = f'"{sha256}"', path.stat().st_size
    try:
        part = part_asked(asked, size) if if_range in ("", etag) else None
    except NotInFileError:
        refused = HttpResponse(status=416)
        refused["Content-Range"] = f"bytes */{size}"
        return refused
    file = path.open("rb")
    given = file if part is None else _Part(file, part)
    response = FileResponse(given, as_attachment=True, filename=file_name, content_type=ZIP)
    response["Accept-Ranges"], response["ETag"] = "bytes", etag
    if part is not None:
        response.status_code = 206
        response["Content-Length"] = str(part.length)
        response["Content-Range"] = f"bytes {part.first}-{part.last}/{size}"
    return response


def begins(asked: str) -> bool:
    """Return whether a request begins a download; what goes on with one is no new use of a link."""
    return not asked.strip() or asked.replace(" ", "").lower().startswith("bytes=0-")
