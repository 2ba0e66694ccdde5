"""What the record saw and the profile does not say: every print of the job tells it, and that it was seen."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from labelkit.load.stock import PRINTABLE, find_stock
from labelkit.model.acts import SideSeen
from labelkit.model.events import Event
from labelkit.sheets.cards import card
from labelkit.sheets.jobview import JobView
from labelkit.sheets.labels import LabelSheets
from labelkit.sheets.seatsheet import seat_sheet
from labelkit.sheets.waywords import clock_words, sits_words
from labelkit.sheets.worksheetcells import Say
from labelkit.sheets.worksheetfacts import way_pieces
from tests.bench_app.workshop import bin_of, pump
from tests.kitchecks import texts
from tests.shop import view_of
from tests.worksheetpages import said

BY = "seen by Cleo, 2026-03-02 12:00 UTC"


def seen(part: str, **told: str) -> JobView:
    """Return the pump's job as Cleo saw one part of it."""
    view = view_of(pump())
    when = datetime(2026, 3, 2, 12, tzinfo=UTC)
    event = Event(1, 1, SideSeen(**told), "Cleo", when, "token-000001", bin_of(view, part).ordinal)  # type: ignore[arg-type]
    return view.as_seen(view.record([event]))


def test_label_and_card_and_worksheets_tell_it() -> None:
    """The label is marked, and where there is room stands who saw it."""
    view = seen("plug", up="hex", clock="6 the notch")
    plug, stock = bin_of(view, "plug"), find_stock("a4-2x5-99x56", PRINTABLE)
    (page,) = LabelSheets(view, [plug], stock, texts={plug.step: view.url(plug)}).pages()
    label = " ".join(text.string for group in page.items for text in texts(group))  # type: ignore[arg-type]
    shown = card(view, plug)
    way = [piece.text for piece in way_pieces(plug) if isinstance(piece, Say)]

    assert "HEX UP (SEEN)" in label
    assert "6:00 (SEEN)" in label
    assert "NOT REC" not in label
    assert ("HEX UP", "6 o'clock", BY) == (shown.way.text, shown.clock, shown.seen)
    assert ["HEX UP", "6 o'clock: the notch", BY] == way
    assert BY in " ".join(said(strip.items) for strip in seat_sheet(view, 277.0).strips)


@pytest.mark.parametrize(
    ("told", "short"),
    [
        ({"up": "hex"}, ("HEX UP (SEEN),", "CLOCK ?")),
        ({"up": "hex", "clock": "6"}, ("HEX UP,", "6:00 (SEEN)")),
        ({"clock": "6"}, ("NOT RECORDED,", "6:00 (SEEN)")),
    ],
)
def test_the_smallest_label_marks_it_once(told: dict[str, str], short: tuple[str, ...]) -> None:
    """Behind the last that was seen."""
    assert short == sits_words(bin_of(seen("plug", **told), "plug").part)[0]


def test_what_the_profile_says_stays_and_prints_as_before() -> None:
    """The same job is printed, so that no byte of it differs."""
    view = view_of(pump())

    assert view is view.as_seen(view.record([]))
    assert not seen("gears", up="dots", clock="3").seen


@pytest.mark.parametrize(
    ("clock", "hour", "what"),
    [
        ("6:30 the notch", "6:30", "the notch"),
        ("Nase auf 12 Uhr", "12 o'clock", "Nase"),
        ("a las 7", "7 o'clock", None),
        ("notch at 3", "3 o'clock", "notch"),
        ("muesca a las 9", "9 o'clock", "muesca"),
        ("2 notches together", "NOT RECORDED", "2 notches together"),
        ("6 o'clock, notch", "6 o'clock", "notch"),
        ("6, notch", "6 o'clock", "notch"),
        ("11", "11 o'clock", None),
        ("toward the pump", "NOT RECORDED", "toward the pump"),
    ],
)
def test_an_hour_is_found_before_or_behind_what_is_there(clock: str, hour: str, what: str | None) -> None:
    """As people write it; where there is none nothing is made up."""
    part = bin_of(seen("plug", up="hex", clock=clock), "plug").part

    assert hour == clock_words(part)[0]
    assert part.sits is not None
    assert what == part.sits.feature
