"""Three requirement sets as examples, with each limit's source beside it; nobody's contract."""

import json
from functools import cache
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent


@cache
def example_sets() -> dict[str, dict[str, Any]]:
    """Return the examples by name: strict_municipal, lateral, minimal."""
    return {
        path.stem: json.loads(path.read_text(encoding="utf-8"))
        for path in sorted(FOLDER.glob("*.json"))
    }
