"""Bad input at the command line: one clear message, the right exit status, nothing half-written, no traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.shop import ROOT


def labelkit(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    environment = os.environ | {"PYTHONPATH": str(ROOT), "LABELKIT_STORE": str(folder / "store.sqlite")}
    return subprocess.run(
        [sys.executable, "-c", "from labelkit.cli.main import run; run()", *words],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        timeout=120,
    )


@pytest.mark.parametrize(
    ("words", "message", "status"),
    [
        ("check nothing-there", "nothing-there", 1),
        ("check planetary-reduce", "did you mean planetary-reducer", 1),
        ("check empty.yaml", "the file is empty", 1),
        ("check binary.yaml", "is a binary file", 1),
        ("check deep.yaml", "allowed: 24 levels", 1),
        ("check huge.yaml", "16 MB", 1),
        ("check .", "there is no unit profile", 1),
        ("kit planetary-reducer --label-stock a4-3x8-70x38", "did you mean a4-3x8-70x37", 1),
        ("kit planetary-reducer --option output=splinde", "did you mean splined", 2),
        ("kit planetary-reducer --option outptu=splined", "did you mean output", 2),
        ("kit planetary-reducer --option output", "GROUP=CHOICE", 2),
        ("kit planetary-reducer --label-stock a4-3x7-64x38 --first-label 99", "has 21 labels; allowed: 1 to 21", 2),
        ("kit planetary-reducer --steps 999", "there is no step", 2),
        ("kit planetary-reducer --only lables", "did you mean labels", 2),
        ("kit planetary-reducer --address ftp://x", "allowed: http://HOST:PORT", 2),
        ("kit planetary-reducer --address http://x/y", "leave out what follows the port", 2),
        ("kit planetary-reducer --label-stock a4-5x13-38x21 --address http://" + "a.b" * 80, "a4-5x13-38x21", 1),
        ("kit planetary-reducer --out empty.yaml", "is a file; name a folder", 1),
        ("kit planetary-reducer --out empty.yaml/kit", "cannot be written", 1),
        ("kit planetary-reducer --out foreign", "notes.txt", 1),
        ("kit --job 7", "job 7 is not in the store", 1),
        ("kit", "name a profile", 2),
        ("scan 7K3M-9Q2X-F4H", "there is no store", 1),
        ("stock a4-nothing", "a4-nothing", 1),
        ("proof damaged.png", "kit.json", 2),
        ("nonsense", "No such command", 2),
    ],
)
def test_one_clear_message(tmp_path: Path, words: str, message: str, status: int) -> None:
    """The message says what is wrong; the status tells a wrong call from a wrong file."""
    (tmp_path / "empty.yaml").write_text("")
    (tmp_path / "binary.yaml").write_bytes(bytes(range(256)))
    (tmp_path / "deep.yaml").write_text("[" * 10_000 + "]" * 10_000)
    (tmp_path / "huge.yaml").write_bytes(b"a: b\n" * 10_000_000) if "huge" in words else None
    (tmp_path / "damaged.png").write_bytes(b"\x89PNG\r\n\x1a\n" + b"\0" * 40)
    (tmp_path / "foreign").mkdir()
    (tmp_path / "foreign" / "notes.txt").write_text("mine")
    before = {path for path in tmp_path.rglob("*") if "store.sqlite" not in path.name}

    done = labelkit(tmp_path, *words.split())

    assert done.returncode == status, done.stderr
    assert message in done.stderr
    assert "Traceback" not in done.stderr + done.stdout
    assert {path for path in tmp_path.rglob("*") if "store.sqlite" not in path.name} == before


def test_a_damaged_picture_is_named(tmp_path: Path) -> None:
    """A PNG cut short is told by its name, not by a traceback; so is a store that is no database."""
    (tmp_path / "photo.png").write_bytes(b"\x89PNG\r\n\x1a\n" + b"\0" * 40)
    made = labelkit(tmp_path, "kit", "planetary-reducer", "--only", "labels", "--steps", "1")
    damaged = labelkit(tmp_path, "scan", "photo.png")
    (tmp_path / "store.sqlite").write_bytes(b"not a database" * 100)
    broken = labelkit(tmp_path, "scan", "7K3M-9Q2X-F4H")

    assert made.returncode == 0, made.stderr
    assert damaged.returncode == 1
    assert "photo.png" in damaged.stderr
    assert broken.returncode == 1
    assert "not a database" in broken.stderr
    assert "Traceback" not in damaged.stderr + broken.stderr
