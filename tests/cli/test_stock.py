"""`labelkit stock`: what there is, and one of it as a file that can be copied."""

from __future__ import annotations

import pytest

from labelkit.load.stock import all_stock, load_stock
from tests.bench_app.workshop import Shell


@pytest.mark.parametrize("name", sorted(all_stock()))
def test_what_is_shown_of_a_stock_is_a_file_that_holds_it(labelkit: Shell, name: str) -> None:
    """Copied as it is, it loads and is the same."""
    said = labelkit("stock", name)
    (labelkit.folder / "copy.yaml").write_text(said.out, encoding="utf-8")

    assert 0 == said.status
    assert {name: all_stock()[name]} == load_stock(labelkit.folder / "copy.yaml")


def test_one_faulty_file_hides_no_sound_stock(labelkit: Shell) -> None:
    """The list is whole but for what is faulty; the fault is named, and the command fails."""
    (labelkit.folder / "layouts").mkdir()
    entries = "  own: {kind: tray, inside: [600, 400], deep: 3}\n  wide: {kind: tray, inside: [700, 400]}\n"
    (labelkit.folder / "layouts" / "own.yaml").write_text(f"format: 1\nstock:\n{entries}", encoding="utf-8")

    said = labelkit("stock")

    listed = {line.split()[-1] for line in said.out.splitlines()}
    assert (1, {"wide", "a4", "roll-50"}, False) == (said.status, listed & {"wide", "a4", "roll-50"}, "own" in listed)
    assert "layouts/own.yaml:3:41: stock.own.deep: " in said.err
