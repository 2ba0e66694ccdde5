"""Acts in words."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from labelkit.calc.steps import choose, teardown
from labelkit.language import speaking
from labelkit.model.acts import KINDS
from labelkit.model.events import Event, act_of
from labelkit.sheets import keptnotes
from labelkit.sheets.actwords import act_words, event_words, in_short
from tests.bench_app.workshop import pump
from tests.shop import demo

SAID: list[tuple[dict[str, Any], str]] = [
    ({"kind": "removed"}, "out, not counted yet"),
    ({"kind": "removed", "count": 6, "note": "one is bent"}, "out, 6 counted; one is bent"),
    ({"kind": "left_in"}, "left in"),
    ({"kind": "left_closed"}, "not opened, its parts stay in it"),
    ({"kind": "count_found", "count": 2}, "2 counted"),
    ({"kind": "side_seen", "up": "hat", "clock": "6:00"}, "seen: hat up, at 6:00"),
    ({"kind": "side_seen", "up": "LIP DOWN"}, "seen: LIP DOWN"),
    ({"kind": "side_seen", "clock": "6:00"}, "seen: at 6:00"),
    ({"kind": "photo", "sha256": "0" * 64}, "photo"),
    (
        {"kind": "reading", "check": 0, "at": "apart", "values": ["5.00", "4.9"], "unit": "mm", "verdict": "out"},
        "thickness: 5.00 4.9 mm: OUT",
    ),
    (
        {"kind": "reading", "fit": "end-play", "at": "before", "values": ["0.50"], "unit": "mm", "state": "wave flat"},
        "end play: 0.50 mm, wave flat",
    ),
    (
        {"kind": "fit_chosen", "fit": "end-play", "sizes": ["3.20"], "predicted": "0.50"},
        "end play: 3.20 mm chosen, then 0.50 mm",
    ),
    ({"kind": "wash_started", "places": [1]}, "washer started with 1 part"),
    ({"kind": "washed"}, "clean and dry"),
    ({"kind": "inspected", "verdict": "replace"}, "replace"),
    ({"kind": "inspected", "verdict": "reuse", "check": 1}, "scoring, by fingernail: good, goes in again"),
    ({"kind": "condemned", "why": "cracked", "pieces": 2}, "condemned (2 pieces): cracked"),
    ({"kind": "condemned", "why": "rolled away", "lost": True}, "lost: rolled away"),
    ({"kind": "ordered", "number": "P7-01", "pieces": 6}, "6 of P7-01 ordered"),
    ({"kind": "received", "number": "P7-01", "pieces": 6, "measured": "7.98"}, "6 new of P7-01 came, measured 7.98"),
    (
        {"kind": "returned", "number": "P7-01", "pieces": 2, "why": "0.15 mm thinner"},
        "2 new of P7-01 sent back: 0.15 mm thinner",
    ),
    ({"kind": "returned", "pieces": 1, "why": "cracked"}, "1 new sent back: cracked"),
    ({"kind": "staged", "pieces": 1}, "new (1 piece) lies ready, the old label is retired"),
    ({"kind": "joined", "new": True}, "built into its group, new"),
    (
        {"kind": "installed", "new": True, "pieces": 2, "sizes": ["5.05"], "side": "HAT UP"},
        "in, 2 pieces, new, 5.05 mm, HAT UP",
    ),
    ({"kind": "verified"}, "verified: in, and right"),
    (
        {"kind": "torque_signed", "torque": "12.5", "share": "0.5", "angle": "90", "wrench": "W3", "oiled": False},
        "tightened to 12.5 N·m and 90° on, pass of 50 %, wrench W3, dry",
    ),
    ({"kind": "hold", "why": "inspector"}, "HOLD: inspector"),
    ({"kind": "released", "of": 3, "why": "seen"}, "the hold of event 3 is over: seen"),
    ({"kind": "deviation", "what": "a", "reason": "b", "agreed": "Cleo"}, "deviation: a; b (agreed: Cleo)"),
    ({"kind": "option_seen", "option": "drive", "how": "looked"}, "option drive: could not be told, looked"),
    ({"kind": "noted", "note": "oily"}, "note: oily"),
    ({"kind": "correction", "of": 4, "why": "miscounted"}, "event 4 does not count: miscounted"),
    ({"kind": "signature", "statement": "all in"}, "signed: all in"),
    (
        {
            "kind": "signature",
            "statement": "All is in.",
            "note": "Nothing is open.",
            "override": {"reason": "seen.", "agreed": "Cleo", "refusal": "NO: 1 point open"},
        },
        'signed: All is in; Nothing is open; although labelkit said "NO: 1 point open": seen (agreed: Cleo)',
    ),
    ({"kind": "hold", "why": "whose is it?", "note": "ask Bo ..."}, "HOLD: whose is it? ask Bo ..."),
    ({"kind": "closed"}, "job closed"),
    ({"kind": "reopened", "why": "leak"}, "reopened: leak"),
    (
        {"kind": "verified", "override": {"reason": "no time", "agreed": "Cleo", "refusal": "NO: x"}},
        'verified: in, and right; although labelkit said "NO: x": no time (agreed: Cleo)',
    ),
]
REFUSED = "Not yet 2 Cover: first 3 Plate (it lies on it), and 4 more. Allowed now: 3 Plate; 5 Ball"
PART = next(part for _, part in pump().profile.walk() if part.id == "side-plate")


@pytest.mark.parametrize(
    ("refusal", "words"),
    [
        (REFUSED, "Not yet 2 Cover: first 3 Plate (it lies on it), and 4 more"),
        (
            "Not yet 20 Aft-cover screw M10 x 45: first 26.1 Radial shaft seal 45 x 65 x 8, then 26 Main housing, "
            "then 25.18 Astern shaft (it belongs to Shaft, complete), and 54 more. Allowed now: 25.18 Astern shaft",
            "Not yet 20 Aft-cover screw M10 x 45: first 26.1 Radial shaft seal 45 x 65 x 8 ... and 54 more",
        ),
        ("NO: 63 points open: gear; ball; and 61 more. Allowed now: gear", "NO: 63 points open: gear; ..."),
        ("NO: 1.5 N·m is 20 % over 1.2 N·m. Stimmt das? Ja", "NO: 1.5 N·m is 20 % over 1.2 N·m"),
    ],
)
def test_a_refusal_in_short_keeps_what_is_missing(refusal: str, words: str) -> None:
    """The first sentence with its count; what is allowed instead stands in the record."""
    assert in_short(refusal) == words


@pytest.mark.parametrize(("data", "words"), SAID)
def test_an_act_is_said_in_one_line(data: dict[str, Any], words: str) -> None:
    """With its figures as they were typed, and the name of the point or fit."""
    assert words == act_words(act_of(data), PART)


def test_every_kind_of_act_has_been_said() -> None:
    """A new kind needs its words."""
    assert set(KINDS) == {data["kind"] for data, _ in SAID}


def test_an_event_names_its_part_also_where_the_options_leave_it_out() -> None:
    """By its step and name; a part of the other choice by its name alone."""
    profile = pump().profile
    order = teardown(profile, choose(profile, {"drive": "splined"}))
    key = next(each for each in teardown(profile, {"drive": None}).bins if each.part.id == "key")
    screws = Event(1, 1, act_of({"kind": "removed", "count": 6}), "Ann", datetime.now(UTC), "a" * 8, 0)

    assert "1 Cover screw M8 x 30: out, 6 counted" == event_words(screws, profile, order)
    stray = replace(screws, place=key.ordinal)
    assert "Key 6 x 6 x 20, which the options leave out: out, 6 counted" == event_words(stray, profile, order)


def test_what_the_program_wrote_into_a_note_is_said_in_the_language_that_is_spoken() -> None:
    """The record keeps it in English; what a person added stays as it was typed, and so do their own words alone."""
    kept = "gasket: in, pressed; 0.30 mm added for it; steel-disc 2.01 mm measured; the gap was measured; "
    kept += keptnotes.REVISED.format(now="2 b", was="1")
    with speaking("de"):
        told = keptnotes.said(kept)

    assert told == (
        "Dichtung: drin, gepresst; 0.30 mm dafür dazugezählt; steel-disc 2.01 mm gemessen; the gap was measured; "
        "Stand 2 b des Profils statt 1 übernommen"
    )
    assert keptnotes.said(kept) == kept


def test_how_it_sat_by_its_card_is_said_in_the_language_of_the_reader() -> None:
    """Whoever ticked it, the record has the card's words in English; what was typed by hand stays."""
    ring = next(part for _place, part in demo("planetary-reducer").profile.walk() if part.id == "oil-guide-ring")
    seen, typed = ({"kind": "side_seen", "up": up, "clock": "9 o'clock"} for up in ("COLLAR UP", "THE COLLAR UP"))
    put_in = {"kind": "installed", "side": "COLLAR UP, 9 o'clock"}
    with speaking("de"):
        told = [act_words(act_of(act), ring) for act in (seen, typed, put_in)]

    assert [
        "gesehen: COLLAR OBEN, auf 9 Uhr",
        "gesehen: THE COLLAR UP, auf 9 Uhr",
        "eingebaut, COLLAR OBEN, 9 Uhr",
    ] == told


