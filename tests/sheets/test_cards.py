"""Cards: what a scan opens, as one structure, as terminal lines and as data."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import replace

import pytest

from labelkit.sheets.cardlines import card_lines
from labelkit.sheets.cards import Card, Caution, card, card_data
from labelkit.sheets.cardsections import Line, Section
from labelkit.sheets.jobview import JobView
from tests.bench_app.workshop import PUMP, bin_of, code_of, pump
from tests.shop import DEMO_UNITS, cards_of, demo, profile_of, view_of


@pytest.fixture(scope="module")
def view() -> JobView:
    return view_of(pump())


def card_of(view: JobView, part: str) -> Card:
    return card(view, bin_of(view, part))


def section(shown: Card, title: str) -> Section:
    """Return the section whose title begins so."""
    return next(each for each in shown.sections if each.title.startswith(title))


def line(shown: Card, title: str, label: str) -> Line:
    return next(each for each in section(shown, title).lines if each.label == label)


def labels(found: Section) -> list[str]:
    return [each.label for each in found.lines]


def texts(lines: Iterable[Line]) -> list[str]:
    return [each.text for each in lines]


def test_a_card_begins_with_what_the_label_says(view: JobView) -> None:
    """Step, place among the bins, name, quantity, job and code."""
    shown = card_of(view, "cover")

    assert ("2", 2, 15, "Cover", "× 1") == (shown.step, shown.number, shown.total, shown.name, shown.quantity)
    assert ("Gear pump with relief valve", "P7 · job 1") == (shown.unit, shown.job)
    assert code_of(view, "cover") == shown.code.replace("-", "") == shown.code_text.replace("-", "")
    assert [4, 4, 3] == [len(group) for group in shown.code_text.split("-")]


def test_cards_come_in_removal_order(view: JobView) -> None:
    """One card for each bin, numbered through."""
    assert list(range(1, 16)) == [shown.number for shown in cards_of(view)]
    assert [each.step for each in view.teardown.bins] == [shown.step for shown in cards_of(view)]


def test_a_copy_says_which_one_it_is(view: JobView) -> None:
    """Of a sub-assembly that is there twice, each has its own cards."""
    names = [shown.name for shown in cards_of(view) if shown.name.startswith("Relief valve")]

    assert ["Relief valve (1 of 2)", "Relief valve (2 of 2)"] == names


def test_the_serial_number_is_part_of_the_job() -> None:
    """Two units of one kind on the bench are told apart."""
    view = view_of(pump())
    numbered = replace(view, job=replace(view.job, number=7, serial="4711"))

    assert "P7 · job 7 · serial 4711" == card_of(numbered, "cover").job


def test_cautions_come_worst_first_with_their_moment(view: JobView) -> None:
    """Danger before warning before caution, whatever the order in the profile.

    Source: order of the signal words by ANSI Z535.4, from memory.
    """
    expected = (
        Caution("danger", "when it comes out", "The spring pushes the cover up"),
        Caution("caution", "when it goes in", "Fingers out of the joint"),
    )

    assert expected == card_of(view, "cover-screws").hazards


def test_the_unit_s_cautions_are_on_every_card(view: JobView) -> None:
    """What is true of the whole unit is not repeated in the part's own cautions, and is never missing."""
    expected = ["Oil under pressure: let it off first", "No solvent on seals"]

    for shown in cards_of(view):
        assert expected == [each.text for each in shown.unit_hazards]


def test_a_caution_of_a_part_that_stays_inside_is_on_the_card_that_holds_it() -> None:
    """A captured part has no bin and no card; what it can do to somebody stands where it stays."""
    captured = 'held: {by: behind, part: seal}, hazards: [{signal: warning, text: "It flies off"}]'
    view = view_of(pump(PUMP.replace("held: {by: behind, part: seal}", captured)))

    assert (Caution("warning", "", "Circlip 40 x 1.75: It flies off"),) == card_of(view, "cover").hazards


