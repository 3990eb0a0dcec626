"""A field client to copy from: writes down without a signal, sends when there is one.

Nothing but Python's standard library. Everything a crew reports goes into a file on the
phone first (SQLite), is sent whenever `sync` is called, and is struck off only once the
server has answered for it by itself. Ends of lines, dead batteries and repeats are harmless:
an event's id is its key for ever, and a file goes on where its bytes end.

    python -m docs.field_client --help
"""

import argparse
import hashlib
import json
import sqlite3
import sys
from base64 import b64encode
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from typing import Any, NamedTuple
from urllib.error import HTTPError, URLError
from urllib.parse import quote
from urllib.request import Request, urlopen
from uuid import uuid4
from zoneinfo import ZoneInfo

BATCH = 500
PIECE = 1_000_000
"""Bytes of a file in one request: what a cut costs at most."""
TIMEOUT_S = 60
SCHEMA = """
CREATE TABLE IF NOT EXISTS settings (name TEXT PRIMARY KEY, value TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS events (
    number INTEGER PRIMARY KEY AUTOINCREMENT, body TEXT NOT NULL,
    state TEXT NOT NULL DEFAULT 'waiting', told TEXT NOT NULL DEFAULT '');
CREATE TABLE IF NOT EXISTS files (
    number INTEGER PRIMARY KEY AUTOINCREMENT, path TEXT NOT NULL, words TEXT NOT NULL,
    size INTEGER NOT NULL, address TEXT NOT NULL DEFAULT '',
    state TEXT NOT NULL DEFAULT 'waiting', told TEXT NOT NULL DEFAULT '');
CREATE TABLE IF NOT EXISTS repairs (id TEXT PRIMARY KEY, state TEXT NOT NULL);
"""


UNAUTHORIZED, TOO_MANY = 401, 429


class LockedOutError(Exception):
    """The token opens no door any more; everything stays here, and trying again does not help."""


class NoSignalError(Exception):
    """The server was not reached; everything stays where it is."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What the server said."""

    status: int
    headers: Mapping[str, str]
    body: bytes

    def json(self) -> Any:
        """Return the body as JSON; None without one."""
        return json.loads(self.body) if self.body else None


class WaitingFile(NamedTuple):
    """A file that was written down, and where its upload goes on, if it was begun."""

    number: int
    path: str
    words: str
    size: int
    address: str


@dataclass(slots=True)
class Synced:
    """What a sync did."""

    events: int = 0
    kept_aside: int = 0
    files: int = 0
    refused_files: int = 0
    changed: int = 0


