"""A folder of results is the old one or the complete new one."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from labelkit.errors import OutputError
from labelkit.render import folder
from labelkit.render.folder import recover, replacing


def write_folder(out: Path, files: dict[str, bytes]) -> None:
    with replacing(out) as fill:
        fill(files)


def content(path: Path) -> dict[str, bytes]:
    return {entry.name: entry.read_bytes() for entry in path.iterdir()}


def test_old_folder_is_replaced(tmp_path: Path) -> None:
    """The new files are there, the old ones gone, nothing is left beside."""
    out = tmp_path / "kit"
    write_folder(out, {"a": b"1", "b": b"2"})
    write_folder(out, {"a": b"3"})

    assert content(out) == {"a": b"3"}
    assert list(tmp_path.iterdir()) == [out]


def test_without_exchange_the_old_folder_is_moved_aside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Systems that cannot exchange two folders end with the same result."""
    monkeypatch.setattr(folder, "_exchanged", lambda _one, _other: False)
    out = tmp_path / "kit"
    write_folder(out, {"a": b"1"})
    write_folder(out, {"a": b"2"})

    assert content(out) == {"a": b"2"}
    assert list(tmp_path.iterdir()) == [out]


def test_a_full_disk_leaves_the_old_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No space: the message says so, the old folder is as it was, nothing is left beside."""
    out = tmp_path / "kit"
    write_folder(out, {"a": b"1"})

    def full(_descriptor: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space left"):
        write_folder(out, {"a": b"2", "b": b"3"})
    assert content(out) == {"a": b"1"}
    assert list(tmp_path.iterdir()) == [out]


def test_a_run_that_died_between_the_moves_is_mended(tmp_path: Path) -> None:
    """The folder moved aside goes back to its place at the next run."""
    out, aside = tmp_path / "kit", tmp_path / ".kit.old"
    aside.mkdir()
    (aside / "a").write_bytes(b"1")

    recover(out)

    assert content(out) == {"a": b"1"}
    assert list(tmp_path.iterdir()) == [out]


def test_a_folder_below_a_file_cannot_be_made(tmp_path: Path) -> None:
    """The message names the folder."""
    (tmp_path / "file").write_text("x")

    with pytest.raises(OutputError, match="kit"):
        write_folder(tmp_path / "file" / "kit", {"a": b"1"})


def test_the_old_folder_stands_until_the_block_ends(tmp_path: Path) -> None:
    """What must be kept first is kept while the new files are on the disk and the old ones still in place."""
    out = tmp_path / "kit"
    write_folder(out, {"a": b"1"})

    with replacing(out) as fill:
        fill({"b": b"2"})
        (beside,) = (path for path in tmp_path.iterdir() if path != out)
        assert [path.name for path in out.iterdir()] == ["a"]
        assert (beside / "b").read_bytes() == b"2"

    assert [path.name for path in out.iterdir()] == ["b"]
    assert list(tmp_path.iterdir()) == [out]


@pytest.mark.parametrize("fills", [True, False])
def test_a_block_that_fails_leaves_the_old_folder(tmp_path: Path, fills: bool) -> None:
    """Nothing stands beside it, and the reason is told as it was raised."""
    out = tmp_path / "kit"
    write_folder(out, {"a": b"1"})

    def fail() -> None:
        with replacing(out) as fill:
            if fills:
                fill({"b": b"2"})
            raise OSError("elsewhere")

    with pytest.raises(OSError, match=r"^elsewhere$"):
        fail()

    assert [path.name for path in out.iterdir()] == ["a"]
    assert list(tmp_path.iterdir()) == [out]


def test_the_place_of_another_disk_is_told_before_anything_is_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Such a folder cannot be replaced; its files stay."""
    out = tmp_path / "kit"
    write_folder(out, {"a": b"1"})
    monkeypatch.setattr("os.path.ismount", lambda path: path == out)

    with pytest.raises(OutputError, match="it is the place of another disk; name a folder inside it"):
        write_folder(out, {"b": b"2"})

    assert [path.name for path in out.iterdir()] == ["a"]


@pytest.mark.parametrize("there", [True, False])
def test_a_link_goes_on_leading_to_the_folder(tmp_path: Path, there: bool) -> None:
    """What it leads to is replaced, or made; the link stays, and nothing is left beside either of them."""
    real, link = tmp_path / "shelf" / "kit", tmp_path / "kit"
    real.parent.mkdir()
    link.symlink_to(real)
    if there:
        write_folder(real, {"a": b"1"})

    write_folder(link, {"b": b"2"})

    assert link.is_symlink()
    assert content(real) == {"b": b"2"}
    assert sorted(tmp_path.iterdir()) == [link, real.parent]
    assert list(real.parent.iterdir()) == [real]


def test_the_folder_one_is_in_is_not_taken_away(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever stands in a folder that is replaced would stand in none."""
    write_folder(tmp_path / "kit", {"a": b"1"})
    monkeypatch.chdir(tmp_path / "kit")

    with pytest.raises(OutputError, match="you are in it, and it is replaced as a whole; name another folder"):
        write_folder(Path(), {"b": b"2"})

    assert content(tmp_path / "kit") == {"a": b"1"}


def test_where_nothing_may_be_looked_at_the_folder_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The message tells of the folder that was asked for, not of one that labelkit looks for beside it."""

    def forbidden(path: Path, *_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))

    monkeypatch.setattr(Path, "mkdir", forbidden)
    monkeypatch.setattr(os, "stat", forbidden)
    monkeypatch.setattr(os, "lstat", forbidden)

    recover(tmp_path / "kit")
    with pytest.raises(OutputError, match="kit: cannot be written: Permission denied"):
        write_folder(tmp_path / "kit", {"a": b"1"})
