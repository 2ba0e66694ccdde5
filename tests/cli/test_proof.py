"""`labelkit proof`: labels against their kit, and pages measured by their check crosses, with a kit or without."""

from __future__ import annotations

import io
import json
import re
import shutil
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray
from PIL import Image

from labelkit.proof.crosses import find_crosses
from labelkit.proof.decode import read_symbols
from labelkit.proof.firstlook import may_hold_symbols
from labelkit.store.jobs import Store
from tests.bench_app.workshop import Shell, called, open_job, pump
from tests.checksheets import save_scan, scanned, sheet_pdf

DPI = 150  # of scans: a module is nearly four dots


def told_once(function: Callable[..., Any]) -> Callable[..., Any]:
    """Return a function of a picture that keeps its answers: what a page says follows from its dots alone."""
    answers: dict[Any, Any] = {}

    def key(value: Any) -> Any:
        return (value.shape, value.tobytes()) if isinstance(value, np.ndarray) else value

    @wraps(function)
    def once(*values: Any, **named: Any) -> Any:
        asked = tuple(map(key, (*values, *named.values())))
        if asked not in answers:
            answers[asked] = function(*values, **named)
        return answers[asked]

    return once


ONCE = {each.__name__: told_once(each) for each in (read_symbols, find_crosses, may_hold_symbols)}


@pytest.fixture
def labelkit(labelkit: Shell) -> Shell:
    """Runs the command in an empty folder; a page that was seen before is not read again."""
    for name, function in ONCE.items():
        labelkit.patch.setattr(f"labelkit.cli.proof.{name}", function)
    return labelkit


def test_a_true_page_passes_without_a_kit(labelkit: Shell, tmp_path: Path) -> None:
    """Distances, scale of both axes and the verdict."""
    save_scan(tmp_path / "scan.png", scanned(sheet_pdf(), dpi=DPI), DPI)
    said = labelkit("proof", "scan.png")

    assert (0, "") == (said.status, said.err)
    assert said.out.startswith("scan.png page 1: crosses 1")
    assert said.out.endswith("; true to scale\n")


def test_the_scale_error_of_both_axes_is_told(labelkit: Shell, tmp_path: Path) -> None:
    """0.4 percent short in x, 0.3 too long in y: beyond 0.2 mm on 140, so the end status is 1."""
    save_scan(tmp_path / "scan.png", scanned(sheet_pdf(), print_x=0.996, print_y=1.003, dpi=DPI), DPI)
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
    save_scan(tmp_path / "kit" / "scan.png", scanned(sheet_pdf(), dpi=DPI), DPI)
    alone = labelkit("proof", "kit/scan.png")
    both = labelkit("proof", "kit/scan.png", "kit/labels.pdf")

    assert (0, 1) == (alone.status, len(alone.out.splitlines()))
    assert 0 == both.status
    assert "true to scale" in both.out
    assert "every symbol is right" in both.out


ABOVE, ROW = 8.5, 56  # mm of a4-2x5-99x56


