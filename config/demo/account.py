"""Prints the day's account to the terminal, in words a newcomer can follow."""

from collections.abc import Iterable
from typing import Any

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

from config.demo.visitor import ProblemError


class Account:
    """What happened, told act by act, with a bar for the whole."""

    def __init__(self, console: Console, acts: int) -> None:
        self.console = console
        self.bar = Progress(
            TextColumn("[bold]{task.description}"),
            BarColumn(),
            TextColumn("{task.completed}/{task.total}"),
            TimeElapsedColumn(),
            console=console,
            transient=True,
        )
        self.task = self.bar.add_task("The invented day", total=acts)

    def act(self, title: str) -> None:
        """Begin an act."""
        self.bar.update(self.task, description=title)
        self.bar.advance(self.task)
        self.console.print(f"\n[bold]{title}[/bold]")

    def say(self, words: str) -> None:
        """Tell one thing."""
        self.console.print(f"  {words}", highlight=False, soft_wrap=True)

    def refused(self, error: ProblemError) -> None:
        """Tell what was refused, with every reason."""
        body = error.body
        self.say(f"[yellow]refused[/yellow] {body['status']} {body['code']}:")
        for reason in _reasons(body):
            self.console.print(f"    - {reason}", highlight=False, soft_wrap=True)


def _reasons(body: dict[str, Any]) -> Iterable[str]:
    reasons = body.get("reasons") or []
    if not reasons:
        yield str(body["detail"])
    for reason in reasons:
        if "outcome" in reason:
            if not reason["closes"]:
                words = f"{reason['title']}: {reason['outcome']}, {reason['reason']}"
                yield f"{words} -> {reason['settle']}"
        elif "words" in reason:
            yield f"{reason['code']}: {reason['words']}"
        else:
            yield f"{reason['code']}: {reason['reason']}"
