"""Cards as HTML: one file with all of them, or one page each for the bench."""

from __future__ import annotations

import base64
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from labelkit.calc.steps import Bin, Inside
from labelkit.drawing.page import Box
from labelkit.errors import NotFoundError
from labelkit.language import gettext as _
from labelkit.render.html import Markup, page
from labelkit.render.svg import font_face_css, svg_fragment
from labelkit.sheets import wording
from labelkit.sheets.cards import Card, card
from labelkit.sheets.jobview import JobView
from labelkit.sheets.packs import Kind, is_pack, kinds_of, plates_drawing, plates_width
from labelkit.sheets.seat import neighbour
from labelkit.sheets.seatclock import clock_face
from labelkit.sheets.seatview import seat_view

TEMPLATES: Final = Path(__file__).parent / "templates"
# Smaller than it is shown, so that lines come out thick enough for a phone at arm's length.
_WAY_BOX: Final = Box(0, 0, 40, 31)
# A pack of plates is drawn this wide and high at least, mm.
_PACK: Final = (84.0, 38.0)
# As high as that beside it when shown, so that their words stand on one line.
_DIAL_BOX: Final = Box(0, 0, 40, 46)

# Own drawing: a triangle with an exclamation mark.
TRIANGLE: Final = Markup(
    '<svg viewBox="0 0 24 24" aria-hidden="true"><path fill="currentColor" fill-rule="evenodd" '
    'd="M12 1.5 23.5 22H.5ZM10.8 8.5v7h2.4v-7ZM10.8 17v2.4h2.4V17Z"/></svg>'
)


@dataclass(frozen=True, slots=True)
class Pack:
    """A pack of plates on its card: the picture, what it shows, and each kind of plate with the code of its bin."""

    svg: Markup
    title: str
    kinds: tuple[tuple[Kind, str], ...]


@dataclass(frozen=True, slots=True)
class Entry:
    """A card with its drawings, ready for a template."""

    card: Card
    way_svg: Markup
    dial_svg: Markup
    photo: str | None
    pack: Pack | None = None


def entry(
    view: JobView, each: Bin | Inside, photo: str | None, shown: Card | None = None, *, alike: Entry | None = None
) -> Entry:
    """Return a card with its drawings.

    Args:
        view: the job.
        each: what the card is of.
        photo: address of its picture, None when there is none.
        shown: its card where it is that of a new part; None: as `card` makes it.
        alike: the same of `view.alike`, in the same language: its drawings are taken.
    """
    shown = shown or card(view, each)
    if alike is not None:
        kinds = tuple((kind, view.code(kind.bin)) for kind, _code in alike.pack.kinds) if alike.pack else ()
        return replace(alike, card=shown, photo=photo, pack=replace(alike.pack, kinds=kinds) if alike.pack else None)
    way = seat_view(each.part, _WAY_BOX, neighbour(view, each))
    face = clock_face(each.part, view.profile.unit, _DIAL_BOX)
    return Entry(
        shown,
        Markup(svg_fragment([way], _WAY_BOX, title=_("Which way: {way}").format(way=shown.way.text))),
        Markup(svg_fragment([face], _DIAL_BOX, title=_("Clock: {clock}").format(clock=shown.clock))),
        photo,
        _pack(view, each) if isinstance(each, Bin) and is_pack(each.part) else None,
    )


def _pack(view: JobView, each: Bin) -> Pack:
    """Return the plates of a pack as a picture and as a list."""
    kinds = kinds_of(view, each)
    box = Box(0, 0, max(_PACK[0], plates_width(each.part)), _PACK[1])
    against = each.part.stack_from or wording.not_recorded()
    told = _("{count} plates in the order they come out, the first against: {end}")
    title = told.format(count=len(each.part.stack), end=against)
    picture = svg_fragment([plates_drawing(each.part, kinds, box)], box, title=title)
    return Pack(Markup(picture), title, tuple((kind, view.code(kind.bin)) for kind in kinds))


def cards_document(view: JobView, photo: Callable[[str], bytes]) -> str:
    """Return one self-contained HTML file with the cards of all bins, opened at `#CODE`.

    Args:
        view: the job.
        photo: gives a picture by its path in the profile; NotFoundError leaves it out.
    """
    header, job = view.profile.unit, view.job
    entries = [entry(view, each, _data_uri(each.part.photo, photo)) for each in view.teardown.bins]
    values = {
        "title": _("{unit}, job {number}").format(unit=header.name, number=job.number),
        "css": Markup(css()),
        "entries": entries,
        "triangle": TRIANGLE,
        "href": lambda code: f"#{code}",
    }
    text = page((TEMPLATES,), "cards.html", font_css="", **values)
    letters = set(text)
    fonts = font_face_css(dict.fromkeys(("regular", "bold"), letters))
    return text.replace("<style>\n", f"<style>\n{fonts}\n", 1)


def css() -> str:
    """Return the style sheet of all pages."""
    return (TEMPLATES / "style.css").read_text(encoding="utf-8")


def picture_type(data: bytes) -> str:
    """Return the media type of a picture by its first bytes: PNG, JPEG or WebP, else plain bytes."""
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if data.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "image/webp"
    return "application/octet-stream"


def _data_uri(path: str | None, photo: Callable[[str], bytes]) -> str | None:
    if path is None:
        return None
    try:
        data = photo(path)
    except NotFoundError:
        return None
    return f"data:{picture_type(data)};base64,{base64.b64encode(data).decode()}"
