"""Progress bars: on a terminal, on stderr, after a second, and nowhere else."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from labelkit.cli import progress
from labelkit.cli.progress import page_count, watched
from labelkit.errors import InputError
from tests.checksheets import sheet_pdf


class Terminal(io.StringIO):
    """What a person looks at."""

    def isatty(self) -> bool:
        return True


@pytest.fixture
def seconds(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """A clock that moves on by what the test says each time it is asked."""
    steps = [0.0]
    now = [0.0]

    def monotonic() -> float:
        now[0] += steps[0]
        return now[0]

    monkeypatch.setattr(progress.time, "monotonic", monotonic)
    return steps


def test_a_file_or_a_pipe_gets_no_bar(monkeypatch: pytest.MonkeyPatch, seconds: list[float]) -> None:
    """Messages that a program reads hold nothing but messages; the length is not even asked for."""
    seconds[0] = 10
    err = io.StringIO()
    monkeypatch.setattr("sys.stderr", err)

    assert [1, 2, 3] == list(watched([1, 2, 3], label="Reading", length=lambda: 1 // 0))
    assert "" == err.getvalue()


def test_short_work_shows_no_bar(monkeypatch: pytest.MonkeyPatch, seconds: list[float]) -> None:
    """Under a second nobody has begun to wonder."""
    seconds[0] = 0.1
    err = Terminal()
    monkeypatch.setattr("sys.stderr", err)

    assert [1, 2, 3] == list(watched([1, 2, 3], label="Reading", length=lambda: 1 // 0))
    assert "" == err.getvalue()


def test_long_work_shows_how_much_is_done(
    monkeypatch: pytest.MonkeyPatch, seconds: list[float], capsys: pytest.CaptureFixture[str]
) -> None:
    """From the item at which a second is over, up to all of them; nothing on stdout."""
    seconds[0] = 0.6
    err = Terminal()
    monkeypatch.setattr("sys.stderr", err)
    seen = []
    for item in watched(range(5), label="Reading pages", length=lambda: 5):
        seen.append((item, "Reading pages" in err.getvalue()))

    assert [(0, False), (1, False), (2, True), (3, True), (4, True)] == seen
    assert "100%" in err.getvalue()
    assert err.getvalue().endswith("\n")
    assert "" == capsys.readouterr().out


def test_a_bar_ends_when_the_work_fails(monkeypatch: pytest.MonkeyPatch, seconds: list[float]) -> None:
    """The message of an error begins on a line of its own."""
    seconds[0] = 2.0
    err = Terminal()
    monkeypatch.setattr("sys.stderr", err)

    def work() -> None:
        for item in watched(range(5), label="Reading", length=lambda: 5):
            if item == 3:
                raise InputError("torn")

    with pytest.raises(InputError, match="torn"):
        work()
    assert err.getvalue().endswith("\n")


def test_without_any_stderr_work_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """A service may have none."""
    monkeypatch.setattr("sys.stderr", None)

    assert ["a"] == list(watched(["a"], label="Reading", length=lambda: 1))


def test_a_file_has_as_many_pages_as_it_says(tmp_path: Path) -> None:
    """A PDF has several, a picture one; what cannot be read fails later, with a message of its own."""
    (tmp_path / "notes.txt").write_text("no PDF")
    (tmp_path / "sheet.pdf").write_bytes(sheet_pdf())

    assert [1, 1, 1] == [page_count(tmp_path / name) for name in ("sheet.pdf", "notes.txt", "missing.pdf")]