def test_loud_words_do_not_send_to_the_scan_that_was_just_made(view: JobView) -> None:
    """On the card the cautions stand in full."""
    assert ("LEFT-HAND THREAD",) == card_of(view, "cover-screws").loud
    assert ("LIFT 12 kg", "1 STAYS INSIDE") == card_of(view, "cover").loud


@pytest.mark.parametrize(
    ("part", "clock", "known", "clock_from"),
    [
        ("cover", "6 o'clock", "known", "seen from drive side, 12 is suction port"),
        ("gears", "6:30", "known", "seen from drive side, 12 is suction port"),
        ("seal", "FREE", "free", ""),
        ("plug", "NOT RECORDED", "missing", ""),
    ],
)
def test_the_clock_says_from_where_it_is_read(
    view: JobView, part: str, clock: str, known: str, clock_from: str
) -> None:
    """Only a known clock position needs an end to look from."""
    shown = card_of(view, part)

    assert (clock, known, clock_from) == (shown.clock, shown.clock_known, shown.clock_from)


def test_how_it_sits_has_the_seat_the_mark_and_what_happens_if_wrong(view: JobView) -> None:
    """Which face, on what, what is at the clock, and what goes wrong otherwise."""
    shown = card_of(view, "cover")

    assert ["Up", "Lies on", "At 6 o'clock", "If wrong"] == labels(section(shown, "How it sits"))
    assert "flat face (drive side is up)" == line(shown, "How", "Up").text
    assert ("step 10 · Body", code_of(view, "body")) == (
        line(shown, "How", "Lies on").text,
        line(shown, "How", "Lies on").code,
    )
    assert ("oil stays in", "loud") == (line(shown, "How", "If wrong").text, line(shown, "How", "If wrong").tone)


def test_what_lines_up_is_named_where_there_is_no_clock() -> None:
    """A tab that goes into a slot has a mate, but no hour."""
    text = PUMP.replace("clock: free, tell: lip toward", "clock: free, feature: tab in the slot, tell: lip toward")

    assert "tab in the slot" == line(card_of(view_of(pump(text)), "seal"), "How", "Lines up").text


def test_a_stack_is_listed_plate_by_plate(view: JobView) -> None:
    """Each place of the stack leads to the bin of its plate, in the same copy, and each plate back to its stack."""
    first, second = (shown for shown in cards_of(view) if shown.name.startswith("Relief valve"))

    assert "Stack of 3: 1 lies against the seat" == section(first, "Stack").title
    assert ["1", "2", "3"] == labels(section(first, "Stack"))
    assert ["step 8.1 · Steel disc", "step 8.2 · Lined disc", "step 8.1 · Steel disc"] == texts(
        section(first, "Stack").lines
    )
    assert ["step 9.1 · Steel disc", "step 9.2 · Lined disc", "step 9.1 · Steel disc"] == texts(
        section(second, "Stack").lines
    )
    plate = next(shown for shown in cards_of(view) if shown.step == "9.2")
    assert ("step 9 · Relief valve (2 of 2)", second.code) == (
        line(plate, "How", "Plate order").text,
        line(plate, "How", "Plate order").code,
    )


def test_watch_out_names_what_is_easily_missed(view: JobView) -> None:
    """Look-alikes with the tell, what clings underneath, what stays inside: loud."""
    screws, cover = card_of(view, "cover-screws"), card_of(view, "cover")

    assert Line(
        "Do not mix up with", "step 7 · Plug M10", "the plug has no head", code_of(view, "plug"), "loud"
    ) == line(screws, "Watch", "Do not mix up with")
    assert "loud" == line(cover, "Watch", "Look underneath").tone
    assert "Circlip 40 x 1.75" == line(cover, "Watch", "Stays inside").text
    assert "step 10 · Body" == line(card_of(view, "gears"), "Watch", "Matched with").text
    assert "step 4 · Gear pair" == line(card_of(view, "splined-hub"), "Watch", "Keep with").text


def test_an_open_option_is_marked_until_it_is_closed() -> None:
    """A part that may not be there says under which choice it is; once chosen, it does not."""
    text = "Drive = Keyed shaft"

    assert Line("Only if", text, "this option is still open", tone="missing") == line(
        card_of(view_of(pump()), "key"), "Watch", "Only if"
    )
    closed = card_of(view_of(pump(), {"drive": "keyed"}), "key")
    assert not [each for each in closed.sections if each.title == "Watch out"]