class FieldClient:
    """One phone: its queue on disk, and its way to the server."""

    def __init__(self, store: Path) -> None:
        self.db = sqlite3.connect(store, isolation_level=None)
        # What was written down must survive an empty battery.
        self.db.executescript(f"PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; {SCHEMA}")

    def set_up(self, *, url: str, token: str, device: str) -> None:
        """Say where the server is, and who this phone is."""
        for name, value in (("url", url.rstrip("/")), ("token", token), ("device", device)):
            self._set(name, value)

    # --- writing down: no network needed ------------------------------------------------

    def report(
        self,
        kind: str,
        repair: str,
        data: Mapping[str, Any] | None = None,
        *,
        at: datetime | None = None,
        corrects: str | None = None,
    ) -> str:
        """Write an event down and return its id; `at` is now by this phone's clock."""
        when = at or datetime.now().astimezone()
        if when.tzinfo is None:
            raise ValueError("at: a time without its zone says nothing")
        event: dict[str, Any] = {
            "specversion": "1.0",
            "id": str(uuid4()),
            "source": self._get("device"),
            "type": f"curewright.field.{kind}",
            "subject": repair,
            "time": when.isoformat(),
            "data": dict(data or {}),
        }
        if corrects is not None:
            event["corrects"] = corrects
        with self.db:
            self.db.execute("BEGIN IMMEDIATE")
            number = self.db.execute("INSERT INTO events (body) VALUES ('')").lastrowid
            # The counter orders this phone's events even when its clock is set meanwhile.
            event["sequence"] = number
            body = json.dumps(event)
            self.db.execute("UPDATE events SET body = ? WHERE number = ?", (body, number))
        return str(event["id"])

    def hand_in(
        self, path: Path, kind: str, repair: str, *, at: datetime | None = None, title: str = ""
    ) -> None:
        """Write down that a file is to be handed in; it must stay where it is until then."""
        with path.open("rb") as file:
            sha256 = hashlib.file_digest(file, "sha256").hexdigest()
        words = {
            "repair": repair,
            "kind": kind,
            "filename": path.name,
            "title": title,
            "device": self._get("device"),
            "captured_at": at.isoformat() if at else "",
            "sha256": sha256,
        }
        self.db.execute(
            "INSERT INTO files (path, words, size) VALUES (?, ?, ?)",
            (str(path.resolve()), json.dumps(words), path.stat().st_size),
        )

    # --- sending, whenever there is a signal ----------------------------------------------

    def sync(self) -> Synced:
        """Send what waits, oldest first, then ask what others changed.

        Raises
        ------
        NoSignalError
            The line broke. What was answered for is struck off, the rest waits.
        """
        done = Synced()
        self._send_events(done)
        for waiting in self._waiting_files():
            self._send_file(waiting, done)
        self._ask_changes(done)
        return done

    def waiting(self) -> tuple[int, int]:
        """Return how many events and files wait."""
        counts = (
            self.db.execute(f"SELECT count(*) FROM {table} WHERE state = 'waiting'").fetchone()[0]  # noqa: S608
            for table in ("events", "files")
        )
        events, files = counts
        return events, files

    def repairs(self) -> list[dict[str, Any]]:
        """Return the crew's repairs as they were last told."""
        rows = self.db.execute("SELECT state FROM repairs ORDER BY id")
        return [json.loads(state) for (state,) in rows]

    def refused(self, *, anew: bool = False) -> list[tuple[str, str]]:
        """Return what the server could not take, and why; the server keeps the events too.

        With `anew` only what was not asked for before: each is shown once.
        """
        found: list[tuple[str, str]] = []
        for table, what, state in (
            ("events", "body", "kept aside"),
            ("files", "path", "refused"),
        ):
            wanted = (state,) if anew else (state, f"{state}, shown")
            marks = ", ".join("?" * len(wanted))
            query = f"SELECT {what}, told FROM {table} WHERE state IN ({marks})"  # noqa: S608
            found += self.db.execute(query, wanted).fetchall()
            if anew:
                seen = f"UPDATE {table} SET state = ? WHERE state = ?"  # noqa: S608 - our own names
                self.db.execute(seen, (f"{state}, shown", state))
        return found

    def _send_events(self, done: Synced) -> None:
        while rows := self.db.execute(
            "SELECT number, body FROM events WHERE state = 'waiting' ORDER BY number LIMIT ?",
            (BATCH,),
        ).fetchall():
            body = f"[{','.join(body for _, body in rows)}]".encode()
            answer = self._ask(
                "POST",
                "/field-events",
                body,
                {"Content-Type": "application/cloudevents-batch+json"},
            )
            if answer.status != 200:  # noqa: PLR2004 - HTTP
                raise NoSignalError(f"{answer.status}: {answer.body[:200]!r}")
            for (number, _), told in zip(rows, answer.json(), strict=True):
                stored = told["status"] in ("stored", "already there")
                done.events += stored
                done.kept_aside += not stored
                self._settle("events", number, "sent" if stored else "kept aside", json.dumps(told))

    def _waiting_files(self) -> list[WaitingFile]:
        rows = self.db.execute(
            "SELECT number, path, words, size, address FROM files WHERE state = 'waiting' "
            "ORDER BY number"
        )
        return [WaitingFile(*row) for row in rows]

    def _send_file(self, file: WaitingFile, done: Synced) -> None:
        """Begin an upload or go on with it: the server says where its bytes end."""
        answer = self._ask("HEAD", file.address) if file.address else self._begin(file)
        if answer.status in (404, 410):
            answer = self._begin(file)
        address = answer.headers.get("location", file.address)
        offset = int(answer.headers.get("upload-offset", 0))
        while answer.status < 300 and offset < file.size:  # noqa: PLR2004 - HTTP
            answer = self._send_piece(file, address, offset)
            if answer.status == 409:  # noqa: PLR2004 - HTTP: the bytes end elsewhere, ask where
                answer = self._ask("HEAD", address)
            offset = int(answer.headers.get("upload-offset", offset))
        taken = answer.status < 300  # noqa: PLR2004 - HTTP
        done.files += taken
        done.refused_files += not taken
        told = "" if taken else answer.body.decode()
        self._settle("files", file.number, "sent" if taken else "refused", told)

    def _begin(self, file: WaitingFile) -> Answer:
        words = json.loads(file.words).items()
        told = ",".join(f"{key} {b64encode(v.encode()).decode()}" for key, v in words if v)
        headers = {"Upload-Length": str(file.size), "Upload-Metadata": told}
        answer = self._ask("POST", "/uploads", b"", headers)
        # Kept at once: after a cut the upload goes on instead of beginning anew.
        self.db.execute(
            "UPDATE files SET address = ? WHERE number = ?",
            (answer.headers.get("location", ""), file.number),
        )
        return answer

    def _send_piece(self, file: WaitingFile, address: str, offset: int) -> Answer:
        with Path(file.path).open("rb") as source:
            source.seek(offset)
            piece = source.read(PIECE)
        kind = {"Content-Type": "application/offset+octet-stream", "Upload-Offset": str(offset)}
        return self._ask("PATCH", address, piece, kind)

    def _ask_changes(self, done: Synced) -> None:
        answer = self._ask("GET", f"/changes?since={quote(self._get('cursor', ''))}")
        if answer.status != 200:  # noqa: PLR2004 - HTTP
            raise NoSignalError(f"{answer.status}: {answer.body[:200]!r}")
        told = answer.json()
        with self.db:
            self.db.execute("BEGIN IMMEDIATE")
            for state in told["repairs"]:
                row = (state["id"], json.dumps(state))
                self.db.execute("INSERT OR REPLACE INTO repairs VALUES (?, ?)", row)
            for gone in told["gone"]:
                self.db.execute("DELETE FROM repairs WHERE id = ?", (gone,))
            self._set("cursor", told["cursor"])
        done.changed = len(told["repairs"]) + len(told["gone"])

    # --- the wire ---------------------------------------------------------------------------

    def _ask(
        self, method: str, where: str, body: bytes | None = None, more: dict[str, str] | None = None
    ) -> Answer:
        url = where if "://" in where else f"{self._get('url')}/api/v1{where}"
        headers = {
            "Authorization": f"Bearer {self._get('token')}",
            "Tus-Resumable": "1.0.0",
            # The server measures how far this clock is off from what it says now.
            "Device-Time": datetime.now().astimezone().isoformat(),
            **(more or {}),
        }
        request = Request(url, body, headers, method=method)  # noqa: S310 - the crew's own server
        try:
            with urlopen(request, timeout=TIMEOUT_S) as said:  # noqa: S310 - as above
                return Answer(said.status, _lower(said.headers), said.read())
        except HTTPError as error:
            if error.code == UNAUTHORIZED:
                words = json.loads(error.read() or b"{}").get("detail", "the token is not known")
                raise LockedOutError(words) from error
            if error.code >= 500 or error.code == TOO_MANY:  # noqa: PLR2004 - HTTP
                raise NoSignalError(f"{error.code}: try again later") from error
            return Answer(error.code, _lower(error.headers), error.read())
        except (URLError, OSError) as error:
            raise NoSignalError(str(error)) from error

    def _settle(self, table: str, number: int, state: str, told: str) -> None:
        self.db.execute(
            f"UPDATE {table} SET state = ?, told = ? WHERE number = ?",  # noqa: S608 - our own names
            (state, told, number),
        )

    def _get(self, name: str, default: str | None = None) -> str:
        row = self.db.execute("SELECT value FROM settings WHERE name = ?", (name,)).fetchone()
        if row is None and default is None:
            raise SystemExit(f"{name} is not set: call set-up first")
        return str(row[0]) if row else str(default)

    def _set(self, name: str, value: str) -> None:
        self.db.execute("INSERT OR REPLACE INTO settings VALUES (?, ?)", (name, value))


