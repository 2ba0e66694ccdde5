"""The kit: its files, its manifest, and that a folder is never half a kit."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path

import pytest

from labelkit.calc.pulling import Verdict
from labelkit.errors import NotFoundError, OutputError
from labelkit.load.stock import PRINTABLE, find_stock
from labelkit.sheets.jobview import JobView
from labelkit.sheets.kit import DOCUMENTS, KitOrder, make_kit, placing_kit
from labelkit.sheets.manifest import expected_on_stickers, expected_symbols, read_manifest
from labelkit.sheets.newparts import new_parts
from tests.shop import demo, profile_of, view_of

KEYS = {
    "format", "unit", "job", "options", "profile", "address", "bins", "inside",
    "trays", "floor", "stickers", "order", "warnings",
}  # fmt: skip


def order_of(view: JobView, steps: int | None = None, **changes: object) -> KitOrder:
    def no_photo(path: str) -> bytes:
        raise NotFoundError(path)

    values = {
        "view": view,
        "bins": view.teardown.bins[:steps],
        "label_stock": find_stock("a4-3x8-70x37", PRINTABLE),
        "first_label": 1,
        "offline_cards": False,
        "documents": frozenset(DOCUMENTS),
        "photo": no_photo,
        "paper": find_stock("a4", ("paper",)),
    }
    return KitOrder(**(values | changes))  # type: ignore[arg-type]


def files_of(order: KitOrder) -> dict[str, bytes]:
    return make_kit(order)[0]


@cache
def whole_kit() -> Mapping[str, bytes]:
    """Return everything of the reducer, made once."""
    return files_of(order_of(view_of(demo("planetary-reducer"))))


def test_manifest_has_every_key() -> None:
    """Other programs find all keys, also of lists that are empty."""
    manifest = json.loads(whole_kit()["kit.json"])

    assert set(manifest) == KEYS
    assert manifest["format"] == 1
    assert manifest["unit"] == {"mark": "G2B", "name": demo("planetary-reducer").profile.unit.name, "revision": "5"}


def test_manifest_lists_each_bin_once_in_removal_order() -> None:
    """Steps, codes and texts are unique; the text is the address and the code."""
    view = view_of(demo("planetary-reducer"))
    bins = json.loads(whole_kit()["kit.json"])["bins"]

    assert [entry["step"] for entry in bins] == [each.step for each in view.teardown.bins]
    assert len({entry["code"] for entry in bins}) == len(bins)
    assert all(entry["text"] == f"http://192.168.1.20:8080/{entry['code']}" for entry in bins)


def test_captured_parts_are_listed_with_the_step_they_stay_in() -> None:
    """The bearing behind the oil guide ring has no bin: it stays in the brake housing."""
    view = view_of(demo("planetary-reducer"))
    manifest = json.loads(whole_kit()["kit.json"])

    assert {entry["part"] for entry in manifest["inside"]} == {"input-bearing", "input-bearing-circlip"}
    housing = view.teardown.of("brake-housing")[0].step
    assert {entry["in"] for entry in manifest["inside"]} == {housing}


def test_same_job_gives_the_same_bytes() -> None:
    """Printing a job again changes not one byte."""
    assert whole_kit() == files_of(order_of(view_of(demo("planetary-reducer"))))


def test_open_option_is_said() -> None:
    """A warning names the open option and how to tell its choices apart."""
    warnings = json.loads(whole_kit()["kit.json"])["warnings"]

    assert any("option breather is open" in words for words in warnings)


def test_expected_symbols_are_inside_their_labels() -> None:
    """What the proof looks for lies where the label is."""
    manifest = json.loads(whole_kit()["kit.json"])
    by_text = {entry["text"]: entry["label"] for entry in manifest["bins"]}

    for symbol in expected_symbols(manifest):
        label = by_text[symbol.text]
        assert label["x_mm"] < symbol.x_mm < label["x_mm"] + label["w_mm"] - symbol.side_mm
        assert label["y_mm"] < symbol.y_mm < label["y_mm"] + label["h_mm"] - symbol.side_mm


def write_kit(out: Path, files: Mapping[str, bytes]) -> None:
    with placing_kit(out) as put:
        put(files)


def test_a_kit_replaces_an_older_one_whole(tmp_path: Path) -> None:
    """After writing there is the new kit and nothing else beside it."""
    out = tmp_path / "kit"
    files = whole_kit()
    write_kit(out, files)
    write_kit(out, files)

    assert {entry.name for entry in out.iterdir()} == set(files)
    assert [entry.name for entry in tmp_path.iterdir()] == ["kit"]
    assert read_manifest(out)["job"] == 1


def test_a_part_of_a_kit_does_not_replace_a_whole_one(tmp_path: Path) -> None:
    """Reprinting three labels into the kit's folder would lose the others: refused, untouched."""
    out = tmp_path / "kit"
    view = view_of(demo("planetary-reducer"))
    both = {"documents": frozenset({"labels", "cards"})}
    write_kit(out, files_of(order_of(view, **both)))
    before = {entry.name: entry.read_bytes() for entry in out.iterdir()}

    with pytest.raises(OutputError, match="would lose"):
        write_kit(out, files_of(order_of(view, steps=3, **both)))
    with pytest.raises(OutputError, match=r"would lose cards\.html"):
        write_kit(out, files_of(order_of(view, documents=frozenset({"labels"}))))
    assert {entry.name: entry.read_bytes() for entry in out.iterdir()} == before


