"""Reads every stored file back, now."""

import sys
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from qa.models import FileCheck
from qa.services.recheck_files import recheck_slice, write_checks


class Command(BaseCommand):
    help = (
        "Reads every stored file back and compares its hash with what came in. Names each that "
        "is missing or changed, and ends with 1 if there is one. Example: manage.py recheck_files"
    )

    def handle(self, **_asked: Any) -> None:
        since, read, is_last = timezone.now(), 0, False
        while not is_last:
            found = recheck_slice(since=since, report=lambda: None)
            write_checks(found=found, now=timezone.now())
            read, is_last = read + len(found.checked), found.is_last
            self.stderr.write(f"\r{read} files read back", ending="")
        broken = FileCheck.objects.exclude(problem="").order_by("storage_key")
        for each in broken:
            self.stdout.write(f"{each.storage_key}: {each.problem}")
        self.stdout.write(f"{read} files read back, {broken.count()} broken")
        sys.exit(broken.exists())
