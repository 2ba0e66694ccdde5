"""The pick list: by tray and bench group, each line with the step it blocks; as CSV and as data."""

from __future__ import annotations

import csv
import io
import json
from collections import Counter
from collections.abc import Mapping

import pytest

from labelkit.calc.needs import Needs, findings
from labelkit.calc.pulling import Finding, Verdict
from labelkit.calc.shortage import Shortage
from labelkit.calc.steps import Bin
from labelkit.calc.supply import supply
from labelkit.language import LANGUAGES, speaking
from labelkit.model.catalogue import NO_CATALOGUE, Catalogue, CatalogueEntry
from labelkit.sheets.jobview import JobView
from labelkit.sheets.picklist import (
    FLOOR,
    Pick,
    number_words,
    picklist_csv,
    picks,
    reason_words,
    unjudged_words,
    when_words,
)
from labelkit.sheets.picklistdata import needs_data, pick_data, shortage_data
from tests.shop import DEMO_UNITS, demo, profile_of, view_of
from tests.walk import Walk

HEAD = "format: 1\nunit: {mark: T1, name: Test, up: top}\n"


def listed(
    view: JobView,
    verdicts: Mapping[str, Verdict | Finding] | None = None,
    catalogue: Catalogue = NO_CATALOGUE,
) -> tuple[tuple[Pick, ...], Needs, Shortage]:
    at = supply(view.record(()), catalogue, findings(view.profile, view.teardown, verdicts or {}))
    return picks(view, at), at.needs, at.now


def rows(view: JobView, found: tuple[Pick, ...], needs: Needs, delimiter: str = ",") -> list[dict[str, str]]:
    text = picklist_csv(view, found, needs, delimiter=delimiter).decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline=""), delimiter=delimiter))


REDUCER = {"input-bearing": "condemned", "preload-spacer": "condemned", "breather-std": "condemned"}


@pytest.fixture(scope="module")
def reducer() -> JobView:
    return view_of(demo("planetary-reducer"))


def pick_of(found: tuple[Pick, ...], part: str) -> Pick:
    return next(pick for pick in found if pick.use.part.id == part)


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_use_is_picked_once_and_lies_where_its_bin_lies(unit: str) -> None:
    """Tray, place and step are those of the tray plan; nothing of the order is left out."""
    view = view_of(demo(unit))
    found, needs, _ = listed(view)

    assert Counter(pick.use.item.ordinal for pick in found) == Counter(use.item.ordinal for use in needs.uses)
    for pick in found:
        if isinstance(pick.use.item, Bin):
            assert pick.step == pick.use.item.step
            assert pick.place == view.tray_words(pick.use.item)
        assert pick.tray == (pick.place.rstrip("0123456789") or FLOOR)


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_trays_come_in_order_and_a_group_stays_together(unit: str) -> None:
    """Nobody walks twice to one tray, or to one group on it; the floor comes last."""
    view = view_of(demo(unit))
    every = {each.part.id for each in view.teardown.items.values()}
    names = [each.step for each in view.teardown.bins] + [each.part.id for each in view.teardown.inside]
    found, _, _ = listed(view, dict.fromkeys(names, "condemned"))
    letters = [tray.letter for tray in view.trays.trays] + [FLOOR]
    blocks = [pick.tray for k, pick in enumerate(found) if not k or found[k - 1].tray != pick.tray]
    pairs = [(pick.tray, pick.group) for pick in found]

    assert len(every) >= len({pick.use.part.id for pick in found}) > 40
    assert blocks == sorted(set(blocks), key=letters.index)
    assert FLOOR in blocks
    assert len({*pairs}) == sum(1 for k, pair in enumerate(pairs) if not k or pairs[k - 1] != pair)


def test_a_spreadsheet_says_in_words_that_a_part_is_on_no_tray(reducer: JobView) -> None:
    """In the language that is spoken, as the other cells of its line."""
    names = [each.step for each in reducer.teardown.bins]
    found, needs, _ = listed(reducer, dict.fromkeys(names, "condemned"))
    with speaking("de"):
        german = [row["tray"] for row in rows(reducer, found, needs)]

    assert ["Auf keinem Tablett" if pick.tray == FLOOR else pick.tray for pick in found] == german


def test_a_line_names_its_group_and_the_step_it_blocks(reducer: JobView) -> None:
    """A captured bearing stays in its housing and blocks the ring that closes over it. By hand from the profile."""
    found, _, _ = listed(reducer, REDUCER)  # type: ignore[arg-type]
    bearing, circlip, seal = (pick_of(found, part) for part in ("input-bearing", "sun-2-circlip", "tab-washer"))

    assert (bearing.group, bearing.step, bearing.use.step, bearing.blocks) == (
        "Brake housing",
        "16",
        "16.1",
        ("16.1", "Oil guide ring"),
    )
    assert (circlip.group, circlip.blocks[1]) == ("First stage", "External circlip DIN 471 - 40 x 1.75")
    assert (seal.group, seal.use.step) == ("", "31")


