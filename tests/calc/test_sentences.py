"""What gate, open points and sums say, in the language that is spoken; figures are the same in all of them.

The translations are ours; no source says how a shop puts it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import pytest

from labelkit.calc.answers import Answer
from labelkit.calc.fitsums import work_out
from labelkit.calc.gate import bare
from labelkit.calc.limits import Limits, judge_each
from labelkit.calc.openpoints import open_points
from labelkit.calc.platescan import pack_scan
from labelkit.calc.trays import lay_out
from labelkit.errors import UsageError
from labelkit.language import speaking
from labelkit.model.events import ActFaults, act_of
from labelkit.model.laying import DEFAULT_LAYING
from labelkit.units import UnitError, parse
from tests import catalogue
from tests.shop import demo, view_of
from tests.walk import Walk

TRANSLATED = catalogue.translated()
FIGURE = re.compile(r"\d+(?:\.\d+)?")
PLAY = {
    "target": "0.40:0.60",
    "series": "2.45,2.60,2.75,2.90",
    "tol": "0.01",
    "thicker": "reduces",
    "unit": "mm",
}
PACK = {**PLAY, "target": "1.20:1.60", "state": "flat", "limit_state": "flat", "frictions": 3}
STACK = {**PACK, "depth": ["34.22"], "nominal": ["Steel=5x2.00", "Lined=6x2.52"], "plate": ["Lined=6x2.30"]}
TORQUE = {"unit": "N·m", "target": "2.5:4.0", "lengths": "mm"}
# One of each kind of answer; between them they say nearly every sentence of a sum.
SUMS: list[tuple[str, Mapping[str, Any]]] = [
    ("end_play", {**PLAY, "reading": ["0.88", "0.90", "0.92"], "fitted": ["2.60"], "before": "0.51", "warm": True}),
    ("end_play", {**PLAY, "reading": ["1.88", "1.90"], "fitted": ["2.60"], "gasket": "x", "warm": False}),
    ("end_play", {**PLAY, "reading": ["0.10", "0.60", "1.60"], "fitted": ["2.60"]}),
    ("end_play", {**PLAY, "reading": ["0.602", "0.604", "0.603"], "series": None}),
    ("end_play", {**PLAY, "reading": ["1.41"], "predicted": "0.41", "chain": ["Race=1.0"]}),
    ("end_play", {**PLAY, "reading": ["1.90"], "predicted": "0.41", "chain": ["Race=1.0"]}),
    ("clearance", {**PACK, "reading": ["1.40", "1.45", "1.50", "1.95"], "fitted": ["2.60"]}),
    ("clearance", {**PACK, "reading": ["1.40"], "state": None, "wave": "0.80"}),
    ("clearance", {**PACK, "reading": ["1.40"], "limit_state": "free"}),
    ("stack", STACK),
    ("stack", {**STACK, "depth": ["20.00"]}),
    ("preload", {**TORQUE, "reading": ["4.2", "4.4"], "drag": "0.2", "spread": "0.5"}),
    ("preload", {**TORQUE, "reading": ["1.2", "4.4"], "spread": "0.5"}),
    ("preload", {**TORQUE, "fitted": "5.30", "play": "0.06", "squeeze": "0.03", "series": "5.20,5.25"}),
    ("preload", {**TORQUE, "fitted": "5.20", "play": "0.06", "squeeze": "0.03", "series": "5.25,5.18"}),
    ("preload", {**TORQUE, "trial": ["5.30=1.1", "5.25=3.4"], "drag": "0.1", "series": "5.20,5.25"}),
]


def said(answer: Answer) -> list[str]:
    return [*answer.sums, *answer.notes]


@pytest.mark.parametrize("code", TRANSLATED)
@pytest.mark.parametrize(("kind", "given"), SUMS)
def test_a_sum_has_other_words_and_the_same_figures(kind: str, given: Mapping[str, Any], code: str) -> None:
    """Values and verdict do not know the language; no line is left in English, and each has the figures of its own."""
    english = work_out(kind, given)
    with speaking(code):
        ours = work_out(kind, given)

    assert (english.verdict, english.values) == (ours.verdict, ours.values)
    assert len(said(english)) == len(said(ours))
    for line, own in zip(said(english), said(ours), strict=True):
        assert line != own or line.startswith("s = ")  # symbols of statistics only
        assert sorted(FIGURE.findall(line)) == sorted(FIGURE.findall(own)), own


def test_sums_are_told_as_a_workshop_says_it() -> None:
    """A line of the sum, the choice and what to do, in German and Spanish."""
    told = {}
    for code in TRANSLATED:
        with speaking(code):
            told[code] = said(work_out(*SUMS[0])), said(work_out(*SUMS[2]))[-1]

    assert "gesucht = 2.60 mm + 0.90 mm - 0.50 mm = 3.00 mm" in told["de"][0]
    assert "buscado = 2.60 mm + 0.90 mm - 0.50 mm = 3.00 mm" in told["es"][0]
    assert told["de"][1].startswith("nicht gemittelt: die Messungen liegen 1.50 mm auseinander, über 0.05 mm; das Teil")
    assert "girar el eje, empujar, poner a cero, tirar; lecturas nuevas: 3" in told["es"][1]


@pytest.mark.parametrize("code", TRANSLATED)
def test_a_reading_is_judged_in_the_language(code: str) -> None:
    """Which place is out, and that it condemns the whole."""
    read = [parse(text, "length", "mm") for text in ("0.10", "0.31", "0.301")]
    limits = Limits(parse("0.05", "length", "mm"), parse("0.3", "length", "mm"))
    with speaking(code):
        ours = judge_each(read, limits, wanted=4)

    place = {"de": "Stelle 2: 0.31 mm AUSSERHALB", "es": "posición 2: 0.31 mm FUERA"}[code]
    assert place == ours.sums[ours.values["out"][0]]  # type: ignore[index]
    assert not set(said(ours)) & set(said(judge_each(read, limits, wanted=4)))


@pytest.fixture
def walk() -> Walk:
    """Return a job that is half together: a bolt and a lock plate still lie on the bench."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    walk.put_in_until("lock-plate")
    walk.do("condemned", "carrier-bolt", why="stretched")
    return walk


