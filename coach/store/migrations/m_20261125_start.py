"""The first form: one table of events that only grows, and a snapshot that may be deleted at any time."""

from sqlite3 import Connection


def apply(connection: Connection) -> None:
    """Make the tables; runs inside a transaction."""
    connection.execute(
        """
        CREATE TABLE event (
            seq INTEGER PRIMARY KEY,
            at TEXT NOT NULL,
            kind TEXT NOT NULL,
            version INTEGER NOT NULL,
            payload TEXT NOT NULL CHECK (json_valid(payload))
        ) STRICT
        """
    )
    connection.execute(
        """
        CREATE TRIGGER event_never_changes BEFORE UPDATE ON event
        BEGIN SELECT RAISE(ABORT, 'the log only grows'); END
        """
    )
    # INSERT OR REPLACE deletes, too: this trigger sees it only with PRAGMA recursive_triggers = ON.
    connection.execute(
        """
        CREATE TRIGGER event_never_goes BEFORE DELETE ON event
        BEGIN SELECT RAISE(ABORT, 'the log only grows'); END
        """
    )
    connection.execute(
        """
        CREATE TABLE snapshot (
            seq INTEGER NOT NULL,
            fold_version INTEGER NOT NULL,
            payload TEXT NOT NULL
        ) STRICT
        """
    )
