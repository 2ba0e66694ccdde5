"""Stock keeps to its own geometry: what it holds, and what it refuses."""

from decimal import Decimal

import pytest
from pydantic import ValidationError

from labelkit.model.media import Paper, Piece
from labelkit.model.stock import LabelSheet, Roll, Tray

A4 = Paper.model_validate({"kind": "paper", "size": ["210", "297"]}, context={"name": "a4"})
SHEET = {
    "kind": "labels",
    "paper": "a4",
    "label": ["60", "40"],
    "columns": "3",
    "rows": "2",
    "pitch": ["65", "45"],
    "first": ["10", "20"],
}
CONTINUOUS = {"kind": "roll", "width": "60", "cut": {"min": "20", "max": "300", "default": "40"}}
DIE_CUT = {"kind": "roll", "width": "54", "label": ["50", "30"], "gap": "3"}


def _sheet(**changes: object) -> LabelSheet:
    return LabelSheet.model_validate(SHEET | changes, context={"name": "own", "papers": {"a4": A4}})


def _roll(base: dict[str, object], **changes: object) -> Roll:
    return Roll.model_validate(base | changes, context={"name": "own-roll"})


def test_labels_are_read_row_by_row_unless_stated():
    """The default is left to right, then down."""
    expected = [(10, 20), (75, 20), (140, 20), (10, 65), (75, 65), (140, 65)]

    assert [(piece.x, piece.y) for piece in _sheet().positions()] == expected


def test_labels_can_be_read_column_by_column():
    """`columns` fills down first."""
    expected = [(10, 20), (10, 65), (75, 20), (75, 65), (140, 20), (140, 65)]

    assert [(piece.x, piece.y) for piece in _sheet(reading="columns").positions()] == expected


def test_a_sheet_knows_its_sizes():
    """Page, piece and count are in mm, ready for drawing."""
    sheet = _sheet()

    assert sheet.name == "own"
    assert sheet.page_size == (210, 297)
    assert sheet.piece_size == sheet.size_mm == (60, 40)
    assert sheet.per_page == len(sheet.positions()) == 6


def test_inches_are_exact():
    """Lengths in inches, also as fractions, become exact millimetres (1 in = 25.4 mm, NIST SP 811)."""
    sheet = _sheet(label=["2 in", "1 1/4 in"], pitch=["2 1/8 in", "1.25 in"], first=["3/16 in", "1/2 in"])

    assert sheet.piece_size == (50.8, 31.75)
    assert sheet.positions()[1].x == float(Decimal("4.7625") + Decimal("53.975"))


def test_labels_that_just_fit_are_allowed():
    """Touching neighbours and touching the paper's edge is no fault."""
    sheet = _sheet(label=["70", "148.5"], pitch=["70", "148.5"], first=["0", "0"])

    last = sheet.positions()[-1]
    assert (last.x + last.width, last.y + last.height) == (210, 297)


def test_the_pitch_of_a_single_column_does_not_matter():
    """Where there is no neighbour there is no overlap."""
    assert _sheet(columns="1", pitch=["1", "45"]).per_page == 2


@pytest.mark.parametrize(
    ("changes", "place", "expected"),
    [
        (
            {"first": ["20.01", "20"]},
            "first",
            "last column ends at 210.01 mm, but the paper a4 is 210 mm wide",
        ),
        ({"rows": "7"}, "first", "the last row ends at 330 mm, but the paper a4 is 297 mm high"),
        ({"pitch": ["59.9", "45"]}, "pitch", "neighbours overlap by 0.1 mm"),
        ({"pitch": ["65", "39"]}, "pitch", "found 39 mm down, less than the label's height 40 mm"),
        ({"corner": "20.1"}, "corner", "at most half the smaller side of the label, 60 mm x 40 mm"),
        ({"paper": "a5"}, "paper", 'found "a5"; there is no paper of that name; allowed: a4'),
    ],
)
def test_a_sheet_that_cannot_be_is_refused_at_the_field(changes, place, expected):
    """Labels off the paper or on each other are told with their figures in mm, at the field to correct."""
    with pytest.raises(ValidationError) as error:
        _sheet(**changes)

    (found,) = error.value.errors()
    assert found["loc"] == (place,)
    assert expected in found["msg"]


