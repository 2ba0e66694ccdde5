"""The check sheet of a printer: crosses for the caliper, rulers for the eye, four steps, and a symbol for the scan."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from labelkit.drawing.page import BLACK, Box, Group, Item, Page, Path, Pen, Symbol, line, moved
from labelkit.drawing.qr import encode
from labelkit.drawing.symbol import outer_side, snap
from labelkit.drawing.text import fit_line, measure, size_for_cap, wrap
from labelkit.drawing.text import line as text_line
from labelkit.errors import CapacityError
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.media import Paper
from labelkit.model.printer import CHECK_MM, CheckMark, Factors, orientation
from labelkit.sheets import printerpictures as pictures
from labelkit.sheets.ruler import FREE, check_crosses, ruler_x, ruler_y

# Room for crosses, words and margins, mm, by page orientation.
_LEAST: Final = {"portrait": (185.0, 255.0), "landscape": (240.0, 200.0)}
# The sheet is not spread wider than this on larger paper.
_MOST: Final = {"portrait": (186.0, 262.0), "landscape": (273.0, 188.0)}
_MARGIN: Final = 10.0
_HEAD: Final = 30.0  # from the top of the sheet to the upper crosses
_HAIR: Final = Pen(0.18)
_MODULE: Final = 0.85
_PRINTER_DPI: Final = 600

_TITLE: Final = size_for_cap(7.0, "bold")
_WORDS: Final = size_for_cap(2.45)
_STRONG: Final = size_for_cap(2.45, "bold")
_SMALL: Final = size_for_cap(1.8)
_LEADING: Final = 1.32
_LIES: Final = {"portrait": noop("portrait"), "landscape": noop("landscape")}


@dataclass(frozen=True, slots=True)
class _Step:
    """One of the four steps: its drawing, what to do, what to type (no word of it breaks), and what else would do."""

    picture: Callable[[], Group]
    words: str
    command: tuple[str, ...] = ()
    note: str = ""


def check_sheet(
    paper: Paper, *, landscape: bool = False, printer: str | None = None, factors: Factors | None = None
) -> Page:
    """Return the check sheet of a paper.

    Args:
        paper: what it is printed on.
        landscape: the page lies on its long side.
        printer: the printer whose factors it is drawn with; None: drawn true, for a first reading.
        factors: these factors.

    Raises:
        CapacityError: the paper is too small for crosses 140 mm apart and what belongs round them.
    """
    factors = factors or Factors()
    mark = CheckMark(paper.name, landscape, printer, factors)
    page = orientation(landscape)
    width, height = reversed(paper.size_mm) if landscape else paper.size_mm
    room_x, room_y = factors.window(width, height)
    if room_x < _LEAST[page][0] or room_y < _LEAST[page][1]:
        least = " x ".join(f"{side:g}" for side in _LEAST[page])
        raise CapacityError(
            f"{paper.name} {page}, {width:g} x {height:g} mm, is too small for crosses {CHECK_MM} mm apart; "
            f"allowed: at least {least} mm, as a4 and letter are"
        )
    across, down = (min(room - 2 * _MARGIN, most) for room, most in zip((room_x, room_y), _MOST[page], strict=True))
    box = Box((room_x - across) / 2, (room_y - down) / 2, across, down)
    left = box.x + 8 if landscape else box.x + (box.width - CHECK_MM) / 2
    items = [*_head(box, mark), *_square(left, box.y + _HEAD, mark, paper), *_foot(box)]
    items += _rows(box, left, mark) if landscape else _columns(box, mark)
    return Page(width, height, (Group(tuple(items), "sheet", matrix=factors.matrix),), "check sheet")


def _head(box: Box, mark: CheckMark) -> list[Item]:
    base = box.y + 8
    if mark.printer is None:
        title = _("CHECK SHEET")
        told = _("How true does this printer print? The crosses are 140.0 mm apart on both axes.")
    else:
        title = _("SECOND CHECK")
        told = _("Drawn with the factors of {printer}, {factors}. Both axes must now read 140.0 ± 0.2 mm.").format(
            printer=mark.printer, factors=mark.factors
        )
    full = _("print at 100 %")
    # Both words at one size, with a gap between them.
    widest = sum(measure(words, "bold", _TITLE)[0] for words in (title, full)) / (box.width - 8)
    size = _TITLE / max(1.0, widest)
    return [
        text_line(title, box.x, base, size, "bold"),
        text_line(full, box.right, base, size, "bold", "end"),
        line(box.x, base + 4, box.right, base + 4, Pen(0.5)),
        fit_line(told, box.width, (size_for_cap(2.4), _SMALL)).at(box.x, base + 10),
    ]


def _foot(box: Box) -> list[Item]:
    told = _(
        "Measure again after a change of paper, driver or toner, and when a season has changed: "
        "paper swells, most across its grain."
    )
    return [
        line(box.x, box.bottom - 4.6, box.right, box.bottom - 4.6, _HAIR),
        fit_line(told, box.width, (_SMALL, _SMALL)).at(box.x, box.bottom),
    ]


def _square(x: float, y: float, mark: CheckMark, paper: Paper) -> list[Item]:
    """Return crosses, the lines between them, the rulers and what stands between these."""
    origin = x + 24, y + 118
    return [
        *check_crosses(x, y),
        Group(tuple(_span("x")), "span x", matrix=moved(x, y)),
        # turned a quarter to the left: it reads from the right, as dimensions do (ISO 129)
        Group(tuple(_span("y")), "span y", matrix=(0.0, -1.0, 1.0, 0.0, x, y + CHECK_MM)),
        ruler_x(*origin),
        ruler_y(*origin),
        *_plate(Box(origin[0] + 9, origin[1] - 98, 91, 90), mark, paper),
    ]


def _span(axis: str) -> list[Item]:
    """Return a dimension line between two crosses on the x axis of its own frame."""
    first, last, middle = FREE + 1, CHECK_MM - FREE - 1, CHECK_MM / 2
    size = size_for_cap(3.2, "bold")
    word = text_line(f"{axis}  140.0 mm", middle, 0, size, "bold", "middle")
    base = word.ascent / 2
    half = word.width / 2 + 3
    items: list[Item] = [text_line(word.string, middle, base, size, "bold", "middle")]
    for end, near in ((first, middle - half), (last, middle + half)):
        items += [line(end, 0, near, 0, _HAIR), _arrow(end, 1 if end < middle else -1)]
    return items


def _arrow(x: float, way: int) -> Path:
    return Path((("M", x, 0.0), ("L", x + way * 4.0, -0.8), ("L", x + way * 4.0, 0.8), ("Z",)), None, BLACK)


def _plate(box: Box, mark: CheckMark, paper: Paper) -> list[Item]:
    """Return the paper's name, large, the symbol, and lines to write the readings on."""
    matrix = encode(mark.text, "M")
    module = snap(_MODULE, _PRINTER_DPI)
    side = outer_side(matrix.version, module)
    quiet = 4 * module
    room = box.width - side + quiet - 6
    name = fit_line(_name(mark), room, (size_for_cap(21, "bold"), size_for_cap(5, "bold")), "bold")
    sides = reversed(paper.size_mm) if mark.landscape else paper.size_mm
    size = " × ".join(f"{length:g}" for length in sides) + " mm"
    large = name.at(box.x, box.y + 21)
    items: list[Item] = [
        large,
        fit_line(_(_LIES[orientation(mark.landscape)]), room, (size_for_cap(4.6, "bold"), _STRONG), "bold").at(
            box.x, large.box.bottom + 9
        ),
        text_line(size, box.x, large.box.bottom + 16, size_for_cap(3)),
        Symbol(box.right - side + quiet, box.y - quiet, matrix, module, 0.0, mark.text),
    ]
    fields = {"x": "x", "y": "y", "printer": _("printer"), "date": _("date")}
    wide = max(16.0, *(measure(words, "bold", _STRONG)[0] + 2 for words in fields.values()))
    for row, (field, words) in enumerate(fields.items()):
        base = box.bottom - 10.5 * (len(fields) - 1 - row)
        items.append(text_line(words, box.x, base, _STRONG, "bold"))
        items.append(line(box.x + wide, base + 0.8, box.right, base + 0.8, _HAIR))
        if len(field) == 1:
            items.append(text_line("mm", box.right, base, _WORDS, anchor="end"))
        elif field == "printer" and mark.printer:
            items.append(fit_line(mark.printer, box.width - wide - 2, (_WORDS, _SMALL)).at(box.x + wide + 1, base))
    return items