def test_a_refusal_is_one_line_in_the_language(walk: Walk) -> None:
    """What is missing, why, and what is allowed now; a record that was asked in one language answers in the next."""
    bolt, plate = walk.bin("carrier-bolt"), walk.bin("lock-plate")
    housing, record = walk.bin("ring-housing"), walk.record
    english = walk.ask("installed", "ring-housing").refusal
    with speaking("de"):
        refusal = walk.ask("installed", "ring-housing").refusal
        old = walk.ask("installed", "carrier-bolt").refusal
        unsigned = walk.ask("closed").refusal
        points = [point.text for point in open_points(record)]
    with speaking("es"):
        assert "Permitido ahora: " in walk.ask("installed", "ring-housing").refusal
        told = walk.ask("installed", "carrier-bolt").refusal
        assert told.startswith(f"NO: no monte {bolt.step} {bolt.name}, la pieza vieja: la desechó Ana; ")

    assert refusal.startswith(f"Noch nicht {housing.step} {housing.name}: erst {plate.step} {plate.name}, dann ")
    assert f". Jetzt erlaubt: {plate.step} {plate.name}" in refusal
    assert old.startswith(f"NEIN: nicht das alte {bolt.step} {bolt.name}: es wurde verworfen von Ana; nötig: ")
    assert re.match(r"NEIN: \d+ Punkte offen: .*; und \d+ weitere\. Jetzt erlaubt: ", unsigned)
    assert f"{bolt.step} {bolt.name}: der Behälter ist nicht leer" in points
    assert english == walk.ask("installed", "ring-housing").refusal


@pytest.mark.parametrize("code", TRANSLATED)
def test_no_open_point_is_left_in_english(walk: Walk, code: str) -> None:
    """But for those that only name an inspection point in the profile's own words."""
    english = {point.text for point in open_points(walk.record) if point.kind not in ("check", "at_end")}
    with speaking(code):
        ours = {point.text for point in open_points(walk.record)}

    assert not english & ours


def test_the_word_that_a_page_says_larger_is_taken_off_in_every_language(walk: Walk) -> None:
    """`NO: `, `NEIN: `: a page has it in large letters before the sentence."""
    pack = walk.bin("brake-pack")
    for code, word in {"en": "NO: ", "de": "NEIN: ", "es": "NO: "}.items():
        with speaking(code):
            refusal = pack_scan(walk.view.teardown, pack, [walk.bin("friction-disc")] * 2).refusal
            sentence = bare(refusal)
            assert sentence[0].isupper()
            assert (word + sentence).casefold() == refusal.casefold()


def test_why_a_part_goes_on_no_tray_is_said_when_it_is_asked() -> None:
    """A plan is kept for all who read it."""
    floor = lay_out(view_of(demo("planetary-reducer")).teardown, DEFAULT_LAYING).floor
    assert floor
    for each in floor:
        english = each.reason
        with speaking("de"):
            assert english != each.reason
        assert english == each.reason


@pytest.mark.parametrize(
    ("data", "german"),
    [
        ({"kind": "removed", "count": 10**6}, 'gefunden "1000000"; erlaubt: höchstens 9999'),
        ({"kind": "count_found", "count": "six"}, 'gefunden "six"; erlaubt: eine ganze Zahl'),
        ({"kind": "noted", "note": " "}, "ist leer; etwas schreiben"),
        ({"kind": "count_found"}, "fehlt; ausfüllen"),
        ({"kind": "side_seen", "up": "a\nb"}, 'gefunden "a\nb"; ist länger als eine Zeile'),
    ],
)
def test_what_is_wrong_with_a_field_is_told_in_the_language(data: dict[str, Any], german: str) -> None:
    """A form shows it at the field; the same act is refused in every language."""
    with speaking("de"), pytest.raises(ActFaults) as told:
        act_of(data)

    assert [german] == list(told.value.faults.values())


@pytest.mark.parametrize(
    ("text", "german"),
    [
        ("x", '"x" ist kein Wert für Länge; eine Zahl mit ihrer Einheit schreiben, wie 2.60 mm'),
        ("2 mmm", '"mmm" ist keine Einheit für Länge; erlaubt: mm, cm, m, µm, in; gemeint ist mm?'),
        ("1,250", '"1,250" ist keine Zahl; das Dezimalzeichen als Punkt schreiben, 1.250 oder 1250'),
    ],
)
def test_a_figure_that_is_none_says_so_in_the_language(text: str, german: str) -> None:
    """It begins with what was typed, in every language: a form looks for that."""
    with speaking("de"), pytest.raises(UnitError) as told:
        parse(text, "length", "mm")

    assert german == str(told.value)


def test_a_reading_below_zero_is_refused_in_the_language() -> None:
    """An error of the sum is a sentence on the page, too."""
    with speaking("de"), pytest.raises(UsageError, match="ein Spiel ist nie kleiner als null"):
        work_out("end_play", {**PLAY, "reading": ["-0.10", "0.2"]})
