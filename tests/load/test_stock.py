"""Stock is found by name, and every fault of a file is told once, at its place."""

from pathlib import Path

import pytest

from labelkit.errors import InputErrors, NotFoundError, UsageError
from labelkit.load.stock import KINDS, PRINTABLE, all_stock, describe, find_stock, load_stock, stock_faults
from labelkit.model.media import Printable

LAYOUTS = Path(__file__).resolve().parents[2] / "layouts"
BROKEN = Path(__file__).resolve().parents[1] / "data" / "stock"


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """A shop folder; call it with a file name and a text to put a stock file there."""
    folder = tmp_path / "shop" / "layouts"
    folder.mkdir(parents=True)
    monkeypatch.setenv("LABELKIT_SHOP", str(folder.parent))
    monkeypatch.chdir(tmp_path)

    def write(name: str, text: str) -> Path:
        path = folder / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_every_stock_describes_itself_in_plain_figures(stock):
    """`describe` gives name, kind and size of each; sizes are numbers, not texts."""
    for name, entry in stock.items():
        found = describe(entry)

        assert (found["name"], found["kind"]) == (name, entry.kind)
        assert found["kind"] in KINDS
        assert found["size_mm"] == pytest.approx(list(entry.size_mm))


def test_a_sheet_describes_its_geometry(stock):
    """All figures of a sheet, whole millimetres as whole numbers."""
    expected = {
        "name": "a4-5x13-38x21",
        "kind": "stickers",
        "size_mm": [38, 21],
        "paper": "a4",
        "page_mm": [210, 297],
        "columns": 5,
        "rows": 13,
        "per_sheet": 65,
        "first_mm": [5, 12],
        "pitch_mm": [40.5, 21],
        "corner_mm": 1.5,
        "reading": "rows",
        "margin_mm": 1.5,
        "dpi": 600,
    }

    assert describe(stock["a4-5x13-38x21"]) == expected


def test_rolls_and_trays_describe_what_applies(stock):
    """A continuous roll has a range of lengths and no gap, a die-cut roll the reverse, a tray its limit."""
    continuous, die_cut, tray = (describe(stock[name]) for name in ("roll-50", "roll-50x30", "tray-600x400"))

    assert (continuous["cut_mm"], continuous["die_cut"], "gap_mm" in continuous) == ([20, 300], False, False)
    assert (die_cut["gap_mm"], die_cut["die_cut"], "cut_mm" in die_cut) == (3, True, False)
    assert tray == {
        "name": "tray-600x400", "kind": "tray", "size_mm": [600, 400], "depth_mm": 75, "limit_kg": 10,
    }  # fmt: skip


FAULTS = {
    "bracket-open": ("4:1", "is not YAML"),
    "columns-not-whole": ("7:14: stock.own.columns", 'found "2.5"; allowed: a whole number'),
    "corner-too-round": ("11:13: stock.own.corner", "found 19 mm; allowed: at most half"),
    "cut-longer-than-its-maximum": ("3:37: stock.own.cut", "min 20 mm, default 100 mm, max 90 mm"),
    "die-cut-without-gap": ("3:8: stock.own", "needs both label and gap"),
    "dpi-of-no-printer": ("11:10: stock.own.dpi", 'found "60"; allowed: the dots per inch of a printer'),
    "empty-file": ("", "the file is empty"),
    "entry-is-a-list": ("3:8: stock.own", "a mapping of fields is wanted here"),
    "field-misspelt": ("8:5: stock.own.colums", "did you mean columns?"),
    "format-2": ("1:9: format", 'found "2"; allowed: 1'),
    "kind-missing": (
        "4:5: stock.own",
        "the field kind is missing; allowed: labels, stickers, roll, paper, tray",
    ),
    "kind-not-known": (
        "4:11: stock.own.kind",
        'found "label"; allowed: labels, stickers, roll',
    ),
    "label-of-one-size": ("6:12: stock.own.label", 'found "70"; a list is wanted here: [across, down]'),
    "label-of-three-sizes": ("6:12: stock.own.label", "the list has 3 values; wanted here: [across, down]"),
    "label-wider-than-its-roll": (
        "3:39: stock.own.label",
        "52 mm wide; allowed: at most the roll's width, 50",
    ),
    "labels-overlap-across": ("9:12: stock.own.pitch", "neighbours overlap by 0.5 mm"),
    "labels-overlap-down": ("9:12: stock.own.pitch", "neighbours overlap by 1 mm"),
    "last-column-outside-the-paper": ("10:12: stock.own.first", "212 mm, but the paper a4 is 210 mm wide"),
    "last-row-outside-the-paper": ("10:12: stock.own.first", "328.5 mm, but the paper a4 is 297 mm high"),
    "margin-eats-the-label": ("4:5: stock.own", "margin 18 mm on both sides leaves nothing"),
    "name-twice": ("11:3: stock.own", "the key own stands here twice (first in line 3)"),
    "name-with-capitals": ("3:3: stock.My Labels", 'found "My Labels"; allowed: up to 48 of a-z, 0-9'),
    "paper-in-kilograms": ("3:34: stock.own.size[1]", '"kg" is not a unit of length'),
    "paper-not-known": ("5:12: stock.own.paper", 'found "a44"'),
    "paper-without-height": ("3:34: stock.own.size[1]", "found 0 mm; allowed: more than 0"),
    "reading-not-known": ("11:14: stock.own.reading", 'found "down"; allowed: rows, columns'),
    "roll-of-no-kind": ("3:8: stock.own", "a roll is either continuous"),
    "roll-of-two-kinds": ("3:8: stock.own", "a roll is either continuous"),
    "rows-missing": ("4:5: stock.own", "the field rows is missing"),
    "stock-empty": ("2:8: stock", "at least one entry is wanted here"),
    "stock-missing": ("1:1", "the field stock is missing"),
    "tray-limit-in-millimetres": ("3:48: stock.own.limit", '"mm" is not a unit of mass'),
}