def _steps(mark: CheckMark) -> tuple[_Step, ...]:
    page = (f"--paper {mark.paper}", *(["--landscape"] * mark.landscape))
    one = _('Print this page at 100 % ("actual size"). Switch off fit to page, shrink and borderless.')
    two = _("Measure with a caliper from cross to cross: x along the top, y down the left side. Read to 0.05 mm.")
    name, sheet = mark.printer or "NAME", "--sheet check.pdf"
    scan = _("or scan it at 300 dpi or more: {option}").format(option="--scan FILE")
    if mark.printer is None:
        three, kind = _("Give the printer a name and type both readings:"), "read"
        command = (f"labelkit printer {name}", *page, sheet)
        last = _Step(pictures.true_page, _("Print the second sheet:"), command, _("it must read 140.0 ± 0.2 mm"))
    else:
        three, kind = _("Type both readings:"), "again"
        four = _("True? Hang this sheet beside the printer. Not true? Begin anew:")
        last = _Step(pictures.true_page, four, ("labelkit printer", *page, sheet))
    return (
        _Step(pictures.printer, one),
        _Step(pictures.caliper, two),
        _Step(pictures.keyboard, three, (f"labelkit printer {name}", *page, f"--{kind} X Y"), scan),
        last,
    )


def _columns(box: Box, mark: CheckMark) -> list[Item]:
    """Return the steps side by side below the crosses."""
    gap, top = 6.0, box.y + _HEAD + CHECK_MM + 11
    width = (box.width - 3 * gap) / 4
    items: list[Item] = []
    for number, step in enumerate(_steps(mark)):
        x = box.x + number * (width + gap)
        picture = step.picture()
        items += [
            text_line(str(number + 1), x, top + 14, size_for_cap(11, "bold"), "bold"),
            Group(picture.items, picture.name, picture.box, moved(x + width - pictures.WIDTH, top)),
            *_told(step, x, top + pictures.HEIGHT + 6.5, width),
        ]
    return items


