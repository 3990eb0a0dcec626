"""What the outside world knows: which writes were accepted, what was told, who held what how long.

Kept outside the system under test and compared with it in the end.
"""

import http.client
import math
import threading
import time
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from typing import Any

from tests.faults.killable.consequences import CONSEQUENCES
from tests.faults.place import Place

BUSY = 503


class Writers:
    """People who send letters until each is accepted, the same one again after each failure."""

    def __init__(self, port: int, *, people: int = 3, pause_s: float = 0.1) -> None:
        """Start writing."""
        self.accepted: list[str] = []
        self.answers: Counter[str] = Counter()
        self._port, self._pause_s = port, pause_s
        self._over = threading.Event()
        self._threads = [
            threading.Thread(target=self._write, args=(who,), daemon=True) for who in range(people)
        ]
        for thread in self._threads:
            thread.start()

    def stop(self) -> None:
        """Let each finish the letter in hand."""
        self._over.set()
        for thread in self._threads:
            thread.join(timeout=60)

    def _write(self, who: int) -> None:
        number = 0
        while not self._over.wait(self._pause_s):
            number += 1
            key = f"letter-{who}-{number}"
            while not self._send(key):
                time.sleep(0.1)
            self.accepted.append(key)

    def _send(self, key: str) -> bool:
        door = http.client.HTTPConnection("127.0.0.1", self._port, timeout=10)
        try:
            door.request("POST", "/letters", body=key.encode())
            status = door.getresponse().status
        except (OSError, http.client.HTTPException):
            self.answers["no answer"] += 1
            return False
        finally:
            door.close()
        self.answers[str(status)] += 1
        return status in (200, 201)


@dataclass
class Held:
    """A lease as it was seen: from when until when, and how much of that nobody was at work."""

    first_s: float
    last_s: float
    silent_at_first_s: float
    silent_at_last_s: float

    @property
    def seen_s(self) -> float:
        """How long it lasted."""
        return self.last_s - self.first_s

    @property
    def attended_s(self) -> float:
        """How long it lasted, without the time in which nobody could have taken it over."""
        return self.seen_s - (self.silent_at_last_s - self.silent_at_first_s)


class Leases:
    """Watches how long a row stays under one lease: an orphan's is its time until taken up.

    It also adds up the time in which no runner of one of the lanes beat its heart, or the
    database did not answer: the promise is made for whoever lives.
    """

    LOOK_EVERY_S = 0.2
    SILENT_AFTER_S = 1.5
    """A living ticker of one second beats at least every 1.2 s."""
    ASK = (
        "SELECT (SELECT max(beat_at) FROM duework_runnerheartbeat WHERE runner LIKE '%:quick'), "
        "(SELECT max(beat_at) FROM duework_runnerheartbeat WHERE runner LIKE '%:slow')"
    )

    def __init__(self, place: Place) -> None:
        """Start watching."""
        self._place = place
        self._seen: dict[object, Held] = {}
        self._beats: tuple[object, ...] = ()
        self._beat_s = [time.monotonic()] * 2
        self.silent_s = 0.0
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._watch, daemon=True)
        self._thread.start()

    def database_fell(self) -> None:
        """Count nobody as alive until each lane has beaten again: the server ended all they did."""
        self._beat_s = [-math.inf] * 2

    def stop(self) -> list[Held]:
        """Return what was seen of each lease."""
        self._over.set()
        self._thread.join(timeout=30)
        return list(self._seen.values())

    def _watch(self) -> None:
        ask = "SELECT lease_token FROM duework_workitem WHERE state = 'leased'"
        before = time.monotonic()
        while not self._over.wait(self.LOOK_EVERY_S):
            try:
                (beats,), rows = self._place.rows(self.ASK), self._place.rows(ask)
            # The server is recovering: what it held is still held when it is back.
            except Exception:  # noqa: BLE001 - whatever the driver raises
                beats, rows = self._beats, []
            now = time.monotonic()
            if self._silent(beats, now):
                self.silent_s += now - before
            before = now
            for (token,) in rows:
                held = self._seen.setdefault(token, Held(now, now, self.silent_s, self.silent_s))
                held.last_s, held.silent_at_last_s = now, self.silent_s

    def _silent(self, beats: tuple[object, ...], now: float) -> bool:
        for lane, beat in enumerate(beats):
            if self._beats and beat != self._beats[lane]:
                self._beat_s[lane] = now
        self._beats = beats
        return now - min(self._beat_s) > self.SILENT_AFTER_S