def test_how_it_was_put_in_is_said_in_the_language_where_only_the_bench_saw_it() -> None:
    """The profile does not know it, so the card had it as somebody saw it: in English in the record, for all."""
    part = next(part for _place, part in pump().profile.walk() if part.sits is None)
    with speaking("es"):
        told = [
            act_words(act_of({"kind": "installed", "side": side}), part) for side in ("TAB UP, 12 o'clock", "tab up")
        ]

    assert ["dentro, TAB ARRIBA, 12 h", "dentro, tab up"] == told


def test_what_a_delivery_and_a_signature_keep_is_said_in_the_language_of_the_reader() -> None:
    """Names of sizes, how they differ and what was ticked; serial number, oil and the last words as they were typed."""
    kept = (
        "thickness 2.35 mm, the profile has 2.50 mm: 0.15 mm thinner; 35 teeth, the profile has 36; serial number K/a",
        "ticked: Old parts kept and tagged until now; "
        "Oil filled: SAE 30, quantity NOT RECORDED: write it in the note; fit",
    )
    with speaking("de"):
        told = [keptnotes.said(each) for each in kept]
        signed = act_words(act_of({"kind": "signature", "statement": keptnotes.SIGNED_OPEN}))
        kept_again = keptnotes.as_kept(signed.removeprefix("unterschrieben: "))

    assert keptnotes.SIGNED_OPEN == kept_again != signed.removeprefix("unterschrieben: ")
    assert [
        "Dicke 2.35 mm, das Profil hat 2.50 mm: 0.15 mm dünner; 35 Zähne, das Profil hat 36; Seriennummer K/a",
        "abgehakt: Altteile bis jetzt aufgehoben und gekennzeichnet; "
        "Öl eingefüllt: SAE 30, Menge NICHT ERFASST: in die Notiz schreiben; fit",
    ] == told
