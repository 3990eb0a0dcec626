"""Bytes of a text file to text, by the mark at its beginning."""

import codecs

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


def decoded(content: bytes) -> str | None:
    """Return the text, or None when it is neither UTF-8 nor marked UTF-16.

    Source: The Unicode Standard, byte order marks. Some spreadsheets and loggers for
    Windows write UTF-16.
    """
    code = next((code for mark, code in _MARKS if content.startswith(mark)), "utf-8")
    try:
        return content.decode(code)
    except UnicodeDecodeError:
        return None