@dataclass
class Account:
    """What came of it; `broken` names each promise that was not kept."""

    kills: Counter[str]
    accepted: int
    answers: Counter[str]
    items: int
    tried_again: int
    told: int
    told_again: int
    orphans: list[Held]
    silent_s: float
    unhealthy: int
    earliest_s: float
    broken: list[str] = field(default_factory=list)
    late_s: list[float] = field(default_factory=list)
    """Orphans that were taken up later than promised; a busy machine may do that."""

    def text(self) -> str:
        """Return the figures, one a line."""
        shot = ", ".join(f"{count} {name}" for name, count in sorted(self.kills.items()))
        answers = ", ".join(f"{count} x {name}" for name, count in sorted(self.answers.items()))
        longest = max((each.seen_s for each in self.orphans), default=0.0)
        attended = max((each.attended_s for each in self.orphans), default=0.0)
        lines = [
            f"kills             {self.kills.total()}: {shot}",
            f"accepted writes   {self.accepted} (answers: {answers})",
            f"items of work     {self.items}, of these {self.tried_again} needed another attempt",
            f"told outside      {self.told}, of these {self.told_again} again, under the same id",
            f"orphans           {len(self.orphans)}, taken up after at most {longest:.1f} s",
            f"  runner alive    {attended:.1f} s of it at most; too late {len(self.late_s)}",
            f"nobody at work    {self.silent_s:.0f} s in all",
            f"web, deaf         {self.unhealthy} times a server that lived but did not listen",
            f"earliest          {self.earliest_s:.3f} s after it was due",
            f"broken promises   {'; '.join(self.broken) or 'none'}",
        ]
        return "\n".join(lines)


def settle(
    place: Place,
    writers: Writers,
    leases: Leases,
    kills: Counter[str],
    *,
    unhealthy: int,
    taken_up_within_s: float,
) -> Account:
    """Compare the world's ledger with the database, item by item."""
    held = leases.stop()
    # Who lives needs milliseconds; a lease seen for longer than this was an orphan's.
    orphans = [each for each in held if each.seen_s > 1.0]
    stored = {str(key) for (key,) in place.rows_at_last("SELECT key FROM killable_letter")}
    marks = Counter(
        str(key) for (key,) in place.rows_at_last("SELECT dedupe_key FROM killable_mark")
    )
    effects = Counter(
        str(key) for (key,) in place.rows_at_last("SELECT dedupe_key FROM duework_effect")
    )
    again = _number(place, "SELECT count(*) FROM duework_workitem WHERE attempts > 1")
    earliest = _number(place, "SELECT min(late_s) FROM killable_mark")
    told, ids = _told(place)
    wanted = Counter(f"{key}:{name}" for key in stored for name in CONSEQUENCES)
    checks: dict[str, Any] = {
        "accepted but lost": set(writers.accepted) - stored,
        "accepted, work not done": wanted - marks,
        "done more than once": marks - wanted,
        "effects do not match": (effects - wanted) + (wanted - effects),
        "told under two ids": {key for key, found in ids.items() if len(found) > 1},
        "not told": {f"{key}:outside" for key in stored} - set(told),
        "answers that are neither success nor 503": {
            name for name in writers.answers if name not in ("200", "201", "503", "no answer")
        },
        "done early": {earliest} if earliest < 0 else set(),
    }
    return Account(
        kills=kills,
        unhealthy=unhealthy,
        accepted=len(writers.accepted),
        answers=writers.answers,
        items=len(wanted),
        tried_again=int(again),
        told=len(told),
        told_again=sum(1 for count in told.values() if count > 1),
        orphans=orphans,
        silent_s=leases.silent_s,
        earliest_s=earliest,
        late_s=[each.attended_s for each in orphans if each.attended_s > taken_up_within_s],
        broken=[f"{name}: {sorted(map(str, bad))[:5]}" for name, bad in checks.items() if bad],
    )


def _number(place: Place, sql: str) -> float:
    ((found,),) = place.rows_at_last(sql)
    return float(str(found or 0))


def _told(place: Place) -> tuple[Counter[str], dict[str, set[str]]]:
    told: Counter[str] = Counter()
    ids: dict[str, set[str]] = defaultdict(set)
    for line in (place.folder / "outside").read_text().splitlines():
        subject, key, _attempt = line.split()
        told[key] += 1
        ids[subject].add(key)
    return told, ids