def test_a_folder_of_something_else_is_left_alone(tmp_path: Path) -> None:
    """A folder with other files is not a kit and is never replaced."""
    (tmp_path / "notes.txt").write_text("mine")

    with pytest.raises(OutputError, match=r"notes\.txt"):
        write_kit(tmp_path, whole_kit())
    assert (tmp_path / "notes.txt").read_text() == "mine"


def test_a_kit_warns_of_offline_cards_that_lack_something() -> None:
    """Whoever prints them is told which symbols do not hold every danger, torque, rule and limit."""
    view = view_of(demo("planetary-reducer"))
    stock = find_stock("a4-2x5-99x56", PRINTABLE)
    labels = {"label_stock": stock, "documents": frozenset({"labels"})}
    _, warnings = make_kit(order_of(view, offline_cards=True, **labels))
    _, usual = make_kit(order_of(view, **labels))
    told = [warning for warning in warnings if warning.startswith("offline cards: ")]

    assert any(re.search(r"of step (.*, )?7\b.*: DANGER, WARNING", warning) for warning in told)
    assert [] == [warning for warning in usual if "offline" in warning]


def test_a_label_without_room_for_its_band_is_told() -> None:
    """The smallest stickers have none for all that must be shouted: the worst stands there, the rest is named."""
    view = view_of(demo("planetary-reducer"))
    small = order_of(view, label_stock=find_stock("roll-38x21", PRINTABLE), documents=frozenset({"labels"}))

    assert 'label of step 34: cut to fit: "LIFT 24 kg"' in make_kit(small)[1]


def new_order(view: JobView, verdicts: Mapping[str, Verdict], **changes: object) -> KitOrder:
    """Return an order of stickers and pick list."""
    documents = {"documents": frozenset({"stickers", "picklist"}), "new": new_parts(view, verdicts)}
    return order_of(view, **(documents | {"sticker_stock": find_stock("a4-4x12-46x21", PRINTABLE)} | changes))  # type: ignore[arg-type]


def test_stickers_are_in_the_manifest_as_they_are_printed() -> None:
    """With their own codes; the place in the file is that on the sheet. The captured bearing is told by its holder."""
    view = view_of(demo("planetary-reducer"))
    order = new_order(view, {"input-bearing": "condemned", "breather-std": "lost"})
    files, _ = make_kit(order)
    manifest = json.loads(files["kit.json"])
    found = {entry["part"]: entry for entry in manifest["stickers"]}
    slots = order.stickers_on.positions()
    keys = {"code", "part", "number", "name", "qty", "tray", "step", "label"}

    assert set(files) == {"stickers.pdf", "stickers-blank.pdf", "picklist.pdf", "picklist.csv", "kit.json"}
    assert all(set(entry) - {"only"} == keys for entry in manifest["stickers"])
    assert [part for part, entry in found.items() if "only" in entry] == ["breather-std"]
    assert (found["input-bearing"]["step"], found["input-bearing"]["qty"]) == ("16", 1)
    assert (found["ring-oring"]["number"], found["ring-oring"]["qty"]) == ("G2B-1107", 2)
    for entry, slot in zip(manifest["stickers"], slots, strict=False):
        label = entry["label"]
        assert (label["page"], label["x_mm"], label["y_mm"]) == (1, round(slot.x, 4), round(slot.y, 4))
    assert not {entry["code"] for entry in manifest["stickers"]} & {entry["code"] for entry in manifest["bins"]}
    assert [symbol.text for symbol in expected_on_stickers(manifest)] == [
        f"http://192.168.1.20:8080/{entry['code']}" for entry in manifest["stickers"]
    ]


def test_single_stickers_print_again() -> None:
    """Of a step, and of what stays inside it; the pick list stays whole."""
    view = view_of(demo("planetary-reducer"))
    condemned: dict[str, Verdict] = {"input-bearing": "condemned"}
    bins = tuple(each for each in view.teardown.bins if each.step in ("16", "26"))
    files, _ = make_kit(new_order(view, condemned, bins=bins))
    whole, _ = make_kit(new_order(view, condemned))

    assert [entry["part"] for entry in json.loads(files["kit.json"])["stickers"]] == [
        "ring-oring",
        "input-bearing-circlip",
        "input-bearing",
    ]
    assert files["picklist.csv"] == whole["picklist.csv"]


def test_stickers_of_what_was_condemned_are_not_lost_unsaid(tmp_path: Path) -> None:
    """A kit that was made with a verdict is not replaced by one without it, and is by one with more of them."""
    out = tmp_path / "kit"
    view = view_of(demo("planetary-reducer"))
    write_kit(out, files_of(new_order(view, {"9": "condemned", "22.1": "condemned"})))

    with pytest.raises(OutputError, match=r"would lose the stickers of step 22\.1, 22\.2"):
        write_kit(out, files_of(new_order(view, {"9": "condemned"})))
    write_kit(out, files_of(new_order(view, {"9": "condemned", "22.1": "condemned", "23": "lost"})))


def test_a_unit_of_which_nothing_is_new_has_blank_stickers_only() -> None:
    """There is no empty sheet, and no empty list."""
    text = "format: 1\nunit: {mark: T1, name: T, up: top}\nparts: [{id: a, name: A, renew: never}]\n"

    assert set(files_of(new_order(view_of(profile_of(text)), {}))) == {"stickers-blank.pdf", "kit.json"}


def test_a_sticker_without_room_for_the_serial_number_is_told() -> None:
    """The smallest sticker has none beside name and place."""
    small = find_stock("letter-4x16-46x16", PRINTABLE)
    order = new_order(view_of(demo("planetary-reducer")), {"upper-cone": "condemned"}, sticker_stock=small)

    assert 'sticker of step 32, 36.1: no room for "Serial:"' in make_kit(order)[1]