@pytest.fixture(scope="module")
def prints(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop's folder with a store and the kits of two jobs: kit-1 on pages of 10, kit-2 on a roll."""
    folder = tmp_path_factory.mktemp("prints")
    for job, stock in ((1, "a4-2x5-99x56"), (2, "roll-100x50")):
        with Store(str(folder / "labelkit.sqlite")) as store:
            open_job(store, pump(), serial=str(job))
        called(folder, *f"kit --job {job} --label-stock {stock} --out kit-{job}".split())
    return folder


@pytest.fixture
def shop(labelkit: Shell, prints: Path) -> Shell:
    """Runs the command in a copy of the shop's folder."""
    shutil.copytree(prints, labelkit.folder, dirs_exist_ok=True)
    return labelkit


def page_of(pdf: Path, number: int) -> bytes:
    """Return one page of a PDF as a PDF."""
    source, one, stream = pypdfium2.PdfDocument(pdf), pypdfium2.PdfDocument.new(), io.BytesIO()
    one.import_pages(source, [number - 1])
    one.save(stream)
    one.close()
    source.close()
    return stream.getvalue()


def scan_of(shop: Shell, page: int, *, rows: int = 3, scale: float = 1.0, kit: str = "kit-1") -> NDArray[np.uint8]:
    """Print a page of labels and scan it down to some row of labels; page 2 has three."""
    pixels = scanned(page_of(shop.folder / kit / "labels.pdf", page), dpi=DPI, print_x=scale, print_y=scale)
    return pixels[: round((ABOVE + rows * ROW + 4) / 25.4 * DPI)].copy()


def steps_of(shop: Shell, page: int) -> list[str]:
    manifest = json.loads((shop.folder / "kit-1" / "kit.json").read_text())
    return [each["step"] for each in manifest["bins"] if each["label"]["page"] == page]


def test_the_kit_s_own_file_is_right(shop: Shell) -> None:
    """Fifteen labels with two symbols each on two pages, in a line."""
    said = shop("proof", "kit-1/labels.pdf")

    assert (0, "") == (said.status, said.err)
    assert [
        "labels pages 1-2: 15 of 15 steps right",
        "30 read, 0 missing, 0 wrong, 0 extra: every symbol is right",
    ] == said.out.splitlines()[-2:]


def test_one_scanned_page_is_judged_by_itself(shop: Shell) -> None:
    """The page that was scanned passes; the other one is named, and its labels are no fault."""
    save_scan(shop.folder / "scan.png", scan_of(shop, 2), DPI)
    said = shop("proof", "scan.png", "--kit", "kit-1")

    assert 0 == said.status
    assert said.out.splitlines()[1:] == [
        "labels page 2: 5 of 5 steps right",
        "labels page 1: not in this scan",
        "10 read, 0 missing, 0 wrong, 0 extra: every symbol of page 2 is right",
    ]
    data = json.loads(shop("proof", "scan.png", "--kit", "kit-1", "--json").out)
    assert (True, [1], []) == (data["passed"], [each["page"] for each in data["unseen"]], data["missing"])


def test_a_file_of_ours_has_all_pages(shop: Shell) -> None:
    """Half of the labels lost on the way to the printer is a fault; the same half as a scan is not."""
    half = page_of(shop.folder / "kit-1" / "labels.pdf", 1)
    (shop.folder / "scanned.pdf").write_bytes(half)
    (shop.folder / "ours.pdf").write_bytes(half + b"\n% /Creator (labelkit)\n")

    assert 0 == shop("proof", "scanned.pdf", "--kit", "kit-1").status
    said = shop("proof", "ours.pdf", "--kit", "kit-1")
    assert 1 == said.status
    assert ["MISSING labels page 2: not in the file", "20 read, 0 missing, 0 wrong, 0 extra: NOT RIGHT"] == (
        said.out.splitlines()[-2:]
    )


def test_missing_symbols_are_named_by_their_steps(shop: Shell) -> None:
    """A blot over one label and over one of two symbols of the next: steps, and no addresses."""
    pixels = scan_of(shop, 2)
    first, second = steps_of(shop, 2)[:2]
    half, line = pixels.shape[1] // 2, round(ROW / 25.4 * DPI)
    pixels[:line, : half + round(half * 0.35)] = 120
    save_scan(shop.folder / "scan.png", pixels, DPI)
    said = shop("proof", "scan.png", "--kit", "kit-1")

    assert 1 == said.status
    assert (
        f"MISSING labels page 2: 3 of 5 steps right; not read: steps {first}, {second} (1 of its 2 symbols)" in said.out
    )
    assert "http" not in said.out
    assert said.out.endswith("7 read, 3 missing, 0 wrong, 0 extra: NOT RIGHT\n")
    missing = json.loads(shop("proof", "scan.png", "--kit", "kit-1", "--json").out)["missing"]
    assert [first, first, second] == sorted(each["step"] for each in missing)


@pytest.mark.parametrize("scale", [0.95, 1.03])
def test_a_print_that_the_dialog_scaled_does_not_pass(shop: Shell, scale: float) -> None:
    """Every symbol is read, and still it must be printed again at 100 %."""
    save_scan(shop.folder / "scan.png", scan_of(shop, 2, scale=scale), DPI)
    said = shop("proof", "scan.png", "--kit", "kit-1")
    data = json.loads(shop("proof", "scan.png", "--kit", "kit-1", "--json").out)

    assert 1 == said.status
    assert f"SCALED scan.png page 1: printed at {scale:.1%}, allowed 98.5% to 101.5%" in said.out
    assert 'Print it again at 100 % ("actual size")' in said.out
    assert "every symbol is right, but NOT ITS SIZE" in said.out
    assert (False, True) == (data["passed"], data["pages"][0]["scaled"])


def test_a_printer_s_own_error_is_only_told(shop: Shell) -> None:
    """0.7 percent is what printers do; labels bear it, and the answer says how far it is off."""
    save_scan(shop.folder / "scan.png", scan_of(shop, 2, scale=0.993), DPI)
    said = shop("proof", "scan.png", "--kit", "kit-1")

    assert 0 == said.status
    told = re.search(r", scale x ([.0-9]+) y ([.0-9]+)\n", said.out)
    assert told
    assert (0.993, 0.993) == pytest.approx(tuple(map(float, told.groups())), abs=0.0005)
    assert "scan.png page 1: printed at 99.3%; within 98.5% to 101.5% a printer may be so by itself" in said.out


def test_a_photograph_has_no_scale(shop: Shell) -> None:
    """Whatever its file says about dots: its labels are judged, its size is not."""
    pixels = scan_of(shop, 2, rows=2)
    height, width = pixels.shape
    lean = (1, 0.12, 0, 0, 1, 0, 0, 0.0001)
    Image.fromarray(pixels).transform((width, height), Image.Transform.PERSPECTIVE, lean, fillcolor=200).save(
        shop.folder / "photo.jpg", dpi=(300, 300), quality=92
    )
    said = shop("proof", "photo.jpg", "--kit", "kit-1")

    assert "no flat scan: its scale is not measured" in said.out
    assert "SCALED" not in said.out
    assert "labels page 2: " in said.out


def test_two_kits_are_two_answers(shop: Shell) -> None:
    """Each file is held against the kit of its own folder."""
    said = shop("proof", "kit-1/labels.pdf", "kit-2/labels.pdf")

    assert 0 == said.status
    assert ["against kit-1/kit.json, job 1:", "against kit-2/kit.json, job 2:"] == [
        line for line in said.out.splitlines() if line.startswith("against")
    ]
    assert 2 == said.out.count("every symbol is right")
    assert json.loads(shop("proof", "kit-1/labels.pdf", "kit-2/labels.pdf", "--json").out)["passed"]


def test_a_wrong_kit_is_named(shop: Shell) -> None:
    """Whose labels these are is said once for a page, not for every symbol."""
    save_scan(shop.folder / "scan.png", scan_of(shop, 1, rows=1), DPI)
    said = shop("proof", "scan.png", "--kit", "kit-2")

    assert 1 == said.status
    assert (
        "WRONG KIT scan.png page 1: its symbols are of job 1, and kit-2/kit.json is of job 2; "
        "name the folder of job 1 with --kit\n"
    ) in said.out
    assert 3 == len(said.out.splitlines())


def test_a_wrong_kit_is_named_without_its_store_too(shop: Shell) -> None:
    """The kit of the other job lies beside it, or nobody knows whose labels these are."""
    (shop.folder / "labelkit.sqlite").unlink()
    save_scan(shop.folder / "kit-2" / "scan.png", scan_of(shop, 1, rows=1), DPI)
    unknown, beside = shop("proof", "kit-2/scan.png"), shop("proof", "kit-2/scan.png", "kit-1/labels.pdf")

    assert 'its symbols are of no job that is known here, as "http://' in unknown.out
    assert "WRONG KIT kit-2/scan.png page 1: its symbols are of job 1, and kit-2/kit.json is of job 2" in beside.out
    assert not (shop.folder / "labelkit.sqlite").exists()


def test_an_earlier_print_of_the_same_job_is_told_apart(shop: Shell) -> None:
    """Labels that carry another address open the same cards; they are not what this kit printed."""
    save_scan(shop.folder / "scan.png", scan_of(shop, 2, rows=1), DPI)
    assert 0 == shop("kit", "--job", "1", "--address", "http://10.9.8.7", "--only", "labels", "--out", "again").status
    said = shop("proof", "scan.png", "--kit", "again")

    assert 1 == said.status
    assert "OTHER PRINT scan.png page 1: these labels are of job 1 too, but not of the print that again/kit.json" in (
        said.out
    )


def test_a_label_of_another_job_on_a_page_is_named(shop: Shell) -> None:
    """A started sheet had been put in the printer: the strange label is told by its job."""
    pixels, strange = scan_of(shop, 2), scan_of(shop, 1, kit="kit-2")
    height, width = strange.shape
    pixels[-height:, -width:] = strange
    save_scan(shop.folder / "scan.png", pixels, DPI)
    said = shop("proof", "scan.png", "--kit", "kit-1")

    assert 1 == said.status
    assert "EXTRA scan.png page 1: a label of job 2" in said.out


def test_a_wrong_symbol_is_named_by_both_steps(shop: Shell) -> None:
    """In the place of one label stands another one of the kit, and in one place the right label says other words."""
    file = shop.folder / "kit-1" / "kit.json"
    manifest = json.loads(file.read_text())
    first, third = (each for each in manifest["bins"] if each["step"] in ("1", "3"))
    page_2 = next(each for each in manifest["bins"] if each["label"]["page"] == 2)
    first["text"], page_2["text"] = page_2["text"], first["text"]
    first["code"], page_2["code"] = page_2["code"], first["code"]
    words, third["text"] = third["text"], "http://10.9.8.7/" + third["code"]
    file.write_text(json.dumps(manifest))
    said = shop("proof", "kit-1/labels.pdf")

    assert 1 == said.status
    assert 2 == said.out.count(f"WRONG labels page 1: in the place of step 1 is step {page_2['step']}\n")
    assert 2 == said.out.count(f'WRONG labels page 1: in the place of step 3 is "{words}"\n')
    assert "labels page 1: 8 of 10 steps right\n" in said.out
    assert "step 2 " not in said.out


def test_files_without_symbols_are_said_in_a_line(shop: Shell) -> None:
    """Maps, the exploded view, and files of the kit that are no prints: nothing to prove is no fault."""
    endings = ("csv", "html", "json", "svg")
    names = [f"kit-1/{name}.pdf" for name in ("exploded", "labels", "stickers", "trays")]
    names += [
        str(path.relative_to(shop.folder)) for end in endings for path in (shop.folder / "kit-1").glob(f"*.{end}")
    ]
    said = shop("proof", "--dpi", "150", *names)

    assert (0, "") == (said.status, said.err)
    assert "kit-1/cards.html: no print, nothing to prove\n" in said.out
    assert "kit-1/exploded.pdf page" in said.out
    assert re.search(r"kit-1/trays.pdf pages? [-0-9, ]+: no symbols, nothing to prove\n", said.out)
    assert re.search(r"kit-1/trays.pdf pages [-0-9, ]+: crosses 1(39.9|40.0)[0-9] x 1(39.9|40.0)[0-9] mm", said.out)
    assert "30 read, 0 missing, 0 wrong, 0 extra: every symbol is right\nagainst the stickers of kit-1/" in said.out
    assert said.out.endswith("0 missing, 0 wrong, 0 extra: every symbol is right\n")


def test_pages_of_ours_without_symbols_are_not_searched_by_all_means(
    shop: Shell, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was drawn without dirt is read at once or not there; only few pages are even looked at for crosses."""

    def never(*_: object, **__: object) -> None:
        raise AssertionError

    looked = []
    monkeypatch.setattr("labelkit.cli.proof.rescued", never)
    monkeypatch.setattr("labelkit.cli.proof.may_hold_symbols", never)
    monkeypatch.setattr("labelkit.cli.proof.find_crosses", lambda *it: looked.append(1) or find_crosses(*it))
    said = shop("proof", "kit-1/trays.pdf")
    pages = len(pypdfium2.PdfDocument(shop.folder / "kit-1" / "trays.pdf"))

    assert 0 == said.status
    assert len(looked) < pages


def test_a_scan_on_which_nothing_is_read_does_not_pass(shop: Shell) -> None:
    """An empty page proves nothing about labels."""
    Image.new("L", (620, 874), 255).save(shop.folder / "white.png", dpi=(DPI, DPI))
    said = shop("proof", "white.png", "--kit", "kit-1")

    assert 1 == said.status
    assert "NOT READ white.png page 1: no symbol can be read" in said.out