def test_missing_pieces_are_told_and_doubts_are_not_counted(reducer: JobView) -> None:
    """One O-ring is there, for the place that needs it first; of a spacer without a size nobody can say."""
    shelf = Catalogue({"G2B-1107": CatalogueEntry("G2B-1107", shelf=1)})
    found, _, _ = listed(reducer, REDUCER, shelf)  # type: ignore[arg-type]

    assert (pick_of(found, "ring-oring").missing, pick_of(found, "cover-oring").missing) == (1, 1)
    assert pick_of(found, "preload-spacer").missing is None


def test_a_matched_part_has_a_cell_for_its_serial_number() -> None:
    """One gear of the output shaft is matched with the pinions of both clutches: each line names its partners."""
    view = view_of(demo("marine-gear"))
    found, needs, _ = listed(view, {"output-gear-46": "condemned"})
    table = {row["number"]: row for row in rows(view, found, needs)}

    assert table["MR3-2142"]["matched with"].count("pinion") == 2
    assert table["MR3-2131"]["matched with"] == "Output gear, 46 teeth"
    assert {row["serial"] for row in table.values()} == {""}


def test_the_csv_says_what_the_picks_say(reducer: JobView) -> None:
    """With an empty cell to tick, where to take it from, and when a doubtful part is needed at all."""
    seals = CatalogueEntry("G2B-1106", "Bonded seal", "Seal house", location="4-2")
    found, needs, _ = listed(reducer, REDUCER, Catalogue({"G2B-1106": seals}))  # type: ignore[arg-type]
    table = {row["number"]: row for row in rows(reducer, found, needs)}

    assert [row["picked"] for row in rows(reducer, found, needs)] == [""] * len(found)
    assert table["G2B-1106"] == {
        "picked": "",
        "tray": "A",
        "place": "A6",
        "group": "",
        "step": "step: 6",
        "number": "G2B-1106",
        "name": "Bonded seal G1/4",
        "size": "",
        "pieces": "1",
        "missing": "1",
        "from": "'4-2",
        "blocks step": "step: 6",
        "supplier": "Seal house",
        "which is": "Bonded seal G1/4",
        "why": "always renewed",
        "only if": "",
        "matched with": "",
        "serial": "",
    }
    assert table["G2B-1103"]["only if"] == "Breather = Breather on the output housing"
    assert table["G2B-1211"]["blocks step"] == "step: 16.1"


def test_the_csv_ticks_what_is_here_and_fetches_nothing_twice() -> None:
    """One ring on the shelf went to its place: no other is there to be fetched, and none of what nobody counted is
    said to be gone."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    walk.do("staged", "cover-oring", pieces=1, source="shelf")
    walk.do("installed", "input-seal", new=True)
    shelf = {"G2B-1107": 1, "G2B-1106": None}
    counter = Catalogue({number: CatalogueEntry(number, shelf=some, location="R1") for number, some in shelf.items()})
    at = supply(walk.record, counter)
    found = picks(walk.view, at)
    table = {pick.use.part.id: row for pick, row in zip(found, rows(walk.view, found, at.needs), strict=True)}

    told = {part: (table[part]["picked"], table[part]["missing"], table[part]["from"]) for part in table}
    assert ("ready", "0", "") == told["cover-oring"]
    assert ("", "2", "") == told["ring-oring"]
    assert ("in", "0", "") == told["input-seal"]
    assert ("", "1", "R1") == told["brake-port-seal"]
    assert {"in", "ready", "short"} == {pick_data(pick, at.needs)["state"] for pick in found}


def test_the_csv_says_of_each_size_where_it_is() -> None:
    """One shim of a stack lies ready, a graded ring came measured, a washer is on hold: common practice, no source."""
    walk = Walk("marine-gear")
    walk.take_apart()
    walk.do("fit_chosen", fit="ahead-end-play", sizes=["0.10", "0.20"], predicted="0.07")
    walk.do("staged", "ahead-shims", pieces=1, measured="t 0.20 mm")
    walk.do("condemned", "end-ring-ahead", why="blue")
    walk.do("received", "end-ring-ahead", pieces=1, measured="t 3.4 mm")
    walk.do("staged", "coupling-lock", pieces=1)
    walk.do("hold", "coupling-lock", why="is it the right one?")
    at = supply(walk.record)
    found = picks(walk.view, at)
    table = {row["number"]: row for row in rows(walk.view, found, at.needs)}

    told = {
        number: [row[name] for name in ("picked", "size", "missing", "blocks step")] for number, row in table.items()
    }
    assert ["", "0.10 mm", "1", "step: 21.2"] == told["MR3-2301"]
    assert ["ready", "0.20 mm", "0", ""] == told["MR3-2303"]
    assert ["here", "3.4 mm", "0", "step: 23.7"] == told["MR3-2323"]
    assert ["ON HOLD", "", "0", "step: 13"] == told["MR3-2118"]
    assert {"held": True, "state": "held"}.items() <= pick_data(pick_of(found, "coupling-lock"), at.needs).items()


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_step_is_no_figure_of_a_spreadsheet(reducer: JobView, language: str) -> None:
    """7.10 is not 7.1: a step is a text in every language, and needs no apostrophe to be one."""
    with speaking(language):
        found, needs, _ = listed(reducer, {"input-bearing": "condemned"})
        table = rows(reducer, found, needs, ";")

    steps = [row[column] for row in table for column in ("step", "blocks step") if row[column]]
    assert {"16", "8.1"} <= {step.rpartition(" ")[2] for step in steps}
    assert [] == [step for step in steps if not step[0].isalpha()]


def test_nothing_that_the_profile_says_is_run_by_a_spreadsheet() -> None:
    """Names and numbers that begin with a sign are texts. Source: OWASP page on CSV injection, from memory."""
    text = """parts:
- {id: a, name: "=HYPERLINK(1)", number: "+49", renew: always}
- {id: b, name: "@x", number: "-1", renew: {with: a}}
"""
    view = view_of(profile_of(HEAD + text))
    found, needs, _ = listed(view)
    cells = [cell for row in rows(view, found, needs) for cell in row.values()]

    assert {"'=HYPERLINK(1)", "'+49", "'@x", "'-1", "renewed with =HYPERLINK(1)"} <= set(cells)
    assert not any(cell.startswith(tuple("=+-@")) for cell in cells)


WORDS = """options: {lid: {name: Lid, choices: {short: Short, long: Long}}}
series: {shim: {sizes: ["0.10", "0.50"], numbers: {"0.10": S1}}}
parts:
- {id: cap, name: Cap, one_time: true, renew: {with: shaft}}
- {id: shaft, name: Shaft}
- {id: valve, name: Valve, number: V, held: {by: behind, part: cap}}
- {id: gear, name: Gear, number: G, pair: [pinion]}
- {id: pinion, name: Pinion, number: P}
- {id: shims, name: Shims, qty: set, series: shim}
- {id: lid, name: Lid, number: L, only: {lid: short}, renew: always}
"""


def test_reasons_numbers_and_doubts_in_words() -> None:
    """Each line can be read alone."""
    view = view_of(profile_of(HEAD + WORDS))
    found, needs, _ = listed(view, {"valve": "lost", "gear": "condemned", "shims": "condemned"})
    why = {pick.use.part.id: reason_words(pick.use) for pick in found}
    numbers = {pick.use.part.id: number_words(pick.line) for pick in found}

    assert why == {
        "valve": "lost",
        "cap": "used once only, and comes out for Valve",
        "gear": "condemned; order as a pair with Pinion",
        "pinion": "matched with Gear",
        "shims": "condemned",
        "lid": "always renewed",
    }
    assert numbers["cap"] == "NOT RECORDED"
    assert numbers["shims"] == "by size: 0.10 mm S1, 0.50 mm ?"
    assert rows(view, found, needs)[0].keys() >= {"picked", "pieces"}
    assert {row["pieces"] for row in rows(view, found, needs)} == {"1", "as needed"}
    assert when_words(view.profile, needs.when(pick_of(found, "lid").use)) == "Lid = Short"
    assert when_words(view.profile, [(("lid", "short"),), (("lid", "long"),)]) == "Lid = Short or Lid = Long"
    assert when_words(view.profile, ()) == ""


def test_the_data_is_plain_and_agrees() -> None:
    """Order, shortage and picks go through JSON; amounts and sizes are texts, nothing is a float."""
    view = view_of(profile_of(HEAD + WORDS))
    found, needs, short = listed(view, {"valve": "lost", "shims": "condemned"})
    whole = {
        "needs": needs_data(needs),
        "shortage": shortage_data(short),
        "picks": [pick_data(pick, needs) for pick in found],
    }

    def refuse(text: str) -> float:
        raise AssertionError(text)

    back = json.loads(json.dumps(whole), parse_float=refuse)

    assert back == whole
    assert [line["number"] for line in back["needs"]["lines"]] == [line.number for line in needs.lines]
    assert back["shortage"]["first"] == short.missing[0].use.step
    assert back["shortage"]["unsettled"] == ["shims"]
    assert {pick["part"]: pick["when"] for pick in back["picks"]}["lid"] == [{"lid": "short"}]


def test_why_an_order_is_not_final_tells_worn_from_not_recorded() -> None:
    """Of a part without `renew:` nobody knows when it is renewed; what is never renewed is not asked about."""
    parts = "parts:\n" + "".join(
        f"- {{id: {name}, name: {name}{renew}}}\n"
        for name, renew in {"a": ", renew: if_worn", "b": "", "c": ", renew: never", "d": ""}.items()
    )
    _, needs, _ = listed(view_of(profile_of(HEAD + parts)))

    assert [(why, [each.part.id for each in parts]) for why, parts in unjudged_words(needs)] == [
        ("Not final: 1 part that is renewed if worn is not judged yet", ["a"]),
        ("Not final: 2 parts are not judged yet, and when they are renewed is NOT RECORDED", ["b", "d"]),
    ]
