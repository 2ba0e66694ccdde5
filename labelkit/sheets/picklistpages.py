"""The printed pick list: by tray, on it by what is built on the bench, with boxes to tick.

It hangs beside the shelf: what waits and what can be built stands first, then a line for each place that gets new
pieces, with the step that cannot be done without them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from typing import Final

from labelkit.drawing.page import BLACK, WHITE, Box, Group, Item, Page, Path, Pen, line, moved, opened, rectangle
from labelkit.drawing.text import fit_line, wrap
from labelkit.drawing.text import line as text_line
from labelkit.errors import CapacityError
from labelkit.language import gettext as _
from labelkit.language import ngettext, noop
from labelkit.model.media import Paper
from labelkit.sheets.jobview import JobView
from labelkit.sheets.labeltext import BOLD
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.newparts import NewParts
from labelkit.sheets.picklist import (
    AS_NEEDED,
    FLOOR,
    Pick,
    build_words,
    group_words,
    numbers_of,
    places_of,
    shelf_words,
    sizes_words,
    state_words,
    unjudged_words,
    waited_words,
    when_words,
    why_words,
)
from labelkit.sheets.sheethead import HEAD, head
from labelkit.sheets.worksheet import (
    BOX_PEN,
    MARGIN,
    NAME,
    RULE,
    SMALL,
    STEP,
    THICK,
    TICK,
    Strip,
    broken,
    page_words,
    stacked,
)

# What a line of small words is high.
_LINE: Final = 3.3
_NAME_LINE: Final = 4.0  # what another line of a name is high
_ROW: Final = 5.6  # height of a row with nothing below its first line
_GAP: Final = 2.0
_BETWEEN: Final = 3.2  # columns: less, and "140 x 4" runs into a count
_PAD: Final = 0.9  # above and below a box to tick
_BELOW: Final = 2.0  # the head
# Columns: what stands over them, and their width, mm; the part takes what is left.
_COLUMNS: Final = (
    (noop("HERE"), 11.0),
    (noop("ON TRAY"), 15.0),
    (noop("PLACE"), 12.0),
    (noop("STEP"), 14.0),
    (noop("PIECES"), 13.0),
    (noop("NUMBER"), 28.0),
    (noop("PART"), 0.0),
    (noop("SHORT"), 12.0),
    (noop("BLOCKS"), 28.0),
)
_PLACE: Final = 2
_PART: Final = 6
_MARK: Final = Pen(0.9)
_LEAST_WIDTH: Final = 195.0  # of the paper, mm: names have half of what they have on A4
_GROUP: Final = 62.0  # width of the names of groups


def picklist_pages(view: JobView, new: NewParts, paper: Paper) -> Iterator[Page]:
    """Yield the pages of a job's pick list, upright; none where nothing must be new.

    Args:
        view: the job.
        new: what must be new.
        paper: to print on.

    Raises:
        CapacityError: the paper is too small.
    """
    if not new.picks:
        return
    width, height = sorted(paper.size_mm)
    if width < _LEAST_WIDTH:
        raise CapacityError(
            f"paper {paper.name}: too small for a pick list; allowed: from {_LEAST_WIDTH:g} mm wide, as a4"
        )
    room = Box(0.0, 0.0, width, height).inset(MARGIN)
    sheets = broken([*_summary(new, room.width), *_lists(view, new, room.width)], room.height - HEAD - _BELOW)
    options = view.option_names(), view.option_words()
    for number, sheet in enumerate(sheets, start=1):
        items = [*head(view, _("PICK LIST"), room, page_words(number, len(sheets)), more=options)]
        y = room.y + HEAD + _BELOW
        for strip in sheet:
            items.append(Group(strip.items, strip.name, None, moved(room.x, y)))
            y += strip.height
        yield Page(width, height, tuple(items), f"picklist {number}")


def _summary(new: NewParts, width: float) -> Iterator[Strip]:
    """Yield what the list comes to: what is short and whom it blocks, what can be built, what is not settled."""
    yield from _words(_short_words(new), BOLD, width)
    if new.short.groups:  # built there is not yet in the unit
        yield from _words(_("Built on the bench"), BOLD, width)
    for group in new.short.groups:
        lines = wrap(build_words(group), width - _GROUP, em(SMALL), 9).lines
        items = [text_line(words, _GROUP, (k + 1) * _LINE - 0.8, em(SMALL)) for k, words in enumerate(lines)]
        fitted = fit_line(group.name, _GROUP - 2, (em(SMALL, BOLD), em(LEAST, BOLD)), BOLD)
        yield Strip(len(lines) * _LINE, (fitted.at(0.0, _LINE - 0.8), *items), f"built {group.name}")
    for why, _parts in unjudged_words(new.needs):
        yield from _words(why, "regular", width)
    for note in new.needs.notes:
        yield from _words(note, "regular", width)
    yield Strip(_GAP, ())


def _short_words(new: NewParts) -> str:
    missing, (done, every) = new.short.missing, places_of(new.picks)
    held = [each for each in missing if each.held]
    places = ngettext("{count} place to fill", "{count} places to fill", every - done).format(count=every - done)
    filled = ngettext("{count} is ready or in", "{count} are ready or in", done).format(count=done) if done else ""
    if not missing:
        return "; ".join(filter(None, (places, _("nothing is short"), filled)))
    first = next((each for each in missing if each.use.step), None)
    waits = _("no step waits")
    if first:
        told = _("the first step that waits is {step}, for {part}")
        waits = told.format(step=first.use.step, part=waited_words(first))
    counts = ((_("{count} of them short"), [each for each in missing if each.is_short]), (_("{count} on hold"), held))
    short = [words.format(count=len({each.use.item.ordinal for each in some})) for words, some in counts if some]
    return "; ".join(filter(None, (", ".join((places, *short)), waits, filled)))


def _words(words: str, face: str, width: float) -> Iterator[Strip]:
    for each in wrap(words, width, em(SMALL, face), 40, face).lines:
        yield Strip(_LINE, (text_line(each, 0.0, _LINE - 0.8, em(SMALL, face), face),))


def _lists(view: JobView, new: NewParts, width: float) -> Iterator[Strip]:
    """Yield headings and rows."""
    for tray, on_tray in groupby(new.picks, key=lambda pick: pick.tray):
        here = [*on_tray]
        done, every = places_of(here)
        said = ngettext("{count} place", "{count} places", every).format(count=every)
        said = _("{count} of {total} ready").format(count=done, total=every) if done else said
        yield _tray(tray, said, width)
        for group, members in groupby(here, key=lambda pick: pick.group):
            continued, heading = _tray(tray, _("continued"), width), _group(group, width)
            yield replace(heading, head=continued)
            both = stacked(continued, heading)
            yield from (replace(_row(view, new, pick, width), head=both) for pick in members)
        yield Strip(_GAP, (line(0.0, 0.0, width, 0.0, RULE),), closing=True)


def _tray(tray: str, said: str, width: float) -> Strip:
    """Return the heading of a tray, with the names of the columns below it."""
    name = _("ON NO TRAY") if tray == FLOOR else _("TRAY {letter}").format(letter=tray)
    items: list[Item] = [
        rectangle(Box(0.0, 0.6, width, 6.0), None, BLACK),
        text_line(name, 1.5, 5.4, em(STEP, BOLD), BOLD, fill=WHITE),
        text_line(said, width - 1.5, 5.0, em(NAME), "regular", "end", WHITE),
    ]
    for (column, _given), (x, _room) in zip(_COLUMNS, _columns(width), strict=True):
        items.append(text_line(_(column), x, 9.4, em(LEAST, BOLD), BOLD))
    return Strip(10.4, tuple(items), f"tray {tray}", kept=True)


def _group(group: str, width: float) -> Strip:
    fitted = fit_line(group_words(group), width, (em(NAME, BOLD), em(LEAST, BOLD)), BOLD)
    return Strip(5.4, (line(0.0, 0.3, width, 0.3, THICK), fitted.at(0.0, 4.2)), f"group {group}", kept=True)


def _columns(width: float) -> list[tuple[float, float]]:
    """Return where each column begins, and its width, mm."""
    rest = width - math.fsum(given for _name, given in _COLUMNS)
    found, x = [], 0.0
    for _name, given in _COLUMNS:
        found.append((x, (given or rest) - _BETWEEN))
        x += given or rest
    return found


def _row(view: JobView, new: NewParts, pick: Pick, width: float) -> Strip:
    use, columns = pick.use, _columns(width)
    base = 1.3 + NAME
    short = "?" if pick.missing is None else str(pick.missing) if pick.missing else ""
    inside = pick.step and use.step != pick.step and use.item.part.captured
    step = _("in {step}").format(step=pick.step) if inside else pick.step
    cells = (
        *("", "", pick.place, step, _(AS_NEEDED) if use.pieces is None else str(use.pieces)),
        _("by size") if pick.line.sizes and not pick.sizes else numbers_of(pick),
        pick.name,
        *(short, _("step {step}").format(step=pick.blocks[0]) if pick.blocks[0] else ""),
    )
    items: list[Item] = [line(0.0, 0.0, width, 0.0, RULE)]
    for (x, _room), ticked in zip(columns, (pick.is_here, pick.is_done), strict=False):
        items.append(rectangle(Box(x, _PAD, TICK, TICK), BOX_PEN))
        items += [_tick(x)] * ticked
    # What is to be fetched stands out from what is done.
    heavy = "regular" if pick.is_done else BOLD
    name = wrap(cells[_PART], columns[_PART][1], em(NAME), 4).lines
    for number, ((x, room), words) in enumerate(zip(columns, cells, strict=True)):
        face = "regular" if number == len(cells) - 1 else heavy
        if words and number != _PART:
            items.append(fit_line(words, room, (em(NAME, face), em(LEAST, face)), face).at(x, base))
    x, room = columns[_PART]
    items += [text_line(words, x, base + k * _NAME_LINE, em(NAME)) for k, words in enumerate(name)]
    below = [*_details(view, new, pick, room)]
    blocked = wrap(pick.blocks[1], columns[-1][1], em(SMALL), 4).lines if pick.blocks[1] not in ("", use.name) else ()
    more = _NAME_LINE * (len(name) - 1)
    items += [*_small(below, columns[_PART], _ROW + more), *_small([(each,) for each in blocked], columns[-1], _ROW)]
    if pick.is_done or pick.here or pick.held:
        x = columns[_PLACE][0]
        room = columns[_PLACE + 2][0] - _BETWEEN - x  # nothing stands below the step
        sizes = em(SMALL, BOLD), em(LEAST, BOLD)
        items.append(fit_line(state_words(pick), room, sizes, BOLD).at(x, _ROW + SMALL - 0.6))
    lines = max(more + len(below) * _LINE, len(blocked) * _LINE)
    height = max(TICK + 2 * _PAD, _ROW + lines + 0.2 * bool(lines))
    return Strip(height, tuple(items), f"pick {pick.step} {use.part.id}")


def _tick(x: float) -> Path:
    """Return the mark in a box whose left edge is at x, as by hand: over its corner, and not to be overlooked."""
    points = ((0.2, 0.52), (0.44, 0.8), (0.92, 0.12))
    return Path(opened((x + dx * TICK, _PAD + dy * TICK) for dx, dy in points), _MARK)


def _small(lines: Sequence[Sequence[str]], column: tuple[float, float], top: float) -> Iterator[Item]:
    """Yield lines below what a row begins with, each of cells of one width; a line to write on behind a colon."""
    x, width = column
    for number, cells in enumerate(lines):
        base = top + number * _LINE + SMALL - 0.6
        for place, words in enumerate(cells):
            text = text_line(words, x + place * width / len(cells), base, em(SMALL))
            yield text
            if words.endswith(":"):
                yield line(text.box.right + 1, base + 0.3, x + width, base + 0.3, RULE)


def _details(view: JobView, new: NewParts, pick: Pick, width: float) -> Iterator[Sequence[str]]:
    """Yield the lines below the name: why, when, where it lies on the shelf, what is written down."""
    use = pick.use
    when = when_words(view.profile, new.needs.when(use))
    only = _("? only if {when}").format(when=when) if when else ""
    for words in (why_words(pick), only, shelf_words(pick)):
        yield from ((each,) for each in wrap(words, width, em(SMALL), 4).lines)
    if pick.line.sizes and not pick.sizes:
        yield from _in_columns(sizes_words(pick.line), width)
        yield (_("Size chosen:"),)
    if use.pairs:
        yield (_("Serial:"),)


def _in_columns(some: Sequence[str], width: float) -> Iterator[Sequence[str]]:
    """Yield words as lines of cells, as many beside each other as there is room for, so that they stand in columns."""
    widest = max(text_line(each, 0.0, 0.0, em(SMALL)).box.width for each in some)
    beside = max(int((width + _BETWEEN) // (widest + _BETWEEN)), 1)
    filled = [*some, *[""] * (-len(some) % beside)]
    for first in range(0, len(filled), beside):
        yield filled[first : first + beside]
