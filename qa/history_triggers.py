"""The triggers that make the history append-only, for each database.

Beside Django's own guards: they also hold for whoever comes to the tables by hand. Fields of
records that change by right are guarded by the chain, not by a trigger.
A later migration that has SQLite rebuild one of these tables sets them anew.
"""

import json

from django.db.backends.base.base import BaseDatabaseWrapper

APPEND_ONLY = ("qa_historyentry", "qa_historycheckpoint", "repairs_fieldevent")

_WORDS = "the history is append-only"

_FUNCTION = f"""
CREATE OR REPLACE FUNCTION curewright_append_only() RETURNS trigger AS $$
BEGIN
  RAISE EXCEPTION USING
    MESSAGE = TG_TABLE_NAME || ': {_WORDS}', ERRCODE = 'restrict_violation';
END
$$ LANGUAGE plpgsql
"""


def create(vendor: str) -> list[str]:
    """Return the statements that set the triggers."""
    made = [_FUNCTION] if vendor == "postgresql" else []
    return made + [each for table in APPEND_ONLY for each in _of(table, vendor)]


def drop(vendor: str) -> list[str]:
    """Return the statements that take them away again."""
    on = vendor == "postgresql"
    return [
        f"DROP TRIGGER IF EXISTS {name}{f' ON {table}' if on else ''}"
        for table in APPEND_ONLY
        for name in _names(table, vendor)
    ]


def _names(table: str, vendor: str) -> list[str]:
    events = ["update", "delete", *(["truncate"] if vendor == "postgresql" else [])]
    return [f"{table}_no_{event}" for event in events]


def _of(table: str, vendor: str) -> list[str]:
    if vendor == "postgresql":
        return [
            f"CREATE TRIGGER {name} BEFORE {name.rpartition('_')[2].upper()} ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION curewright_append_only()"
            for name in _names(table, vendor)
        ]
    return [
        f"CREATE TRIGGER {name} BEFORE {name.rpartition('_')[2].upper()} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{table}: {_WORDS}'); END"
        for name in _names(table, vendor)
    ]


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the triggers that should be set and are not."""
    names = [name for table in APPEND_ONLY for name in _names(table, connection.vendor)]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT tgname FROM pg_trigger WHERE tgenabled <> 'D' AND tgname = ANY(%s)", [names]
            )
        else:
            cursor.execute(
                "SELECT name FROM sqlite_master WHERE type = 'trigger' "
                "AND name IN (SELECT value FROM json_each(%s))",
                [json.dumps(names)],
            )
        there = {row[0] for row in cursor.fetchall()}
    return [name for name in names if name not in there]