def _lower(headers: Any) -> dict[str, str]:
    return {name.lower(): value for name, value in headers.items()}


def main(arguments: list[str] | None = None) -> int:
    """Run one command; 0 when it was done, 1 when there was no signal."""
    asked = _parser().parse_args(arguments)
    client = FieldClient(asked.store)
    say = sys.stdout.write
    if asked.command == "set-up":
        client.set_up(url=asked.url, token=asked.token, device=asked.device)
        say("this phone is set up\n")
    elif asked.command == "report":
        say(f"{client.report(asked.kind, asked.repair, asked.data, at=asked.at)}\n")
    elif asked.command == "hand-in":
        client.hand_in(asked.file, asked.kind, asked.repair, at=asked.at)
        say(f"{asked.file.name} waits to be sent\n")
    elif asked.command == "show":
        say("".join(_told(repair) for repair in client.repairs()) or "nothing yet: sync first\n")
    else:
        try:
            done = client.sync()
        except NoSignalError as error:
            say(f"no signal ({error}); {_queue(client)}\n")
            return 1
        except LockedOutError as error:
            say(f"this phone is locked out ({error}): ask the dispatcher; {_queue(client)}\n")
            return 1
        say(
            f"sent {done.events} events and {done.files} files; kept aside {done.kept_aside}, "
            f"refused {done.refused_files} files; {done.changed} repairs changed\n"
        )
        for what, why in client.refused(anew=True):
            say(f"  not taken: {_what(what)}\n    {_why(why)}\n")
    return 0