def test_a_neighbour_that_may_not_be_there_has_a_question_mark() -> None:
    """The part just before, in assembly, may be one that an open option leaves out; once chosen, it is there."""
    undecided, decided = (card_of(view_of(pump(), chosen), "gears") for chosen in ({}, {"drive": "keyed"}))

    assert "step 5? · Key 6 x 6 x 20" in [each.text for each in section(undecided, "Assembly").lines]
    assert "step 5 · Key 6 x 6 x 20" in [each.text for each in section(decided, "Assembly").lines]


def test_taking_it_out_names_the_tool_and_the_sub_assembly(view: JobView) -> None:
    """How, with what, with which other part, and where it belongs."""
    assert "Seal driver 40 mm" == line(card_of(view, "seal"), "Taking", "Tool").text
    assert code_of(view, "cover") == line(card_of(view, "seal"), "Taking", "Belongs to").code
    assert code_of(view, "body") == line(card_of(view, "plug"), "Taking", "Comes out with").code
    assert "screwed" == line(card_of(view, "cover"), "Taking", "Held").text


def test_inspection_points_say_when(view: JobView) -> None:
    """Measured at removal, apart or clean: the moment stands first, what to do otherwise last."""
    assert (
        Line(
            "When apart",
            "Measure thickness: at least 4.95 mm, 3 readings, with micrometer",
            "otherwise: take a thicker one",
        ),
        Line("Check", "Look: scoring, by fingernail"),
    ) == section(card_of(view, "side-plate"), "Inspect").lines


def test_assembly_says_what_must_be_in_first_and_why(view: JobView) -> None:
    """The place in the order of assembly, what must be in, what comes next."""
    shown = card_of(view, "side-plate")
    found = section(shown, "Assembly")

    assert "Assembly: 12 of 15" == found.title
    assert ["Goes in as part of", "Must be in first", "Just before", "Next", "Then", "Then"] == labels(found)
    assert ("Rotor set", "the clearance is measured before they go in") == (found.lines[0].text, found.lines[0].note)
    assert ("step 4 · Gear pair", "it lies on Gear pair") == (found.lines[1].text, found.lines[1].note)


def test_what_is_renewed_inside_another_is_named_where_it_is_closed_in() -> None:
    """At the ring that is staked over them, and not again at the housing that waits for the ring."""
    reducer = view_of(demo("planetary-reducer"))
    ring, housing = (
        [each.text for each in section(card_of(reducer, part), "Assembly").lines if each.kind == "first"]
        for part in ("oil-guide-ring", "brake-housing")
    )

    assert "where renewed: Internal circlip DIN 472 - 80 x 2.5" in ring
    assert not [text for text in housing if "where renewed" in text]


def test_a_group_says_with_which_tool_it_goes_in() -> None:
    """What lifts a joined group is on the cards of its parts."""
    text = PUMP.replace("as: Rotor set,", "as: Rotor set, tool: driver,")

    assert "Seal driver 40 mm" == line(card_of(view_of(pump(text)), "gears"), "Assembly", "Tool").text


def test_the_first_and_the_last_in_assembly_have_one_neighbour_less(view: JobView) -> None:
    """Nothing comes before the first part and nothing after the last."""
    order = [entry.bin for entry in view.order]

    assert "Just before" not in labels(section(card(view, order[0]), "Assembly"))
    assert not {"Next", "Then"} & set(labels(section(card(view, order[-1]), "Assembly")))


@pytest.mark.parametrize(
    ("title", "turn"),
    [("Taking it out", "turn clockwise to loosen"), ("Tighten", "turn counter-clockwise to tighten")],
)
def test_a_left_hand_thread_is_said_where_it_is_turned(view: JobView, title: str, turn: str) -> None:
    """Which way is first said there, and only the way that is meant: a left-hand thread, from memory."""
    first = section(card_of(view, "cover-screws"), title).lines[0]

    assert ("Thread", "LEFT-HAND", turn, "loud") == (first.label, first.text, first.note, first.tone)