def test_every_broken_file_is_tried():
    """No fixture lies about unused."""
    assert {path.stem for path in BROKEN.glob("*.yaml")} == set(FAULTS)


@pytest.mark.parametrize("name", sorted(FAULTS))
def test_a_file_with_one_fault_gives_one_message_at_its_place(name, monkeypatch):
    """File, line, column, field, and what is wrong there."""
    monkeypatch.chdir(BROKEN)
    place, expected = FAULTS[name]
    with pytest.raises(InputErrors) as error:
        load_stock(BROKEN / f"{name}.yaml")

    (problem,) = error.value.problems
    assert str(problem).startswith(f"{name}.yaml:{place}: " if place else f"{name}.yaml: ")
    assert expected in problem.message


def test_a_paper_with_faults_is_not_called_missing(shop):
    """A sheet on a faulty paper says so, beside the paper's own fault."""
    path = shop(
        "own.yaml",
        "format: 1\nstock:\n"
        "  plan: {kind: paper, size: [300]}\n"
        "  own: {kind: labels, paper: plan, label: [9, 9], columns: 1, rows: 1, pitch: [9, 9],\n"
        "        first: [5, 5]}\n",
    )
    with pytest.raises(InputErrors) as error:
        load_stock(path)

    assert [problem.line for problem in error.value.problems] == [3, 4]
    assert "the paper of that name has faults itself" in error.value.problems[1].message


def test_all_faults_of_all_files_are_told_at_once(shop):
    """One run is enough to correct everything."""
    shop("one.yaml", "format: 1\nstock:\n  one: {kind: tray, inside: [600, -1], depth: deep}\n")
    shop("two.yaml", "format: 1\nstock:\n  two: {kind: trays}\n")

    found = [(problem.file.rpartition("/")[2], problem.path) for problem in stock_faults()]
    assert found == [
        ("one.yaml", "stock.one.inside[1]"),
        ("one.yaml", "stock.one.depth"),
        ("two.yaml", "stock.two.kind"),
    ]


TRAY = "format: 1\nstock:\n  {name}: {{kind: tray, inside: [{width}, 250]}}\n"


def test_a_name_in_two_files_is_a_fault_at_the_second(shop):
    """Both places are named."""
    shop("one.yaml", TRAY.format(name="own", width=500))
    shop("two.yaml", "# mine\n" + TRAY.format(name="own", width=510))
    with pytest.raises(InputErrors) as error:
        find_stock("own")

    (problem,) = error.value.problems
    assert (problem.file, problem.line, problem.column) == ("shop/layouts/two.yaml", 4, 3)
    assert "stands already in shop/layouts/one.yaml, line 3" in problem.message


def test_a_name_of_a_packaged_stock_is_a_fault_of_the_shop_s_file(shop):
    """Nobody corrects the installed file; both ways out are told."""
    shop("own.yaml", "# mine\n" + TRAY.format(name="tray-600x400", width=598))
    with pytest.raises(InputErrors) as error:
        find_stock("tray-600x400")

    (problem,) = error.value.problems
    assert (problem.file, problem.line, problem.column) == ("shop/layouts/own.yaml", 4, 3)
    assert "the name tray-600x400 is that of a stock which comes with labelkit (" in problem.message
    assert "trays.yaml, line " in problem.message
    assert "rename this one, or copy that file whole" in problem.message


def test_what_is_sound_is_there_whatever_else_is_faulty(shop):
    """A shop's slip in one stock takes no other from it, nor those that came with labelkit."""
    shop("own.yaml", "format: 1\nstock:\n  good: {kind: tray, inside: [9, 9]}\n  a5: {kind: tray, inside: [0, 9]}\n")

    found = all_stock()
    assert {"good", "a4", "a4-3x8-70x37", "tray-600x400"} <= found.keys()
    assert "a5" not in found


def test_the_shop_is_right_about_a_paper_that_stands_in_two_files(shop):
    """While the clash is not yet corrected, sheets lie on the shop's own paper."""
    shop("own.yaml", "format: 1\nstock:\n  a4: {kind: paper, size: [211, 299]}\n")

    assert find_stock("a4-3x8-70x37", PRINTABLE).page_size == (211, 299)


