"""What a kit's folder says was printed."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from labelkit.errors import InputError
from labelkit.load.stock import PRINTABLE, find_stock
from labelkit.sheets.kit import KitOrder, make_kit
from labelkit.sheets.newparts import new_parts
from labelkit.sheets.printed import has_kit, read_kit
from tests.bench_app.workshop import pump
from tests.shop import demo, view_of


def kit_in(folder: Path, *steps: str) -> dict[str, object]:
    """Write the manifest of a kit with these steps, all of them when none is named; return it."""
    view = view_of(pump(), number=7)
    order = KitOrder(
        view=view,
        bins=tuple(each for each in view.teardown.bins if not steps or each.step in steps),
        label_stock=find_stock("a4-2x5-99x56"),
        first_label=1,
        offline_cards=False,
        documents=frozenset({"labels"}),
        photo=lambda _path: b"",
        paper=find_stock("a4", ("paper",)),
    )
    files, _ = make_kit(order)
    (folder / "kit.json").write_bytes(files["kit.json"])
    return dict(json.loads(files["kit.json"]))


def test_every_symbol_leads_to_its_step(tmp_path: Path) -> None:
    """By what it says and by its code; each of the two symbols of a wide label is expected."""
    manifest = kit_in(tmp_path)
    kit = read_kit(tmp_path)

    assert 7 == kit.job
    assert {each["text"]: each["step"] for each in manifest["bins"]} == kit.steps
    assert {each["code"]: each["step"] for each in manifest["bins"]} == kit.codes
    assert 2 * len(kit.steps) == len(kit.expected)
    assert {symbol.text for symbol in kit.expected} == set(kit.steps)


def test_bins_without_a_label_are_known_by_their_code(tmp_path: Path) -> None:
    """A kit of cards only printed nothing, and still says whose codes these are."""
    manifest = kit_in(tmp_path, "1", "2")
    manifest["bins"][0]["label"] = None
    (tmp_path / "kit.json").write_text(json.dumps(manifest))
    kit = read_kit(tmp_path)

    assert (["2"], ["1", "2"]) == (list(kit.steps.values()), list(kit.codes.values()))


def test_stickers_are_sheets_of_their_own(tmp_path: Path) -> None:
    """Their pages count from 1 again; a page belongs to that of the two with which it has more in common."""
    view = view_of(demo("planetary-reducer"))
    order = KitOrder(
        view=view,
        bins=view.teardown.bins[:10],
        label_stock=find_stock("a4-2x5-99x56", PRINTABLE),
        first_label=1,
        offline_cards=False,
        documents=frozenset({"labels", "stickers"}),
        photo=lambda _path: b"",
        paper=find_stock("a4", ("paper",)),
        new=new_parts(view, {"input-bearing": "condemned"}),
    )
    files, _ = make_kit(replace(order, bins=tuple(each for each in view.teardown.bins if each.step in ("9", "16"))))
    (tmp_path / "kit.json").write_bytes(files["kit.json"])
    kit = read_kit(tmp_path)
    stickers = kit.stickers

    assert stickers is not None
    assert [sheet.what for sheet in kit.sheets] == ["labels", "stickers"]
    assert list(stickers.steps.values()) == [
        "9",
        "16 (Internal circlip DIN 472 - 80 x 2.5)",
        "16 (Deep-groove ball bearing 50 x 80 x 16)",
    ]
    assert {symbol.page for symbol in stickers.expected} == {1} == {symbol.page for symbol in kit.expected}
    assert stickers.steps.keys() == {symbol.text for symbol in stickers.expected}
    assert kit.sheet_of(stickers.steps) is stickers
    assert kit.sheet_of([*kit.steps, *list(stickers.steps)[:1]]) is kit
    assert kit.sheet_of([]) is kit
    assert kit.texts == {*kit.steps, *stickers.steps}


def test_a_folder_without_a_kit_is_told(tmp_path: Path) -> None:
    """Which file was looked for."""
    assert not has_kit(tmp_path)
    with pytest.raises(InputError, match=r"kit.json: there is no such file"):
        read_kit(tmp_path)
