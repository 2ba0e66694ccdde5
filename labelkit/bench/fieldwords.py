"""The fields of all forms in words, for a form that is told of away from its own page, and in what is wrong with it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from labelkit.bench.capturemore import OF_PART, OF_UNIT
from labelkit.bench.capturewords import CAPTURED_SIZES, size_words
from labelkit.bench.fitform import GASKETS, WAVES
from labelkit.calc.cautions import said
from labelkit.calc.measured import SIZE_WORDS
from labelkit.language import gettext as _
from labelkit.language import noop, pgettext
from labelkit.render.html import Markup
from labelkit.sheets.wording import capital

CAPTURE: Final = "/capture"
"""How the addresses of the capture begin."""
VERDICTS: Final = (
    ("reuse", noop("Good")),
    ("repair", noop("Repair")),
    ("replace", noop("Replace")),
    ("ask", noop("Ask first")),
)
_WORDS: Final = {
    "accept": noop("It is the right part all the same"),
    "added": noop("Left out: how thick, pressed"),
    "agreed": noop("Who agreed"),
    "along": noop("Came out"),
    "along_step": noop("Step of the part it came out with"),
    "angle": noop("Turned on by, degrees"),
    "as_card": noop("Seen as the card says"),
    "as_wanted": noop("Read as the profile wants it"),
    "choice": noop("What it is; none: it could not be told"),
    "clock": noop("What was at which hour"),
    "clock_from": noop("From where is the clock read?"),
    "clock_other": noop("Position between two hours"),
    "code": noop("Scan or type a code"),
    "cold": noop("Unit and gauge"),
    "count": noop("How many, counted"),
    "counted": noop("Counted"),
    "do": noop("Button"),
    "drag": noop("Drag of the seal alone"),
    "face": noop("Face that is up"),
    "figures_in": noop("Bare figures are in"),
    "gasket": noop("Gasket, when it is read"),
    "how": noop("How it was seen"),
    "last": noop("From here to step"),
    "left": noop("Nothing is left over on bench, trays or floor"),
    "lengths": noop("Bare figures are in"),
    "limit": noop("How the limit means it: look in the manual"),
    "lost": noop("It is lost, not there any more"),
    "mark": noop("Mark"),
    "mass": noop("Mass of one, kg"),
    "name": noop("Name"),
    "number": noop("Order number"),
    "oil": noop("Oil filled"),
    "oiled": noop("Threads"),
    "old": noop("Old parts kept and tagged until now"),
    "on": noop("What it lay on"),
    "on_step": noop("Step of the part it lay on"),
    "option": noop("Option"),
    "order": noop("Order number"),
    "override_agreed": noop("Who agreed"),
    "override_reason": noop("Reason"),
    "pieces": noop("Pieces"),
    "qty": noop("How many"),
    "quick": noop("How it sat, in one tap"),
    "qty_other": noop("Other quantity"),
    "reason": noop("Why it stays so"),
    "remark": noop("Remark"),
    "right": noop("What is right"),
    "same": noop("Sizes as another part"),
    "seated": noop("Seated like this before every reading"),
    "serial": noop("Serial number"),
    "side": noop("How it was seen to sit"),
    "settles": noop("It is there, so the option is set"),
    "share": noop("Which pass"),
    "signed_by": noop("Signed: your name"),
    "size": noop("Size that is meant"),
    "sizes": noop("Size that goes in"),
    "source": noop("Where from"),
    "state": noop("Wave or cushion plate, when it is read"),
    "statement": noop("Statement"),
    "sure": noop("It stands as it was typed"),
    "sure-serial": noop("Serial number or pair mark"),
    "step": noop("Step"),
    "stock": noop("Stock"),
    "take": noop("What is taken"),
    "ticked": noop("Read and ticked"),
    "tool": noop("Gauge (its number)"),
    "torque": noop("What the wrench showed"),
    "turned": noop("Unit turned by hand, no leak, no noise, serial plate on"),
    "unit": noop("Unit"),
    "up": noop("Face that was up"),
    "verdict": noop("Verdict"),
    "way": noop("Which way up"),
    "what": noop("What is not as it should be"),
    "why": noop("Why"),
    "wrench": noop("Number of the wrench"),
}
# Those of the capture, where one is called otherwise there or is there alone.
_CAPTURED: Final = {
    "clock": noop("Clock"),
    "first": noop("First free label of a started sheet"),
    "steps": noop("Steps"),
    "up": noop("Which end is up?"),
} | {each.name: each.words for each in (*OF_PART, *OF_UNIT)}
# Names that go on with a number from 1, and with that of an inspection point from 0.
_NUMBERED: Final = {
    "reading": noop("Reading {number}"),
    "depth": noop("Depth {number}"),
    "fitted": noop("Piece {number}"),
    "size": noop("Spacer {number}, mm"),
    "torque": noop("Torque {number}"),
}
_OF_POINTS: Final = {
    "sure": noop("Inspection point {number}, read"),
    "value": noop("Inspection point {number}, read"),
    "verdict": noop("Inspection point {number}, verdict"),
    "looked": noop("Inspection point {number}, looked at"),
}
_VALUES: Final[Mapping[str, Mapping[str, str]]] = {
    "verdict": dict(VERDICTS),
    "gasket": dict(GASKETS),
    "state": dict(WAVES),
    "counted": {"all": noop("all of them")},
    "cold": {"yes": noop("Cold"), "no": noop("Warm")},
    "do": {
        "both": noop("Here, and ready at its place"),
        "received": noop("Here, not at its place yet"),
        "staged": noop("Lies ready at its place"),
        "back": noop("Send it back"),
        "close": noop("Sign and close the job"),
    },
    "oiled": {"oiled": noop("Oiled"), "dry": noop("Dry")},
    "source": {"order": noop("Of what was ordered"), "shelf": noop("From the shelf")},
    "on": {"next": noop("The next one out")},
}
# What a form says of itself, which nobody typed.
_SILENT: Final = frozenset(
    {"before", "form", "from", "inside", "kept", "kind", "laid", "listed", "more", "of", "plain", "places"}
    | {"seen", "shown", "sum", "then", "token"}
)


def field_words(name: str, *, captured: bool = False) -> str:
    """Return what a field is called on its page; empty where it has no name for people.

    Args:
        name: of the field.
        captured: it is of a page of the capture.
    """
    if name == "note":
        return pgettext("of a person", "Note")
    if words := (captured and _CAPTURED.get(name)) or _WORDS.get(name):
        return _(words)
    before, dash, rest = name.partition("-")
    if dash and before == "size":
        return size_words("", rest) if captured and rest in CAPTURED_SIZES else capital(_(SIZE_WORDS.get(rest, rest)))
    if dash and before == "plate":
        return _("Thickness of one, measured") + f": {rest}"
    if dash and before in _OF_POINTS and rest.isdecimal():
        return _(_OF_POINTS[before]).format(number=int(rest) + 1)
    kind = name.rstrip("0123456789")
    numbered = _NUMBERED.get(kind) if kind != name else None
    return _(numbered).format(number=name[len(kind) :]) if numbered else ""


def _value_words(name: str, text: str) -> str:
    """Return what was typed, ticked or chosen in a field as its page says it."""
    if name == "ticked":
        return said(text)
    of = "verdict" if name.startswith("verdict") or name == "right" else name
    known = _VALUES.get(of, {}).get(text)
    return _(known) if known else _("yes") if text == "yes" else text


def told_fields(fields: list[tuple[str, str]], *, captured: bool) -> list[tuple[str, str]]:
    """Return what people filled in of a form, in words; a field without a name for people under its own.

    >>> from labelkit.language import speaking
    >>> with speaking("de"):
    ...     told_fields([("ticked", "CAUTION: hot oil"), ("counted", "all")], captured=False)
    [('Gelesen und abgehakt', 'VORSICHT: hot oil'), ('Gezählt', 'alle')]
    """
    return [
        (field_words(name, captured=captured) or name, _value_words(name, text))
        for name, text in fields
        if text and name not in _SILENT
    ]


def told_faults(faults: Mapping[str, str], called: Mapping[str, str] | None = None, *, captured: bool = False) -> str:
    """Return what is wrong with a form in one line, each fault once, behind the names of its fields.

    What is a question, or begins with the name itself, needs none; what only ends with one does.

    Args:
        faults: by field.
        called: what fields are called that have a name of their own on the page.
        captured: they are of a page of the capture.
    """
    told, own = [], called or {}
    for fault in dict.fromkeys(faults.values()):
        names = [own.get(n) or field_words(n, captured=captured) for n, text in faults.items() if text == fault]
        itself = (fault.endswith("?") and ";" not in fault) or any(
            fault.casefold().startswith(name.casefold()) for name in names if name
        )
        of = "" if itself else ", ".join(f'"{name}"' for name in names if name)
        told.append(Markup("{}: {}").format(of, fault) if of else fault)
    return Markup("; ").join(told)  # a fault may hold a link
