"""Readings of printers are kept in a file that people read, by printer, paper and page orientation."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from labelkit.errors import InputError, NotFoundError, UsageError
from labelkit.model.printer import CheckReading
from labelkit.store.printers import confirm_reading, find_factors, find_reading, keep_reading, read_printers
from labelkit.units import Quantity

MARCH, APRIL = date(2026, 3, 31), date(2026, 4, 1)


@pytest.fixture(autouse=True)
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty working folder, and a shop's folder elsewhere."""
    (tmp_path / "here").mkdir()
    (tmp_path / "shop").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    monkeypatch.setenv("LABELKIT_SHOP", str(tmp_path / "shop"))
    return tmp_path / "shop"


def reading(x: str = "139.44", y: str = "140.42", unit: str = "mm", day: date = MARCH) -> CheckReading:
    return CheckReading(read=(Quantity(Decimal(x), unit), Quantity(Decimal(y), unit)), measured=day)


def test_a_reading_is_found_again(shop: Path) -> None:
    """In the shop's folder, with the digits as they were typed."""
    kept = keep_reading("laser-2", "a4", landscape=False, reading=reading(y="140.40"))

    assert shop / "printers.yaml" == kept
    assert "laser-2:\n    a4:\n      portrait: {read: [139.44, 140.40], measured: 2026-03-31}\n" in kept.read_text()
    assert reading(y="140.40") == find_reading("laser-2", "a4", landscape=False)
    assert find_reading("laser-2", "a4", landscape=False).factors == find_factors("laser-2", "a4", False)


def test_without_a_named_shop_it_is_the_working_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    """As for layouts and profiles."""
    monkeypatch.delenv("LABELKIT_SHOP")
    keep_reading("laser-2", "a4", landscape=False, reading=reading())

    assert Path("printers.yaml").is_file()


def test_papers_and_orientations_keep_apart() -> None:
    """Each has its own reading; a new one replaces only its own."""
    for paper, landscape, x in (("a4", False, "139.1"), ("a4", True, "139.2"), ("letter", False, "139.3")):
        keep_reading("laser-2", paper, landscape=landscape, reading=reading(x))
    keep_reading("ink", "a4", landscape=False, reading=reading("139.4"))
    keep_reading("laser-2", "a4", landscape=False, reading=reading("139.5"))

    found = [
        (printer, paper, page, str(each.read[0]))
        for printer, papers in read_printers().items()
        for paper, pages in papers.items()
        for page, each in pages.items()
    ]
    assert found == [
        ("ink", "a4", "portrait", "139.4 mm"),
        ("laser-2", "a4", "portrait", "139.5 mm"),
        ("laser-2", "a4", "landscape", "139.2 mm"),
        ("laser-2", "letter", "portrait", "139.3 mm"),
    ]


def test_inches_stay_inches() -> None:
    """A reading is kept as it was typed."""
    kept = keep_reading("laser-2", "letter", landscape=False, reading=reading("5.49", "5.52", "in"))
    found = find_factors("laser-2", "letter", False)

    assert "read: [5.49 in, 5.52 in]" in kept.read_text()
    assert (140 / (5.49 * 25.4), 140 / (5.52 * 25.4)) == pytest.approx((found.x, found.y))


def test_a_second_print_confirms() -> None:
    """With its own day; a new reading must be confirmed anew."""
    keep_reading("laser-2", "a4", landscape=True, reading=reading())
    confirm_reading("laser-2", "a4", landscape=True, today=APRIL)

    assert (MARCH, APRIL) == (
        find_reading("laser-2", "a4", landscape=True).measured,
        find_reading("laser-2", "a4", landscape=True).confirmed,
    )
    keep_reading("laser-2", "a4", landscape=True, reading=reading(day=APRIL))
    assert find_reading("laser-2", "a4", landscape=True).confirmed is None


def test_the_same_readings_give_the_same_bytes(shop: Path) -> None:
    """In whatever order they were kept."""
    files = []
    for names in (("ink", "laser-2"), ("laser-2", "ink")):
        (shop / "printers.yaml").unlink(missing_ok=True)
        for name in names:
            keep_reading(name, "a4", landscape=False, reading=reading())
        files.append((shop / "printers.yaml").read_bytes())

    assert files[0] == files[1]


def test_an_unknown_printer_is_answered_with_those_there_are() -> None:
    """With the one that was probably meant; else with what to run."""
    with pytest.raises(NotFoundError) as error:
        find_factors("laser-2", "a4", False)
    assert "none was measured yet. To add one, print the check sheet, `labelkit printer --sheet" in str(error.value)

    keep_reading("laser-2", "a4", landscape=False, reading=reading())
    with pytest.raises(NotFoundError) as error:
        find_factors("lasr-2", "a4", True)
    assert str(error.value).endswith("allowed: laser-2; did you mean laser-2?")
    with pytest.raises(NotFoundError) as error:
        find_factors("plotter", "a4", True)
    assert "`labelkit printer NAME --paper a4 --landscape --read X Y`" in str(error.value)


def test_a_paper_that_was_not_measured_is_told() -> None:
    """Portrait factors are never used for landscape pages, nor those of one paper for another."""
    keep_reading("laser-2", "a4", landscape=False, reading=reading())

    for paper, landscape, page in (("a4", True, "a4 landscape"), ("letter", False, "letter portrait")):
        with pytest.raises(NotFoundError) as error:
            find_factors("laser-2", paper, landscape)
        assert f"the printer laser-2 was not measured on {page}; measured: a4 portrait" in str(error.value)
        assert f"`labelkit printer laser-2 --paper {paper}" in str(error.value)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("portrait: {read: [139.4, 150], measured: 2026-03-31}", "found 150 mm; allowed: 137.9 to 142.1 mm"),
        ("portrait: {read: [139.4], measured: 2026-03-31}", "the list has 1 value; wanted here: [across, down]"),
        ("portrait: {read: [139.4, 140], measured: today}", 'found "today"; allowed: a day as in 2026-03-31'),
        ("portrait: {read: [139.4, 140]}", "the field measured is missing"),
        ("upright: {read: [139.4, 140], measured: 2026-03-31}", 'found "upright"'),
        ("portrait: {x: 1.004, y: 0.997}", "the field x is not known here; allowed: read, measured, confirmed"),
    ],
)
def test_a_fault_of_the_file_has_its_place_and_nothing_is_overwritten(shop: Path, line: str, words: str) -> None:
    """Whoever edits the file by hand is told line and field; keeping another reading leaves it as it is."""
    text = f"format: 1\nprinters:\n  laser-2:\n    a4:\n      {line}\n"
    (shop / "printers.yaml").write_text(text)

    for call in (
        lambda: find_factors("laser-2", "a4", False),
        lambda: keep_reading("ink", "a4", landscape=False, reading=reading()),
    ):
        with pytest.raises(InputError) as error:
            call()
        assert "printers.yaml:5:" in str(error.value)
        assert words in str(error.value)
    assert text == (shop / "printers.yaml").read_text()


def test_a_shop_that_is_not_there_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A misspelt LABELKIT_SHOP is an error, not an empty shop."""
    monkeypatch.setenv("LABELKIT_SHOP", "shopp")

    with pytest.raises(UsageError, match="LABELKIT_SHOP: found shopp, which is not a folder"):
        read_printers()
