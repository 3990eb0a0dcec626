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
    """Return the triggers that should be set and are not, or that do something else."""
    vendor = connection.vendor
    wanted = {name: text for table in APPEND_ONLY for name, text in _named(table, vendor)}
    with connection.cursor() as cursor:
        if vendor == "postgresql":
            cursor.execute(
                "SELECT t.tgname, p.prosrc FROM pg_trigger t JOIN pg_proc p ON p.oid = t.tgfoid "
                "WHERE t.tgenabled <> 'D' AND t.tgname = ANY(%s)",
                [list(wanted)],
            )
            there = {row[0] for row in cursor.fetchall() if _words(row[1]) in _words(_FUNCTION)}
        else:
            cursor.execute(
                "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' "
                "AND name IN (SELECT value FROM json_each(%s))",
                [json.dumps(list(wanted))],
            )
            rows = cursor.fetchall()
            there = {name for name, text in rows if _words(text) == _words(wanted[name])}
    return [name for name in wanted if name not in there]


def _named(table: str, vendor: str) -> list[tuple[str, str]]:
    return list(zip(_names(table, vendor), _of(table, vendor), strict=True))


def _words(sql: str) -> str:
    """Return a statement without its line breaks, to be compared."""
    return " ".join(sql.split())
