"""docs/reminders.md lists the reminders as the code has them, neither more nor less."""

from pathlib import Path

from dispatch.domain import reminders, reminders_order, reminders_truck
from dispatch.domain.channel import Channel
from dispatch.domain.escalation import USUAL
from dispatch.domain.reminder import Row
from dispatch.domain.terms import HIGHEST, Terms
from qa.domain import reminders_proof

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "reminders.md").read_text(encoding="utf-8")
TABLES: tuple[tuple[Row, ...], ...] = (
    reminders.TABLE,
    reminders_proof.TABLE,
    reminders_order.TABLE,
    reminders_truck.TABLE,
)


def table_lines() -> list[str]:
    """Return the table of reminders as the page must show it."""
    return [
        "| "
        + " | ".join(
            (
                f"`{row.code}`",
                row.condition,
                row.lead,
                row.to.value,
                row.useful,
                "yes" if row.live else "no",
            )
        )
        + " |"
        for table in TABLES
        for row in table
    ]


def test_the_page_lists_every_reminder_as_it_is() -> None:
    """Each row of each table, in its order, word for word."""
    shown = [line for line in PAGE.splitlines() if line.startswith("| `") and line.count("|") == 7]

    assert shown == table_lines()


def test_no_two_reminders_share_a_code() -> None:
    """A code is one matter, whoever knows of it."""
    codes = [row.code for table in TABLES for row in table]

    assert len(codes) == len(set(codes))
    assert all(len(code) <= 29 for code in codes)  # room for "sleeve 12: " in the record


def test_the_page_says_what_is_usual() -> None:
    """The ladder, its night and the contract's terms where a contract says nothing."""
    assert USUAL.quiet is not None
    for step in USUAL.steps:
        assert f"| {step.to.value} | {step.after.total_seconds() / 60:.0f} min |" in PAGE
    assert f"{USUAL.quiet.start:%H:%M} to {USUAL.quiet.end:%H:%M}" in PAGE
    for name in HIGHEST:
        assert f"| `{name}` | {getattr(Terms(), name)} |" in PAGE


def test_each_channel_is_one_file_and_on_the_page() -> None:
    """Somebody who adds a channel finds where, and a reader finds them all."""
    for channel in Channel:
        assert (ROOT / "dispatch" / "channels" / f"{channel.value}.py").is_file()
        assert f"`{channel.value}`" in PAGE
