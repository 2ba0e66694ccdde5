"""A file is the old one or the new one."""

from __future__ import annotations

from pathlib import Path

import pytest

from labelkit.errors import OutputError
from labelkit.store.files import replace_file


def test_a_file_is_replaced(tmp_path: Path) -> None:
    """The new bytes, and nothing else in the folder."""
    for data in (b"one", b"two"):
        replace_file(tmp_path / "x.yaml", data)

        assert [(tmp_path / "x.yaml", data)] == [(path, path.read_bytes()) for path in tmp_path.iterdir()]


def test_what_cannot_be_written_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that is full when the last byte goes out."""
    replace_file(tmp_path / "x.yaml", b"old")

    def full(_number: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OutputError, match=r"x\.yaml: cannot be written: No space left on device; what was there is"):
        replace_file(tmp_path / "x.yaml", b"new")

    assert [(tmp_path / "x.yaml", b"old")] == [(path, path.read_bytes()) for path in tmp_path.iterdir()]


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    """It is not made."""
    with pytest.raises(OutputError, match="No such file or directory"):
        replace_file(tmp_path / "gone" / "x.yaml", b"new")
