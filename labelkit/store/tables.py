"""The tables of a store, its version, and how an earlier one is brought to this one."""

from __future__ import annotations

from typing import Final

import sqlalchemy as sa

SCHEMA: Final = "5"

tables: Final = sa.MetaData()
meta: Final = sa.Table(
    "meta",
    tables,
    sa.Column("key", sa.String(40), primary_key=True),
    sa.Column("value", sa.String(200), nullable=False),
)
jobs: Final = sa.Table(
    "jobs",
    tables,
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("serial", sa.String(200)),
    sa.Column("file", sa.String(400), nullable=False),
    sa.Column("sha256", sa.String(64), nullable=False, index=True),
    sa.Column("source", sa.LargeBinary, nullable=False),
    sa.Column("options", sa.Text, nullable=False),
    sa.Column("address", sa.String(400), nullable=False),
    sa.Column("block", sa.Integer, nullable=False, unique=True),
    sa.Column("blocks", sa.Integer, nullable=False),
    sa.Column("numbering", sa.Text),
    sa.Column("laying", sa.Text),
    sa.Column("captured", sa.Text),
    sa.Column("stocks", sa.Text),
    sa.Column("language", sa.String(20)),
)
photos: Final = sa.Table(
    "photos",
    tables,
    sa.Column("job", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("path", sa.String(400), primary_key=True),
    sa.Column("data", sa.LargeBinary, nullable=False),
)
events: Final = sa.Table(
    "events",
    tables,
    sa.Column("job", sa.Integer, sa.ForeignKey(jobs.c.number), primary_key=True, autoincrement=False),
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("place", sa.Integer),
    sa.Column("kind", sa.String(20), nullable=False),
    sa.Column("who", sa.String(60), nullable=False),
    sa.Column("at", sa.String(40), nullable=False),
    sa.Column("token", sa.String(64), nullable=False),
    sa.Column("body", sa.Text, nullable=False),
    sa.UniqueConstraint("job", "token"),
    sa.Index("events_by_place", "job", "place"),
    sa.Index("events_by_kind", "kind", "job"),
)
pictures: Final = sa.Table(
    "pictures",
    tables,
    sa.Column("sha256", sa.String(64), primary_key=True),
    sa.Column("data", sa.LargeBinary, nullable=False),
)
drafts: Final = sa.Table(
    "drafts",
    tables,
    sa.Column("job", sa.Integer, sa.ForeignKey(jobs.c.number), primary_key=True, autoincrement=False),
    sa.Column("current", sa.Integer, nullable=False),
    sa.Column("given", sa.Integer, nullable=False),
    sa.Column("done", sa.Boolean, nullable=False),
)
versions: Final = sa.Table(
    "versions",
    tables,
    sa.Column("job", sa.Integer, sa.ForeignKey(drafts.c.job), primary_key=True, autoincrement=False),
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("parent", sa.Integer),
    sa.Column("words", sa.String(200), nullable=False),
    sa.Column("who", sa.String(60), nullable=False),
    sa.Column("at", sa.String(40), nullable=False),
    sa.Column("token", sa.String(64), nullable=False),
    sa.Column("body", sa.LargeBinary, nullable=False),
    sa.UniqueConstraint("job", "token"),
)
guesses: Final = sa.Table(
    "guesses",
    tables,
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("what", sa.String(10), nullable=False),
    sa.Column("client", sa.String(64), nullable=False),
    sa.Column("at", sa.Integer, nullable=False),
    sa.Index("guesses_by_time", "what", "at"),
)

# What a store of an earlier version lacks: columns of `jobs`. Tables that it lacks are made.
ADDED: Final[dict[str, tuple[sa.Column[str], ...]]] = {
    "1": (jobs.c.numbering, jobs.c.laying, jobs.c.captured, jobs.c.stocks, jobs.c.language),
    "2": (jobs.c.captured, jobs.c.stocks, jobs.c.language),
    "3": (jobs.c.stocks, jobs.c.language),
    "4": (jobs.c.language,),
}

# Every change begins with this row, so that a change waits for another one to end and no number is given twice.
ONE_AT_A_TIME: Final = sa.select(meta.c.value).where(meta.c.key == "schema").with_for_update()

# The record is appended to and never changed, whoever tries: also another program on the same database.
_REFUSED: Final = "the record is only appended to"
for _change in ("UPDATE", "DELETE"):
    _name = f"events_no_{_change.lower()}"
    sa.event.listen(
        events,
        "after_create",
        sa.DDL(  # type: ignore[no-untyped-call]
            f"CREATE TRIGGER {_name} BEFORE {_change} ON events BEGIN SELECT RAISE(ABORT, '{_REFUSED}'); END"
        ).execute_if(dialect="sqlite"),
    )
    sa.event.listen(
        events,
        "after_create",
        sa.DDL(  # type: ignore[no-untyped-call]
            f"CREATE FUNCTION {_name}() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{_REFUSED}'; END $$; "
            f"CREATE TRIGGER {_name} BEFORE {_change} ON events FOR EACH ROW EXECUTE FUNCTION {_name}()"
        ).execute_if(dialect="postgresql"),
    )


def make(connection: sa.Connection) -> None:
    """Make every table that is not there."""
    tables.create_all(connection)


def upgrade(connection: sa.Connection) -> None:
    """Bring a store of an earlier version to this one; nothing in it is lost."""
    # Another process may have done it in between.
    for column in ADDED.get(connection.execute(ONE_AT_A_TIME).scalar() or "", ()):
        kind = column.type.compile(connection.dialect)
        connection.execute(sa.text(f"ALTER TABLE {jobs.name} ADD COLUMN {column.name} {kind}"))
    make(connection)
    connection.execute(sa.update(meta).where(meta.c.key == "schema").values(value=SCHEMA))
