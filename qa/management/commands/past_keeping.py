"""Lists the packages whose time of keeping is over; disposes of nothing."""

from argparse import ArgumentParser
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from qa.keeping import may_be_disposed_of


class Command(BaseCommand):
    """One line a package: customer, order, repair, until when it was kept, its file."""

    help = (
        "lists accepted packages whose contract's retention years are over and that no legal hold "
        "keeps. Nothing is deleted: what is disposed of, how and by whom is decided outside, and "
        "the history must still verify afterwards."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the day."""
        parser.add_argument("--on", default="", metavar="2031-03-14", help="the day; today if not")

    def handle(self, **options: Any) -> None:
        """Tell them."""
        try:
            today = date.fromisoformat(options["on"]) if options["on"] else timezone.now().date()
        except ValueError as error:
            raise CommandError(f"--on: found {options['on']!r}, expected a day: {error}") from error
        count = 0
        for each in may_be_disposed_of(today):
            repair, count = each.package.closing.repair, count + 1
            order = repair.work_order
            self.stdout.write(
                f"{order.customer.code} {order.number} {repair.ref}: {each.kept.words}; "
                f"{each.package.storage_key}"
            )
        self.stdout.write(f"{count} package(s) may be disposed of on {today}.")