def test_the_part_s_facts_are_those_that_are_recorded(view: JobView) -> None:
    """Wash, renewal, number, size, mass and graded sizes, as far as the profile has them."""
    facts = section(card_of(view, "cover-screws"), "Part")
    assert ["Place", "Wash", "Number", "Size", "Mass", "NOT RECORDED"] == labels(facts)
    assert "new part" == facts.lines[-1].text
    assert "renewed with Gear pair" == line(card_of(view, "key"), "Part", "New part").text
    assert (
        "5.00, 5.05, 5.10 mm; measure it, marks are only a hint"
        == line(card_of(view, "side-plate"), "Part", "Graded").text
    )
    assert not [each for each in card_of(view, "plug").sections if each.title in ("Inspect", "Tighten", "Watch out")]


def test_the_footer_says_where_it_comes_from_and_what_comes_first(view: JobView) -> None:
    """Unit, revision, options, source, and that rules and trained people come before the card."""
    assert (
        "Gear pump with relief valve",
        "profile revision 3",
        "Drive: still open",
        "source: invented",
        "Local rules, the shop's own rules and trained, licensed people come before this card.",
    ) == card_of(view, "body").footer


def test_the_terminal_shows_everything_loudest_first(view: JobView) -> None:
    """The same card as lines: step, cautions, loud words, way and clock lead; nothing of the card is missing."""
    shown = card_of(view, "cover-screws")
    lines = card_lines(shown)
    text = "\n".join(lines)

    assert [
        "STEP 1   Cover screw M8 x 30   × 6",
        f"bin 1 of 15 · P7 · job 1 · {shown.code_text}",
        "DANGER, when it comes out: The spring pushes the cover up",
        "CAUTION, when it goes in: Fingers out of the joint",
        "LEFT-HAND THREAD",
        "",
        "Which way up   HEAD UP",
        "Clock          FREE",
    ] == lines[:8]
    for found in shown.sections:
        assert found.title in lines
        for each in found.lines:
            assert f"  {each.label}: {each.text}" + (f"; {each.note}" if each.note else "") in lines
    assert all(each.text in text for each in shown.unit_hazards)
    assert [*shown.footer] == lines[-5:]


def test_data_survives_json(view: JobView) -> None:
    """What a program reads is the whole card."""
    shown = card_of(view, "cover")
    data = json.loads(json.dumps(card_data(shown)))

    assert shown.code == data["code"]
    assert {"text": "FLAT FACE UP", "known": "known", "opens": "down", "face": "flat face"} == data["way"]
    assert [caution["signal"] for caution in data["unit_hazards"]] == ["warning", "notice"]
    assert len(shown.sections) == len(data["sections"])


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_card_of_the_demo_units_leads_somewhere(unit: str) -> None:
    """On both demo units every code on a card is the code of another bin of the job, and no line is empty."""
    view = view_of(demo(unit))
    codes = {view.code(each): each.step for each in view.teardown.bins}
    for shown in cards_of(view):
        for each in (line for section in shown.sections for line in section.lines):
            assert each.text
            assert each.label
            if each.code:
                assert re.match(rf"step {re.escape(codes[each.code])}\?? · ", each.text)
                assert each.code != shown.code


@pytest.mark.parametrize(
    ("up", "line"),
    [
        ("ground face", Line("Up", "ground face (drive side is up)")),
        ("bronze toward planet", Line("Faces", "bronze toward planet")),
    ],
)
def test_a_face_that_looks_toward_something_is_not_said_to_be_up(up: str, line: Line) -> None:
    """Six washers, one each side of three planets: the bronze of all looks to its planet, half of it down."""
    text = (
        "format: 1\nunit: {mark: P7, name: Pump, up: drive side}\n"
        f"parts:\n  - {{id: washer, name: Washer, qty: 6, sits: {{up: {up}}}}}\n"
    )
    shown = card_of(view_of(profile_of(text)), "washer")

    assert line == section(shown, "How it sits").lines[0]