def _rows(box: Box, left: float, mark: CheckMark) -> list[Item]:
    """Return the steps below each other, right of the crosses."""
    x, top = left + CHECK_MM + 16, box.y + _HEAD - 6
    pitch = (box.bottom - 8 - top) / 4
    words = x + 14 + pictures.WIDTH + 5
    items: list[Item] = []
    for number, step in enumerate(_steps(mark)):
        y = top + number * pitch
        picture = step.picture()
        items += [
            text_line(str(number + 1), x, y + 14, size_for_cap(11, "bold"), "bold"),
            Group(picture.items, picture.name, picture.box, moved(x + 14, y)),
            *_told(step, words, y + 3.2, box.right - words),
        ]
    return items


def _told(step: _Step, x: float, base: float, width: float) -> list[Item]:
    """Return the words of a step below each other, from the first baseline on."""
    blocks = (
        (wrap(step.words, width, _WORDS, 9).lines, _WORDS, "regular"),
        (_command_lines(step.command, width), _STRONG, "bold"),
        (wrap(step.note, width, _WORDS, 9).lines, _WORDS, "regular"),
    )
    items: list[Item] = []
    for lines, size, face in blocks:
        for words in lines:
            items.append(text_line(words, x, base, size, face))
            base += size * _LEADING
        base += 1.2
    return items


def _command_lines(words: tuple[str, ...], width: float) -> list[str]:
    """Return a command in lines that break only between its options, inside one only where it fits no line."""
    lines: list[str] = []
    for word in (piece for each in words for piece in wrap(each, width, _STRONG, 9, "bold").lines):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and measure(longer, "bold", _STRONG)[0] <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _name(mark: CheckMark) -> str:
    """Return a paper's name as it stands on its packet: A4, Letter.

    >>> _name(CheckMark("a4", False)), _name(CheckMark("letter", False))
    ('A4', 'Letter')
    """
    return mark.paper.upper() if any(letter.isdigit() for letter in mark.paper) else mark.paper.capitalize()
