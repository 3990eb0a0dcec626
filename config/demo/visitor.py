"""A user of the service who comes in by the front door: plain HTTP, nothing else."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import httpx

API = "/api/v1"


class ProblemError(Exception):
    """The service said no; `body` is its problem answer."""

    def __init__(self, body: dict[str, Any]) -> None:
        super().__init__(f"{body.get('status')} {body.get('code')}: {body.get('detail')}")
        self.body = body


def _tell_the_time(request: httpx.Request) -> None:
    """Say what the phone's clock says, as every client should."""
    request.headers["Device-Time"] = datetime.now(UTC).isoformat()


class Visitor:
    """One user: a person with a session, or a device with a token."""

    def __init__(self, base_url: str, name: str) -> None:
        self.name = name
        self.http = httpx.Client(base_url=base_url + API, timeout=30)

    def sign_in(self, password: str) -> "Visitor":
        """Sign in as a person, keeping the session and its CSRF token."""
        body = self.post("/session", {"username": self.name, "password": password})
        self.http.headers["X-CSRFToken"] = body["csrf_token"]
        self.http.headers["Referer"] = str(self.http.base_url)
        return self

    def show_token(self, token: str) -> "Visitor":
        """Come as a device."""
        self.http.headers["Authorization"] = f"Bearer {token}"
        self.http.event_hooks["request"] = [_tell_the_time]
        return self

    def get(self, path: str, **params: Any) -> Any:
        """Ask for something."""
        return self._read(self.http.get(path, params=params))

    def post(self, path: str, body: Any = None, *, media_type: str | None = None) -> Any:
        """Send JSON."""
        headers = {"Content-Type": media_type} if media_type else {}
        return self._read(self.http.post(path, json=body, headers=headers))

    def patch(self, path: str, body: Any) -> Any:
        """Change what is there, whichever edition it is."""
        return self._read(self.http.patch(path, json=body, headers={"If-Match": "*"}))

    def hand_in(self, path: str, file: Path, **fields: str) -> Any:
        """Send a file with its fields."""
        with file.open("rb") as opened:
            return self._read(self.http.post(path, data=fields, files={"file": opened}))

    def fetch(self, path: str, target: Path) -> Path:
        """Save what an address serves."""
        with self.http.stream("GET", path) as answer:
            if answer.is_error:
                answer.read()
                self._read(answer)
            target.parent.mkdir(parents=True, exist_ok=True)
            with target.open("wb") as out:
                for block in answer.iter_bytes():
                    out.write(block)
        return target

    @staticmethod
    def _read(answer: httpx.Response) -> Any:
        if answer.is_error:
            try:
                body = answer.json()
            except ValueError:
                body = {"status": answer.status_code, "code": "?", "detail": answer.text[:300]}
            raise ProblemError(body)
        return answer.json() if answer.content else None
