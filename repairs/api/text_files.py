"""Files of text that somebody wrote in a spreadsheet."""

from django.core.files.uploadedfile import UploadedFile

from repairs.domain.order_file import SAVE_AS
from repairs.domain.problem import Fault, malformed

LARGEST_FILE_BYTES = 10_000_000


def text_of(upload: UploadedFile) -> str:
    """Return a file's text, without the mark a spreadsheet puts before it.

    Raises
    ------
    Refused
        When it is too large or no UTF-8 text.
    """
    size = upload.size or 0
    if size > LARGEST_FILE_BYTES:
        raise malformed(Fault("file", f"{size} bytes", f"at most {LARGEST_FILE_BYTES} bytes"))
    try:
        return str(upload.read(), "utf-8-sig")
    except UnicodeDecodeError as error:
        raise malformed(Fault("file", "no UTF-8 text", SAVE_AS)) from error
