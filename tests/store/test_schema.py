"""Stores of earlier versions are brought to this one, with everything in them; later ones are left alone."""

from __future__ import annotations

import subprocess
import sys

import pytest
import sqlalchemy as sa

from labelkit.errors import InputError
from labelkit.model.job import DEFAULT_STOCKS
from labelkit.model.laying import DEFAULT_LAYING
from labelkit.store.database import Database
from labelkit.store.jobs import Store
from labelkit.store.tables import SCHEMA, tables
from tests.bench_app.workshop import SECRET

# The tables as versions 1 to 4 made them.
META = "CREATE TABLE meta (key VARCHAR(40) NOT NULL PRIMARY KEY, value VARCHAR(200) NOT NULL)"
JOBS = (
    "CREATE TABLE jobs (number INTEGER NOT NULL PRIMARY KEY, serial VARCHAR(200), file VARCHAR(400) NOT NULL, "
    "sha256 VARCHAR(64) NOT NULL, source {blob} NOT NULL, options TEXT NOT NULL, address VARCHAR(400) NOT NULL, "
    "block INTEGER NOT NULL UNIQUE, blocks INTEGER NOT NULL{more})"
)
PHOTOS = (
    "CREATE TABLE photos (job INTEGER NOT NULL, path VARCHAR(400) NOT NULL, data {blob} NOT NULL, "
    "PRIMARY KEY (job, path))"
)


def old_store(where: str, version: str) -> None:
    """Make a store of an earlier version with one job and one picture."""
    database = Database(where)
    blob = "BLOB" if database.is_file else "BYTEA"
    later = {"2": ", numbering TEXT, laying TEXT", "3": ", captured TEXT", "4": ", stocks TEXT"}
    more = "".join(columns for since, columns in later.items() if since <= version)
    with database.transaction(writes=True) as connection:
        for statement in (META, JOBS.format(blob=blob, more=more), PHOTOS.format(blob=blob)):
            connection.execute(sa.text(statement))
        values = {"version": version, "secret": SECRET.hex(), "source": b"format: 1", "picture": b"\x89PNG"}
        for statement in (
            "INSERT INTO meta VALUES ('schema', :version), ('secret', :secret)",
            "INSERT INTO jobs (number, serial, file, sha256, source, options, address, block, blocks) "
            "VALUES (7, '4711', 'pump.yaml', 'aa', :source, '{\"drive\": null}', 'http://h', 3, 2)",
            "INSERT INTO photos VALUES (7, 'cover.png', :picture)",
        ):
            wanted = {name: value for name, value in values.items() if f":{name}" in statement}
            connection.execute(sa.text(statement), wanted)
    database.close()


@pytest.mark.parametrize("version", ["1", "2", "3", "4"])
@pytest.mark.parametrize("create", [True, False])
def test_an_earlier_store_is_brought_to_this_version(where: str, version: str, create: bool) -> None:
    """Job, picture, key and codes are what they were, and the record is there; a second start changes nothing."""
    old_store(where, version)

    for _ in range(2):
        with Store(where, create=create) as store:
            job = store.job(7)
            assert (SECRET, "4711", {"drive": None}, {"drive": None}, 3, 2) == (
                store.secret, job.serial, job.options, job.numbering, job.block, job.blocks
            )  # fmt: skip
            assert (DEFAULT_LAYING, DEFAULT_STOCKS, None) == (job.laying, job.stocks, job.language)
            assert b"\x89PNG" == store.photo(7, "cover.png")
            assert () == store.journal.events(7)


def test_a_store_that_was_brought_up_is_as_a_new_one(where: str, tmp_path: object) -> None:
    """The same tables and columns, whichever way it came to this version."""
    old_store(where, "1")
    with Store(where) as store, store._database.transaction() as connection:
        seen = sa.inspect(connection)
        columns = {name: {column["name"] for column in seen.get_columns(name)} for name in seen.get_table_names()}

    assert {table.name: set(table.columns.keys()) for table in tables.sorted_tables} == columns


OPEN = """
import sys
from labelkit.store.jobs import Store
with Store(sys.argv[1]) as store:
    print(len(store.jobs()), store.journal.last(7))
"""


def test_two_programs_bring_a_store_up_at_once(where: str) -> None:
    """Whichever comes second finds it done."""
    old_store(where, "2")
    running = [subprocess.Popen([sys.executable, "-c", OPEN, where], stdout=subprocess.PIPE, text=True) for _ in "ab"]

    assert ["1 0\n", "1 0\n"] == [process.communicate(timeout=60)[0] for process in running]


def test_a_later_store_is_refused_and_left_as_it_is(where: str) -> None:
    """It says which version it is, which this program reads, and what to do."""
    Store(where).close()
    database = Database(where)
    with database.transaction(writes=True) as connection:
        connection.execute(sa.text("UPDATE meta SET value = '6' WHERE key = 'schema'"))

    with pytest.raises(
        InputError, match=rf"version 6; this program reads {SCHEMA} and earlier ones\. A later labelkit"
    ):
        Store(where)
    with database.transaction() as connection:
        assert "6" == connection.execute(sa.text("SELECT value FROM meta WHERE key = 'schema'")).scalar()
    database.close()


def test_a_file_is_written_ahead_and_fully_synchronised(tmp_path: object) -> None:
    """What was acknowledged is on the disk, and who reads waits for nobody.

    Source: SQLite documentation, "Write-Ahead Logging" and "PRAGMA synchronous" (from memory): 2 is FULL.
    """
    with Store(f"{tmp_path}/shop.sqlite") as store, store._database.transaction() as connection:
        assert "wal" == connection.exec_driver_sql("PRAGMA journal_mode").scalar()
        assert 2 == connection.exec_driver_sql("PRAGMA synchronous").scalar()
