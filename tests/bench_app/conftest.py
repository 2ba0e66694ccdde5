"""A store with jobs and a PIN, its application, and somebody who is signed in."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from labelkit.bench.app import create_app
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.hands import Person, person, with_pin
from tests.bench_app.workshop import SECRET, open_job, png, pump

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store(str(tmp_path / "shop.sqlite"), secret=SECRET) as opened:
        with_pin(opened)
        yield opened


@pytest.fixture
def view(store: Store) -> JobView:
    return open_job(store, pump(), photos={"photos/cover.png": png()})


@pytest.fixture
def app(store: Store) -> Flask:
    return create_app(store, clock=lambda: NOON)


@pytest.fixture
def ann(app: Flask) -> Person:
    return person(app, "Ann")


@pytest.fixture
def client(ann: Person, view: JobView) -> FlaskClient:
    """Return the browser of somebody who is signed in, with the pump's job in the store."""
    return ann.client