def test_the_largest_allowed_place_of_the_first_label_is_told():
    """The figure that the message allows is allowed, and it is the largest."""
    with pytest.raises(ValidationError, match="allowed: at most 20 mm"):
        _sheet(first=["21", "20"])

    last = _sheet(first=["20", "20"]).positions()[-1]
    assert last.x + last.width == 210


def test_a_margin_must_leave_something_of_the_label():
    """Half the smaller side is too much."""
    with pytest.raises(ValidationError, match="leaves nothing of a label of 60 x 40 mm"):
        _sheet(margin="20")

    assert _sheet(margin="19.9").margin_mm == 19.9


@pytest.mark.parametrize(
    ("base", "expected"), [(CONTINUOUS, (60.0, 40.0)), (DIE_CUT, (50.0, 30.0))], ids=["continuous", "die-cut"]
)
def test_one_label_of_a_roll_is_one_page(base, expected):
    """Page and piece of a roll are the same, and the label fills it."""
    roll = _roll(base)

    assert roll.page_size == roll.piece_size == expected
    assert roll.positions() == (Piece(0, 0, *expected),)
    assert roll.per_page == 1


@pytest.mark.parametrize(
    ("base", "changes", "expected"),
    [
        (
            DIE_CUT,
            {"label": ["54.1", "30"]},
            "54.1 mm wide; allowed: at most the roll's width, 54 mm",
        ),
        (DIE_CUT, {"cut": CONTINUOUS["cut"]}, "a roll is either continuous"),
        (DIE_CUT, {"label": None, "gap": None}, "a roll is either continuous"),
        (DIE_CUT, {"gap": None}, "needs both label and gap"),
        (CONTINUOUS, {"gap": "3"}, "needs both label and gap"),
        (
            CONTINUOUS,
            {"cut": {"min": "20", "max": "300", "default": "19"}},
            "allowed: default from min to max",
        ),
        (CONTINUOUS, {"margin": "20"}, "leaves nothing of a label of 60 x 40 mm"),
        (CONTINUOUS, {"dpi": "72"}, "allowed: the dots per inch of a printer, 150 to 2400"),
    ],
)
def test_a_roll_that_cannot_be_is_refused(base, changes, expected):
    """One clear message a fault."""
    given = {key: value for key, value in (base | changes).items() if value is not None}
    with pytest.raises(ValidationError) as error:
        _roll(given)

    (found,) = error.value.errors()
    assert expected in found["msg"]


@pytest.mark.parametrize(
    ("dpi", "expected", "true"), [("203", 1 / 8, 203.2), ("300", 0.084667, 300), ("600", 0.042333, 600)]
)
def test_dots_have_their_true_distance(dpi, expected, true):
    """203 dpi means 8 dots to the millimetre (common practice, no source); others divide the inch."""
    roll = _roll(CONTINUOUS, dpi=dpi)

    assert roll.dot_mm == pytest.approx(expected, abs=1e-6)
    assert roll.true_dpi == pytest.approx(true)


def test_a_tray_holds_ten_kilograms_unless_stated():
    """The default limit is 10 kg; pounds are converted (1 lb = 0.45359237 kg, NIST SP 811)."""
    tray = {"kind": "tray", "inside": ["600", "400"]}

    assert Tray.model_validate(tray).limit_kg == 10
    assert Tray.model_validate(tray | {"limit": "20 lb"}).limit_kg == pytest.approx(9.0718474)


def test_a_tray_tells_an_unrecorded_depth():
    """No depth is None, never zero."""
    tray = {"kind": "tray", "inside": ["600", "400"]}

    assert Tray.model_validate(tray).depth_mm is None
    assert Tray.model_validate(tray | {"depth": "75"}).depth_mm == 75
