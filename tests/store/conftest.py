"""Stores of both kinds: whatever is promised of one is promised of the other."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from labelkit.store.jobs import Store
from tests.bench_app.workshop import SECRET
from tests.postgres import NoServer, Server, running_server


@pytest.fixture(scope="session")
def postgres() -> Iterator[Server]:
    """A PostgreSQL of our own; the test is skipped where none can be started."""
    try:
        with running_server() as server:
            yield server
    except NoServer as reason:
        pytest.skip(str(reason))


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A place for a store that is not made yet: a file, and a schema of a server."""
    if request.param == "sqlite":
        return str(tmp_path / "shop.sqlite")
    server: Server = request.getfixturevalue("postgres")
    return server.url()


@pytest.fixture
def store(where: str) -> Iterator[Store]:
    with Store(where, secret=SECRET) as opened:
        yield opened
