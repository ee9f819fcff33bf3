"""The database itself refuses to alter or delete a change of the history; only a person who left may be taken off it."""

from __future__ import annotations

from typing import Any

from django.db import migrations

FIXED = ("id", "garden_id", "at", "who_said", "action", "kind", "row", "before", "after")
SQLITE = [
    "CREATE TRIGGER history_not_altered BEFORE UPDATE OF "
    + ", ".join(f'"{name}"' for name in FIXED)
    + " ON records_change BEGIN SELECT RAISE(ABORT, 'history is not altered'); END",
    "CREATE TRIGGER history_not_deleted BEFORE DELETE ON records_change "
    "BEGIN SELECT RAISE(ABORT, 'history is not deleted'); END",
]
POSTGRES = [
    "CREATE FUNCTION history_stays() RETURNS trigger LANGUAGE plpgsql AS "
    "$$ BEGIN RAISE EXCEPTION 'history is not altered'; END $$",
    "CREATE TRIGGER history_not_altered BEFORE UPDATE OF "
    + ", ".join(f'"{name}"' for name in FIXED)
    + " ON records_change FOR EACH ROW EXECUTE FUNCTION history_stays()",
    "CREATE TRIGGER history_not_deleted BEFORE DELETE ON records_change FOR EACH ROW EXECUTE FUNCTION history_stays()",
]
UNDO = {
    "sqlite": ["DROP TRIGGER history_not_altered", "DROP TRIGGER history_not_deleted"],
    "postgresql": [
        "DROP TRIGGER history_not_altered ON records_change",
        "DROP TRIGGER history_not_deleted ON records_change",
        "DROP FUNCTION history_stays()",
    ],
}


def _run(editor: Any, statements: list[str]) -> None:
    for one in statements:
        editor.execute(one)


def forward(apps: Any, editor: Any) -> None:
    """Put the guard up."""
    _run(editor, SQLITE if editor.connection.vendor == "sqlite" else POSTGRES)


def back(apps: Any, editor: Any) -> None:
    """Take the guard away."""
    _run(editor, UNDO[editor.connection.vendor])


class Migration(migrations.Migration):
    """A guard on the history."""

    dependencies = [("records", "0001_initial")]
    operations = [migrations.RunPython(forward, back)]
