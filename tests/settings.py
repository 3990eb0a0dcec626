"""The project's own settings, with what a test run needs set before they are read.

The database address is left as given, so that the same suite runs on SQLite
(the default) and on PostgreSQL.
"""

import os
import tempfile

os.environ.setdefault("CUREWRIGHT_DEBUG", "yes")
os.environ.setdefault("CUREWRIGHT_VAR", tempfile.mkdtemp(prefix="curewright-tests-"))
os.environ.setdefault("CUREWRIGHT_LOG_LEVEL", "WARNING")

from config.settings import *  # noqa: F403
