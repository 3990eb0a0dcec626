"""Everybody who acts on the invented day, and what they have made so far."""

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from config.demo import town
from config.demo.account import Account
from config.demo.field_work import Notebook
from config.demo.visitor import Visitor

PATIENCE_S = 25.0
CREWS = ("NORTH", "SOUTH")
EXPIRED_LOT = "LOT-OLD"
GOOD_LOT = "LOT-A1"


@dataclass
class Day:
    """Everybody who acts, and what they have made so far."""

    base_url: str
    passwords: dict[str, str]
    folder: Path
    account: Account
    now: datetime
    on_posting: Callable[[], None] = lambda: None
    visitors: dict[str, Visitor] = field(default_factory=dict)
    repairs: dict[str, dict[str, Any]] = field(default_factory=dict)
    masses: dict[str, tuple[float, float]] = field(default_factory=dict)
    books: dict[str, Notebook] = field(default_factory=dict)
    packages: dict[str, Path] = field(default_factory=dict)

    @property
    def zone(self) -> ZoneInfo:
        """The invented town's time zone."""
        return ZoneInfo(town.zone_of(self.now))

    def hour(self, at: datetime | str | None) -> str:
        """Return an instant as the town's clocks show it."""
        if at is None:
            return "not known"
        moment = datetime.fromisoformat(at) if isinstance(at, str) else at
        return f"{moment.astimezone(self.zone):%H:%M}"

    def visitor(self, name: str) -> Visitor:
        """Return a user who has come in already."""
        return self.visitors[name]

    def all_read(self) -> bool:
        """Whether the worker has read every file that was handed in."""
        dora = self.visitor("dora")
        return all(
            row["read_at"]
            for repair in self.repairs.values()
            for row in dora.get("/evidence", repair=repair["id"])
        )


def spans(day: Day) -> Iterator[tuple[str, str, datetime, datetime]]:
    """Return who does what when: three repairs a crew, the last one still under pressure."""
    for crew, ref, minutes_ago in (
        ("NORTH", "R-1", 700),
        ("SOUTH", "R-3", 560),
        ("NORTH", "R-2", 470),
        ("SOUTH", "R-4", 330),
        ("NORTH", "R-5", 240),
        ("SOUTH", "R-6", 92),
    ):
        start = day.now - timedelta(minutes=minutes_ago)
        yield ref, crew, start, start + timedelta(minutes=226)


def wait_for(done: Callable[[], bool], what: str) -> None:
    """Wait for the worker; TimeoutError when it takes too long."""
    deadline = time.monotonic() + PATIENCE_S
    while not done():
        if time.monotonic() > deadline:
            raise TimeoutError(f"waited {PATIENCE_S:.0f} s for {what}")
        time.sleep(0.2)