def _told(repair: dict[str, Any]) -> str:
    """Show a repair: its id, its stage, until when it must be held, what is missing."""
    missing = "; ".join(each["title"] for each in repair["missing"]) or "nothing"
    clocks = repair["clocks"] or {}
    held = ""
    if clocks.get("hold_until"):
        there = datetime.fromisoformat(clocks["hold_until"]).astimezone(_zone(repair))
        held = f"  hold until {there:%H:%M} there, {there:%a %d %b}\n"
    head = f"{repair['ref']}  {repair['stage']}  {repair['street']}  {repair['id']}"
    return f"{head}\n{held}  missing: {missing}\n"


def _zone(repair: dict[str, Any]) -> tzinfo:
    try:
        return ZoneInfo(repair["time_zone"])
    except (KeyError, ValueError):
        return UTC


def _what(sent: str) -> str:
    """Name a report that was not taken: what it is, of which repair, when; a file by its name."""
    try:
        event = json.loads(sent)
        kind = event["type"].rpartition(".")[2].replace("_", " ")
        return f"{kind}, {event['time'][:16]}, of repair {event['subject']}"
    except (ValueError, KeyError, TypeError, AttributeError):
        return sent[:100]


def _why(told: str) -> str:
    """Return the server's words of what is wrong."""
    try:
        return str(json.loads(told)["detail"])
    except (ValueError, KeyError, TypeError):
        return told[:300]


def _queue(client: FieldClient) -> str:
    events, files = client.waiting()
    return f"{events} events and {files} files wait here"


def _object(text: str) -> dict[str, Any]:
    try:
        found = json.loads(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"no JSON: {error}") from error
    if not isinstance(found, dict):
        raise argparse.ArgumentTypeError('no object such as {"clean": true}')
    return found


def _file(text: str) -> Path:
    path = Path(text)
    if not path.is_file():
        raise argparse.ArgumentTypeError(f"there is no file {text}")
    return path


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="docs.field_client",
        description="A phone that writes down without a signal and sends when there is one.",
        epilog="Example: python -m docs.field_client report arrived <id of the repair>; "
        "python -m docs.field_client sync",
    )
    parser.add_argument("--store", type=Path, default=Path("phone.sqlite3"), help="its queue")
    commands = parser.add_subparsers(dest="command", required=True)
    set_up = commands.add_parser("set-up", help="where the server is and who this phone is")
    for name in ("url", "token", "device"):
        set_up.add_argument(f"--{name}", required=True)
    report = commands.add_parser("report", help="write an event down")
    report.add_argument("kind", help="such as arrived, mixing_started, inflated")
    report.add_argument("repair", help="the id of the repair")
    report.add_argument(
        "data", nargs="?", default={}, type=_object, help="what it carries, as a JSON object"
    )
    hand_in = commands.add_parser("hand-in", help="write down a file to be handed in")
    hand_in.add_argument("file", type=_file)
    hand_in.add_argument("kind", help="such as post_repair_film, pressure_log")
    hand_in.add_argument("repair", help="the id of the repair")
    for each in (report, hand_in):
        each.add_argument("--at", type=datetime.fromisoformat, help="when, with its offset")
    commands.add_parser("sync", help="send what waits and ask what others changed")
    commands.add_parser("show", help="the crew's repairs and what is missing")
    return parser


if __name__ == "__main__":
    sys.exit(main())
