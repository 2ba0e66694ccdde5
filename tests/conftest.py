"""Settings of all tests: so many examples where a test names no number, and no limit of time on a busy machine.

The suite tries the same examples every time, so that a change is judged by what it changed; other examples are looked
for by hand, `pytest --hypothesis-profile=search`, and what they find becomes a test of its own.
"""

from __future__ import annotations

import gc
import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

from labelkit.load.stock import all_stock

# A command in a process of its own would compile the whole package, for each of them again.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

settings.register_profile("suite", max_examples=30, deadline=None, derandomize=True)
settings.register_profile("search", max_examples=2_000, deadline=None)
settings.load_profile("suite")


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Iterator[None]:
    """Look for no garbage among what is collected: it all stays, and searching it is a third of the work."""
    gc.disable()
    try:
        return (yield)
    finally:
        gc.freeze()
        gc.enable()


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty working folder, in no shop."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("LABELKIT_SHOP", raising=False)
    return tmp_path


@pytest.fixture
def stock(here: Path) -> Mapping[str, Any]:
    """The packaged stock alone."""
    return all_stock()


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Start Chromium once for all tests of a process: that takes longer than most of them; `phones.a_screen` opens
    pages."""
    from tests.bench_app.phones import a_browser

    with a_browser() as opened:
        yield opened
