"""What every test shares: the settings, and the fixed cast of people."""

import os
import tempfile

# Settings are read when Django loads; the database address is left as given, so
# that the same suite runs on SQLite (default) and on PostgreSQL.
os.environ.setdefault("CUREWRIGHT_DEBUG", "yes")
os.environ.setdefault("CUREWRIGHT_VAR", tempfile.mkdtemp(prefix="curewright-tests-"))