def test_a_shop_file_replaces_the_packaged_file_of_its_name(shop):
    """A copy of a packaged file can be edited without a clash; what was taken out of it is gone."""
    shop("trays.yaml", TRAY.format(name="tray-600x400", width=598))

    assert find_stock("tray-600x400", ("tray",)).size_mm == (598, 250)
    assert [name for name, entry in all_stock().items() if entry.kind == "tray"] == ["tray-600x400"]


def test_faults_of_other_stock_do_not_hinder(shop):
    """Labels are printed though a tray is written wrongly; its own faults are told when it is wanted."""
    shop(
        "own.yaml",
        "format: 1\nstock:\n  good: {kind: tray, inside: [9, 9]}\n  bad: {kind: tray, inside: [0, 9]}\n",
    )

    assert find_stock("good", ("tray",)).size_mm == (9, 9)
    assert find_stock("a4-3x8-70x37", PRINTABLE).per_page == 24
    with pytest.raises(InputErrors, match=r"own\.yaml:4:\d+: stock\.bad\.inside\[0\]"):
        find_stock("bad")


def test_a_file_of_another_format_is_not_used(shop):
    """A fault in the head of a file concerns all its stock."""
    shop("own.yaml", TRAY.format(name="own", width=500).replace("format: 1", "format: 2"))

    with pytest.raises(InputErrors, match=r"own\.yaml:1:9: format: "):
        find_stock("own")


def test_a_missing_name_tells_which_files_were_not_read_in_full(shop):
    """The wanted stock may stand in the file that has the fault."""
    shop("own.yaml", "format: 1\nstock: [\n")

    with pytest.raises(NotFoundError, match=r'named "mine".*because of faults: shop/layouts/own\.yaml'):
        find_stock("mine")


def test_an_unknown_name_is_answered_with_the_nearest(stock):
    """What was given, what there is of that kind, what was probably meant."""
    with pytest.raises(NotFoundError) as error:
        find_stock("tray-600x440", ("tray",))

    message = str(error.value)
    assert message.startswith('there is no stock of kind tray named "tray-600x440"; allowed: tray-600x400, ')
    assert message.endswith("did you mean tray-600x400?")
    assert "roll-50" not in message


def test_stock_of_another_kind_is_not_taken(stock):
    """A paper is no tray, and the message says what it is."""
    with pytest.raises(NotFoundError, match="the stock a4 is of kind paper; wanted: tray; allowed: tray-"):
        find_stock("a4", ("tray",))


def test_a_path_with_one_stock_of_the_wanted_kind_is_enough(shop, tmp_path):
    """Its paper may stand beside it, or among the packaged ones."""
    path = tmp_path / "mine.yaml"
    path.write_text(
        "format: 1\nstock:\n"
        "  plan: {kind: paper, size: [300, 300]}\n"
        "  own: {kind: labels, paper: plan, label: [9, 9], columns: 1, rows: 1, pitch: [9, 9],\n"
        "        first: [5, 5]}\n",
        encoding="utf-8",
    )

    found = find_stock("mine.yaml", PRINTABLE)
    assert isinstance(found, Printable)
    assert (found.name, found.page_size) == ("own", (300, 300))
    assert find_stock(f"{path}:plan", ("paper",)).size_mm == (300, 300)


def test_a_path_with_several_asks_which(stock):
    """The message shows how to name one."""
    rolls = LAYOUTS / "rolls.yaml"
    with pytest.raises(UsageError, match=r"rolls\.yaml: holds \d+ stocks; write .*rolls\.yaml:NAME; names: roll-50, "):
        find_stock(str(rolls))

    assert find_stock(f"{rolls}:roll-80").size_mm == (80, 50)


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ("rolls.yaml:roll-8", r'rolls\.yaml: there is no stock named "roll-8"; .*did you mean roll-80\?'),
        ("papers.yaml:a4", r"papers\.yaml: the stock a4 is of kind paper; wanted: tray; allowed: nothing"),
    ],
)
def test_a_name_that_is_not_in_the_file_is_told(stock, given, expected):
    """FILE:NAME fails like a name, with the file in front."""
    with pytest.raises(NotFoundError, match=expected):
        find_stock(f"{LAYOUTS}/{given}", ("tray",) if "a4" in given else KINDS)


def test_a_file_without_the_wanted_kind_is_told(stock):
    """A file of rolls has no tray."""
    with pytest.raises(NotFoundError, match=r"rolls\.yaml: holds no stock of kind tray"):
        find_stock(f"{LAYOUTS}/rolls.yaml", ("tray",))


@pytest.mark.parametrize("given", ["nothing.yaml", "./", "gone/x.yaml:a"])
def test_a_path_that_cannot_be_read_is_told(stock, given):
    """Missing files and folders give a message, not a traceback."""
    with pytest.raises(InputErrors, match=r"there is no such file|is a folder"):
        find_stock(given)
