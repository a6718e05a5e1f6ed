"""Steps from each form of the log's database to the next, one file each, counted by ``user_version``."""

from collections.abc import Callable
from sqlite3 import Connection

from coach.store.migrations import m_20261125_start

MIGRATIONS: tuple[Callable[[Connection], None], ...] = (m_20261125_start.apply,)
"""In order; a database with ``user_version`` n has had the first n of them."""
