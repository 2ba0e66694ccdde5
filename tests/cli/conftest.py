"""The command in a folder of its own."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench_app.workshop import Shell


@pytest.fixture
def labelkit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Shell:
    """Runs the command in an empty folder, whose store is that of the folder."""
    monkeypatch.delenv("LABELKIT_STORE", raising=False)
    return Shell(tmp_path, monkeypatch, capsys)
