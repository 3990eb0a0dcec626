"""Files come over whole, however often the line is cut and the server killed."""

from pathlib import Path

import pytest

from tests.faults.cut_uploads import run

pytestmark = pytest.mark.slow


def test_cut_and_killed_uploads_arrive_whole(tmp_path: Path) -> None:
    """Twenty cuts and kills, the short form of ``python -m tests.faults.cut_uploads``.

    A server that is killed loses what lay in its sockets; nothing else is sent twice: at most
    5 % and a block a cut.
    """
    found = run(20, 3, tmp_path)

    assert found.wrong == 0
    assert found.files >= 2
    assert found.sent_again_bytes <= found.allowed_again_bytes
