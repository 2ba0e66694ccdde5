"""`labelkit check --watch` looks again at what was saved, and only at that, until it is interrupted."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from labelkit.cli import check as command
from labelkit.cli.main import main
from labelkit.cli.watching import saves

GOOD = "format: 1\nunit: {mark: KR2, name: Demo unit, up: input side}\nparts:\n- {id: shim, name: Shim}\n"


def acts(*steps: Callable[[], object]) -> Callable[[], None]:
    """Return a pause that does one thing after another, then Ctrl-C."""
    left: Iterator[Callable[[], object]] = iter(steps)

    def pause() -> None:
        step = next(left, None)
        if step is None:
            raise KeyboardInterrupt
        step()

    return pause


def replaced(path: Path, text: str) -> Callable[[], object]:
    """Return what editors do that never write into a file: a new one takes its name."""

    def save() -> None:
        (beside := path.with_suffix(".new")).write_text(text)
        os.replace(beside, path)

    return save


def test_every_kind_of_saving_is_seen_once(tmp_path: Path) -> None:
    """Written into, replaced by one of the same size, gone and back; a look without a save says nothing."""
    one, other = tmp_path / "one.yaml", tmp_path / "other.yaml"
    one.write_text("a")
    other.write_text("b")
    old = one.stat()

    def same_time() -> None:
        replaced(one, "c")()
        os.utime(one, ns=(old.st_atime_ns, old.st_mtime_ns))

    pause = acts(lambda: None, lambda: one.write_text("abc"), same_time, other.unlink, lambda: other.write_text("b"))
    seen: list[list[str]] = []
    with pytest.raises(KeyboardInterrupt):
        seen.extend(saves(["one", "other"], lambda name: tmp_path / f"{name}.yaml", pause))

    assert seen == [["one"], ["one"], ["other"], ["other"]]


def watched(monkeypatch: pytest.MonkeyPatch, folder: Path, *steps: Callable[[], object]) -> Result:
    monkeypatch.chdir(folder)
    monkeypatch.delenv("LABELKIT_SHOP", raising=False)
    monkeypatch.setattr(command, "_pause", acts(*steps))
    return CliRunner().invoke(main, ["check", "--hints", "--watch", "a.yaml", "b.yaml"], catch_exceptions=False)


def test_what_was_saved_is_checked_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its faults, its hints and its answer; the other file is not told again. The last look decides the status."""
    a, b = tmp_path / "a.yaml", tmp_path / "b.yaml"
    a.write_text(GOOD)
    b.write_text(GOOD)
    bad, gone = GOOD.replace("format: 1", "format: 2"), f"{GOOD}# saved\n"
    done = watched(monkeypatch, tmp_path, replaced(a, bad), replaced(a, gone), b.unlink, replaced(b, bad))
    answers = [line for line in done.stdout.splitlines() if line.startswith(("a.yaml: ", "b.yaml: "))]

    assert answers == [
        "a.yaml: fine, 1 entry, 1 hint",
        "b.yaml: fine, 1 entry, 1 hint",
        "a.yaml: 1 fault",
        "a.yaml: fine, 1 entry, 1 hint",
        "b.yaml: 1 fault",
        "b.yaml: 1 fault",
    ]
    assert done.stderr.startswith("watching; Ctrl-C ends\n")
    assert done.exit_code == 1


def test_a_watch_that_ends_with_good_files_ends_well(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Exit status 0, though one was bad at first."""
    a, b = tmp_path / "a.yaml", tmp_path / "b.yaml"
    b.write_text(GOOD)
    done = watched(monkeypatch, tmp_path, lambda: a.write_text(GOOD))

    assert done.exit_code == 0
    assert "there is no such file" in done.stderr


def test_one_answer_as_json_is_not_watched() -> None:
    """It would be no JSON any more."""
    done = CliRunner().invoke(main, ["check", "--watch", "--json", "planetary-reducer"])

    assert done.exit_code == 2
    assert "--json is one answer" in done.stderr
