#!/usr/bin/env python
"""Django's command line, with this project's settings."""

import os
import sys

from django.core.exceptions import ImproperlyConfigured
from django.core.management import execute_from_command_line

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        # A setting that is wrong: its name and what would be right say more than the way here.
        sys.exit(f"{error} (docs/settings.md)")
