"""`labelkit printer` from the first sheet to the confirmed factors, and everything it refuses."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from tests.bench_app.workshop import Answer, Shell
from tests.checksheets import distances_in, save_scan, scanned, sheet_pdf


@pytest.fixture
def labelkit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Shell:
    """Runs the command in an empty folder."""
    monkeypatch.delenv("LABELKIT_SHOP", raising=False)
    return Shell(tmp_path, monkeypatch, capsys)


def good(answer: Answer) -> str:
    assert (0, "") == (answer.status, answer.err)
    return answer.out


def test_the_whole_way_with_a_caliper(labelkit: Shell, tmp_path: Path) -> None:
    """Sheet, readings, second sheet, readings again; each answer says what to do next."""
    assert "labelkit printer NAME --paper a4 --read X Y" in good(labelkit("printer", "--sheet", "one.pdf"))
    assert (140, 140) == pytest.approx(distances_in((tmp_path / "one.pdf").read_bytes()), abs=0.005)

    kept = good(labelkit("printer", "laser-2", "--paper", "a4", "--read", "139.442", "140.421"))
    assert "factors x 1.0040 y 0.9970, kept in printers.yaml" in kept
    assert "second sheet not measured yet" in good(labelkit("printer"))

    assert "--again X Y" in good(labelkit("printer", "laser-2", "--sheet", "two.pdf"))
    assert (140.56, 139.58) == pytest.approx(distances_in((tmp_path / "two.pdf").read_bytes()), abs=0.005)

    assert "laser-2 on a4 portrait: true, 140.05" in good(labelkit("printer", "laser-2", "--again", "140.05", "139.9"))
    assert f"confirmed {date.today()}" in good(labelkit("printer", "laser-2"))


def test_the_whole_way_with_a_scanner(labelkit: Shell, tmp_path: Path) -> None:
    """A printer off by 1/1.004 and 1/0.997: the first scan finds it, the second confirms, the lying page apart."""
    error = {"print_x": 1 / 1.004, "print_y": 1 / 0.997, "dpi": 150}
    save_scan(tmp_path / "one.png", scanned(sheet_pdf(landscape=True), **error), 150)
    found = good(labelkit("printer", "laser-2", "--scan", "one.png", "--json"))
    factors = json.loads(found)["factors"]
    assert (1.004, 0.997) == pytest.approx(factors, rel=0.0005)

    good(labelkit("printer", "laser-2", "--landscape", "--sheet", "two.pdf"))
    save_scan(tmp_path / "two.png", scanned((tmp_path / "two.pdf").read_bytes(), **error), 150)
    assert "laser-2 on a4 landscape: true" in good(labelkit("printer", "laser-2", "--scan", "two.png"))


def test_a_scan_without_a_name_is_measured_and_not_kept(labelkit: Shell, tmp_path: Path) -> None:
    """For who only wants to know."""
    save_scan(tmp_path / "scan.png", scanned(sheet_pdf("letter"), print_x=1.003, dpi=150), None)
    data = json.loads(good(labelkit("printer", "--scan", "scan.png", "--dpi", "150", "--json")))

    assert ("letter", "portrait", None) == (data["paper"], data["page"], data["drawn_for"])
    assert (140.42, 140) == pytest.approx(data["read_mm"], rel=0.0005)
    assert not (tmp_path / "printers.yaml").exists()


def test_nothing_kept_says_how_to_begin(labelkit: Shell) -> None:
    """In words and as data."""
    assert "no printer was measured yet; begin with: labelkit printer --sheet" in good(labelkit("printer"))
    assert {"file": "printers.yaml", "printers": []} == json.loads(good(labelkit("printer", "--json")))


def test_json_has_what_is_kept(labelkit: Shell) -> None:
    """One entry for each printer, paper and page orientation."""
    good(labelkit("printer", "ink", "--paper", "letter", "--landscape", "--read", "5.5 in", "140"))
    (row,) = json.loads(good(labelkit("printer", "--json")))["printers"]

    assert ("ink", "letter", "landscape", [139.7, 140.0]) == tuple(
        row[key] for key in ("printer", "paper", "page", "read_mm")
    )
    assert (140 / 139.7, 1) == pytest.approx(row["factors"])
    assert (date.today().isoformat(), None) == (row["measured"], row["confirmed"])


@pytest.mark.parametrize(
    ("words", "message", "status"),
    [
        ("--read 140 140", "--read: of which printer? Allowed: labelkit printer NAME --read X Y", 2),
        ("laser-2 --read 135.9 136.0", '"fit to page" on a4 with margins of 3 mm', 2),
        ("laser-2 --paper letter --read 136.1 136.2", "a page for letter fitted to A4", 2),
        ("laser-2 --read 139,4 140", "write the decimal mark as a point, as in 139.4", 2),
        ("laser-2 --read -140 140", "allowed: the two distances in mm, near 140", 2),
        ("laser-2 --read 140", "Option '--read' requires 2 arguments", 2),
        ("laser-2 --again 140 140", 'there is no printer named "laser-2" in printers.yaml; allowed: ink', 1),
        ("laser-2 --sheet x.pdf", 'there is no printer named "laser-2"', 1),
        ("inkk", "allowed: ink; did you mean ink?", 1),
        ("ink --again 140.3 140", "the second sheet reads 140.30 and 140.00 mm; allowed: 140.0 mm to 0.2 mm", 1),
        ("ink --again 136 136", "the print dialog scaled the page", 2),
        ("ink --paper letter --sheet x.pdf", "was not measured on letter portrait; measured: a4 portrait", 1),
        ("Laser_2 --read 140 140", "allowed: up to 48 of a-z, 0-9 and -", 2),
        ("ink --read 140 140 --sheet x.pdf", "--sheet and --read: allowed: one of them at a time", 2),
        ("ink --dpi 300", "--dpi is that of a scan", 2),
        ("ink --landscape", "--landscape alone does nothing; add --sheet, --read or --again", 2),
        ("--sheet x.pdf --paper a5", "a5 portrait, 148 x 210 mm, is too small", 1),
        ("--sheet x.pdf --paper a44", "did you mean a4", 1),
        ("--sheet x.pdf --paper tray-600x400", "is of kind tray; wanted: paper", 1),
        ("--sheet x.doc", "no writer for the file ending '.doc'", 2),
        ("--sheet gone/x.pdf", "gone/x.pdf: cannot be written: No such file or directory", 1),
        ("ink --scan gone.png", "gone.png: cannot be read", 1),
        ("ink --scan printers.yaml", "printers.yaml: this is no picture", 1),
        ("ink --scan own.pdf", "own.pdf: is the sheet as it was drawn; allowed: a scan of its print", 1),
        ("ink --scan own.pdf --paper letter", "own.pdf: is the sheet of a4 portrait, not of letter portrait", 2),
        ("ink --scan own.pdf --landscape", "own.pdf: is the sheet of a4 portrait, not of a4 landscape", 2),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(
    labelkit: Shell, tmp_path: Path, words: str, message: str, status: int
) -> None:
    """The right status, nothing on stdout, nothing kept and nothing written."""
    good(labelkit("printer", "ink", "--read", "139.8", "140.1"))
    (tmp_path / "own.pdf").write_bytes(sheet_pdf())
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    said = labelkit("printer", *words.split())

    assert (status, "") == (said.status, said.out)
    assert message in said.err
    assert before == {path: path.read_bytes() for path in tmp_path.iterdir()}


@pytest.mark.parametrize(
    ("printer", "x", "message"),
    [
        ("laser-2", 1.002, "scan.png: is the second sheet of the printer laser-2, not of ink"),
        ("ink", 1.004, "was drawn with factors x 1.0040 y 1.0000, now kept: x 1.0020 y 1.0000; print the second"),
    ],
)
def test_a_second_sheet_of_another_is_refused(
    labelkit: Shell, tmp_path: Path, printer: str, x: float, message: str
) -> None:
    """Drawn for another printer, or before the last reading."""
    good(labelkit("printer", "ink", "--read", f"{140 / 1.002:.4f}", "140"))
    save_scan(tmp_path / "scan.png", scanned(sheet_pdf(printer=printer, x=x), print_x=1 / x, dpi=150), 150)
    said = labelkit("printer", "ink", "--scan", "scan.png")

    assert (said.status > 0, "") == (True, said.out)
    assert message in said.err


def test_the_help_has_examples(labelkit: Shell) -> None:
    """The whole way, in four lines."""
    said = good(labelkit("printer", "--help"))

    assert "Example: labelkit printer --sheet check.pdf --paper a4" in said
    assert "labelkit printer laser-2 --paper a4 --again 140.05 139.95" in said
