"""`labelkit proof` measures pages by their check crosses, with a kit or without."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from PIL import Image

from labelkit.store.jobs import Store
from tests.bench_app.workshop import Shell, open_job, pump
from tests.checksheets import save_scan, scanned, sheet_pdf


@pytest.fixture
def labelkit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Shell:
    """Runs the command in an empty folder."""
    monkeypatch.delenv("LABELKIT_STORE", raising=False)
    return Shell(tmp_path, monkeypatch, capsys)


def test_a_true_page_passes_without_a_kit(labelkit: Shell, tmp_path: Path) -> None:
    """Distances, scale of both axes and the verdict."""
    save_scan(tmp_path / "scan.png", scanned(sheet_pdf()))
    said = labelkit("proof", "scan.png")

    assert (0, "") == (said.status, said.err)
    assert said.out.startswith("scan.png page 1: crosses 1")
    assert said.out.endswith("; true to scale\n")


def test_the_scale_error_of_both_axes_is_told(labelkit: Shell, tmp_path: Path) -> None:
    """0.4 percent short in x, 0.3 too long in y: beyond 0.2 mm on 140, so the end status is 1."""
    save_scan(tmp_path / "scan.png", scanned(sheet_pdf(), print_x=0.996, print_y=1.003))
    said = labelkit("proof", "scan.png", "--json")
    data = json.loads(said.out)
    (crosses,) = data["crosses"]

    assert (1, False) == (said.status, data["passed"])
    assert (0.996, 1.003) == pytest.approx((crosses["scale_x"], crosses["scale_y"]), rel=0.0005)
    assert (139.44, 140.42) == pytest.approx((crosses["x_mm"], crosses["y_mm"]), rel=0.0005)
    assert "NOT TRUE: allowed 140.0 mm to 0.2 mm" in labelkit("proof", "scan.png").out


def test_a_file_drawn_for_a_printer_is_no_fault(labelkit: Shell, tmp_path: Path) -> None:
    """Its crosses are 140.56 and 139.58 mm apart because they must be."""
    (tmp_path / "two.pdf").write_bytes(sheet_pdf(printer="laser-2", x=1.004, y=0.997))
    said = labelkit("proof", "two.pdf")

    assert 0 == said.status
    assert "drawn for a printer with this error; scan its print" in said.out


def test_pages_without_crosses_need_a_kit(labelkit: Shell, tmp_path: Path) -> None:
    """Nothing could be said of them."""
    Image.new("L", (800, 800), 255).save(tmp_path / "white.png", dpi=(300, 300))
    said = labelkit("proof", "white.png")

    assert (2, "") == (said.status, said.out)
    assert "there is no kit.json beside white.png; name the kit's folder with --kit" in said.err


def test_a_page_with_crosses_is_no_sheet_of_labels(labelkit: Shell, tmp_path: Path) -> None:
    """In a kit's folder: alone it asks for no label; beside the labels both are judged."""
    with Store(str(tmp_path / "labelkit.sqlite")) as store:
        open_job(store, pump())
    assert 0 == labelkit("kit", "--job", "1", "--out", "kit").status
    save_scan(tmp_path / "kit" / "scan.png", scanned(sheet_pdf()))
    alone = labelkit("proof", "kit/scan.png")
    both = labelkit("proof", "kit/scan.png", "kit/labels.pdf")

    assert (0, 1) == (alone.status, len(alone.out.splitlines()))
    assert 0 == both.status
    assert "true to scale" in both.out
    assert "every symbol is right" in both.out
