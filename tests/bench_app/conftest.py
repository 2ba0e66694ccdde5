"""A store with jobs, its application, and the address it answers at."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from labelkit.bench.app import create_app
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.workshop import SECRET, open_job, png, pump


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store(str(tmp_path / "shop.sqlite"), secret=SECRET) as opened:
        yield opened


@pytest.fixture
def view(store: Store) -> JobView:
    return open_job(store, pump(), photos={"photos/cover.png": png()})


@pytest.fixture
def client(store: Store, view: JobView) -> FlaskClient:
    return create_app(store).test_client()
