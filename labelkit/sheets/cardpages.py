"""Cards as HTML: one file with all of them, or one page each for the bench."""

from __future__ import annotations

import base64
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from labelkit.calc.steps import Bin
from labelkit.drawing.page import Box
from labelkit.errors import NotFoundError
from labelkit.render.html import Markup, page
from labelkit.render.svg import font_face_css, svg_fragment
from labelkit.sheets.cards import Card, card
from labelkit.sheets.joblist import BinEntry, JobEntry
from labelkit.sheets.jobview import JobView
from labelkit.sheets.orientation import dial, orientation

TEMPLATES: Final = Path(__file__).parent / "templates"
_WAY_BOX: Final = Box(0, 0, 60, 40)
_DIAL_BOX: Final = Box(0, 0, 40, 40)

# Own drawing: a triangle with an exclamation mark.
_TRIANGLE: Final = Markup(
    '<svg viewBox="0 0 24 24" aria-hidden="true"><path fill="currentColor" fill-rule="evenodd" '
    'd="M12 1.5 23.5 22H.5ZM10.8 8.5v7h2.4v-7ZM10.8 17v2.4h2.4V17Z"/></svg>'
)


@dataclass(frozen=True, slots=True)
class Entry:
    """A card with its drawings, ready for a template."""

    card: Card
    way_svg: Markup
    dial_svg: Markup
    photo: str | None


def entry(view: JobView, each: Bin, photo: str | None) -> Entry:
    """Return the card of a bin with its drawings.

    Args:
        view: the job.
        each: the bin.
        photo: address of its picture, None when there is none.
    """
    shown = card(view, each)
    way = svg_fragment([orientation(each.part, _WAY_BOX)], _WAY_BOX, title=f"Which way: {shown.way.text}")
    face = svg_fragment([dial(each.part, _DIAL_BOX)], _DIAL_BOX, title=f"Clock: {shown.clock}")
    return Entry(shown, Markup(way), Markup(face), photo)


def cards_document(view: JobView, photo: Callable[[str], bytes]) -> str:
    """Return one self-contained HTML file with the cards of all bins, opened at `#CODE`.

    Args:
        view: the job.
        photo: gives a picture by its path in the profile; NotFoundError leaves it out.
    """
    header, job = view.profile.unit, view.job
    entries = [entry(view, each, _data_uri(each.part.photo, photo)) for each in view.teardown.bins]
    values = {
        "title": f"{header.name}, job {job.number}",
        "css": Markup(css()),
        "entries": entries,
        "triangle": _TRIANGLE,
        "href": lambda code: f"#{code}",
    }
    text = page(TEMPLATES, "cards.html", font_css="", **values)
    letters = set(text)
    fonts = font_face_css(dict.fromkeys(("regular", "bold"), letters))
    return text.replace("<style>\n", f"<style>\n{fonts}\n", 1)


def bench_page(
    shown: Entry | None,
    *,
    title: str,
    message: str = "",
    neighbours: tuple[tuple[str, str, str], ...] = (),
    job: int | None = None,
) -> str:
    """Return a page of the bench: a card, or a message, and always the field for the next code.

    Args:
        shown: the card, None for a message.
        title: of the window.
        message: what to say when there is no card.
        neighbours: (label, code, words) of links to other cards.
        job: number of the job whose bins are listed elsewhere; None for a page that is of no job.
    """
    return page(
        TEMPLATES,
        "bench.html",
        entry=shown,
        title=title,
        message=message,
        neighbours=neighbours,
        job=job,
        triangle=_TRIANGLE,
        href=lambda code: f"/{code}",
    )


def home_page(jobs: Sequence[JobEntry]) -> str:
    """Return the bench's first page: the field for a code, and the jobs in the order given."""
    return page(TEMPLATES, "home.html", title="labelkit bench", jobs=jobs)


def job_page(job: JobEntry, bins: Sequence[BinEntry]) -> str:
    """Return the page of a job: what it is, and all its bins with the ways to their cards."""
    return page(TEMPLATES, "job.html", title=f"Job {job.number}, {job.unit}", job=job, bins=bins)


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
