"""What a series says of itself: facts in ``qa.domain.series``; derived: its numbers, packed."""

import encodings.utf_8_sig
import encodings.utf_16
from typing import BinaryIO

from qa.domain.pressure_csv import PressureLogError
from qa.domain.series import packed, parse_series, series_facts
from qa.domain.series_decoding import decoded
from qa.probe.found import Found
from qa.probe.problem import FileProblem

LOADED = (encodings.utf_8_sig, encodings.utf_16)
"""Python loads these when first asked; once the file is open, nothing can be loaded."""

LONGEST_BYTES = 100 * 2**20
MOST_ROWS = 2_000_000
"""A reading each second for three weeks."""


def read(file: BinaryIO) -> Found:
    """Return what is known of the log; FileProblem when it cannot serve."""
    content = file.read(LONGEST_BYTES + 1)
    if len(content) > LONGEST_BYTES:
        raise FileProblem("The log is larger than 100 MiB; cut it to the day of the repair.")
    text = decoded(content)
    if text is None:
        raise FileProblem("The file is no UTF-8 text.")
    try:
        log = parse_series(text)
    except PressureLogError as error:
        raise FileProblem(str(error)) from None
    if log.times_s.size > MOST_ROWS:
        raise FileProblem("The log has over two million rows; cut it to the day of the repair.")
    return Found(series_facts(log), packed(log))
