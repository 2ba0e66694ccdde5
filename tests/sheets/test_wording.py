"""The words that labels, cards and the terminal share."""

from __future__ import annotations

from decimal import Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.language import speaking
from labelkit.model.part import Part
from labelkit.sheets import wording
from tests.shop import demo, part_of


@pytest.mark.parametrize(("fields", "words"), [("", "× 1"), ("qty: 12", "× 12"), ("qty: set", "SET")])
def test_quantity(fields: str, words: str) -> None:
    """A part without a fixed count is a set."""
    assert words == wording.quantity_words(part_of(fields))


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ("", ""),
        ('mass: "2.5"', "2.5 kg"),
        ('mass: "0.02", qty: 6', "0.02 kg each, 0.12 kg in all"),
        ('mass: "1.5", qty: set', "1.5 kg each"),
        ("mass: 8 oz, qty: 4", "8 oz each, 32 oz in all"),
    ],
)
def test_mass_in_all_is_the_exact_product(fields: str, words: str) -> None:
    """Several pieces weigh their number times one; a set has no sum; decimals stay as typed."""
    assert words == wording.mass_words(part_of(fields))


def shouted(outer: Part, *inside: Part) -> tuple[str, ...]:
    """Return what the label of a part shouts, in full."""
    return tuple(fact.words for fact in wording.loud_facts(outer, inside))


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ("", ()),
        ("thread: left", ("LEFT-HAND THREAD",)),
        ("renew: always", ("NEW ONLY",)),
        ("one_time: true", ("NEW ONLY",)),
        ("renew: if_worn, wash: basket", ()),
        ("wash: before", ("OUT BEFORE WASH",)),
        ("mass: 10", ("LIFT 10 kg",)),
        ('mass: "9.9"', ()),
        ("mass: 30 lb", ("LIFT 30 lb",)),
        ("mass: 20 lb", ()),
        ("hazards: [{signal: notice, text: x}]", ()),
        ("hazards: [{signal: caution, text: x}, {signal: danger, text: y}]", ("DANGER: SCAN FIRST",)),
        ("hazards: [{signal: caution, text: x}, {signal: warning, text: y}]", ("WARNING: SCAN FIRST",)),
        (
            "thread: left, mass: 20, wash: before, one_time: true, hazards: [{signal: danger, text: y}]",
            ("DANGER: SCAN FIRST", "LEFT-HAND THREAD", "LIFT 20 kg", "OUT BEFORE WASH", "NEW ONLY"),
        ),
    ],
)
def test_loud_words_come_most_dangerous_first(fields: str, words: tuple[str, ...]) -> None:
    """Each fact that must be shouted is shouted, and nothing else. Lifting from 10 kg: common practice, no source."""
    assert words == shouted(part_of(fields))


@pytest.mark.parametrize(
    ("inside", "words"),
    [
        ((), ()),
        (("",), ("1 STAYS INSIDE",)),
        (("", "", ""), ("3 STAY INSIDE",)),
        (("hazards: [{signal: notice, text: x}]",), ("1 STAYS INSIDE",)),
        (("", "hazards: [{signal: warning, text: x}]"), ("WARNING: SCAN FIRST", "2 STAY INSIDE")),
    ],
)
def test_parts_that_stay_inside_are_counted_and_their_cautions_are_shouted(
    inside: tuple[str, ...], words: tuple[str, ...]
) -> None:
    """Nobody hunts for what is still in there; it has no label of its own to warn."""
    assert words == shouted(part_of(), *(part_of(fields) for fields in inside))


def test_the_worst_signal_is_that_of_part_and_captured_parts_together() -> None:
    """One signal word stands for all: the worst. Source: order of the words by ANSI Z535.4, from memory."""
    outer, inner = part_of("hazards: [{signal: warning, text: x}]"), part_of("hazards: [{signal: danger, text: y}]")

    assert "DANGER: SCAN FIRST" == shouted(outer, inner)[0]
    assert "DANGER: SCAN FIRST" == shouted(inner, outer)[0]


def test_a_card_sends_nobody_to_scan() -> None:
    """On the card the cautions themselves stand there; only a label sends to them."""
    each = part_of("thread: left, hazards: [{signal: danger, text: y}]")

    assert ("LEFT-HAND THREAD",) == wording.loud_words(each)


@pytest.mark.parametrize(
    ("name", "short"),
    [
        ("Oil seal", "Oil seal"),
        ("Twenty-four letters here", "Twenty-four letters here"),
        ("Selective shim, input bearing", "Selective shim, input…"),
        ("Selective spacer output, bearing", "Selective spacer output…"),
        ("Control-valve gasket 0.5 mm", "Control-valve gasket…"),
        ("Donaudampfschifffahrtsgesellschaft", "Donaudampfschifffahrtsg…"),
    ],
)
def test_a_long_name_is_cut_at_a_word_and_says_so(name: str, short: str) -> None:
    """A name that has no short form is cut to 24 letters, at a word where there is one."""
    assert short == wording.short_name(part_of(name=name))


@given(name=st.text(st.sampled_from("abcdefg ,;-"), min_size=1, max_size=80).filter(lambda text: text.strip(" ,;-")))
def test_a_short_name_is_never_longer_than_the_label_allows(name: str) -> None:
    """24 letters at most; shorter names stay as they are; what is cut ends in an ellipsis."""
    each = Part.model_construct(name=name, short=None)
    short = wording.short_name(each)

    assert len(short) <= 24
    assert short == name if len(name) <= 24 else short.endswith("…")


def test_the_profile_s_own_short_name_comes_first() -> None:
    """Who wrote the profile knows what the part is called at the bench."""
    assert "Shim" == wording.short_name(part_of("short: Shim", name="Selective shim for the input bearing"))


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ("ring: {od: 72, id: 50, t: '2.60'}", "72 × 50 × 2.60 mm"),
        ("ring: {od: 72, id: 50, t: '0.104 in'}", "72 mm × 50 mm × 0.104 in"),
        ("gear: {teeth: 24, module: '2.5', width: 30, bore: 20}", "24 teeth, module 2.5"),
        ("gear: {teeth: 24, module: '0.1 in', width: 30, bore: 20}", "24 teeth, module 0.1 in"),
        ("shaft: {steps: [[40, 40], [78, 38]]}", "78 mm long"),
        ("shaft: {steps: [[40, 25.4], [78, 2 in]]}", "76.2 mm long"),
        ("shaft: {steps: [[40, 1 in], [78, 10 mm]]}", "1.3937 in long"),
        ("ball: {d: 6}", "6 mm"),
    ],
)
def test_sizes_keep_their_digits_and_their_units(form: str, words: str) -> None:
    """2.60 stays 2.60, and an inch size among millimetres is never printed as millimetres."""
    assert words == wording.size_words(part_of(f"form: {{{form}}}").form)


def test_that_a_unit_is_invented_is_said_as_the_reader_speaks() -> None:
    """A source in the profile's own words stays as it is."""
    unit = demo("planetary-reducer").profile.unit
    sources = (unit, unit.model_copy(update={"source": "measured on a worn unit"}))
    with speaking("de"):
        assert ["erfunden", "measured on a worn unit"] == list(map(wording.source_words, sources))


def test_a_part_without_a_form_has_no_size() -> None:
    """What is not recorded is not invented."""
    assert "" == wording.size_words(None)


@pytest.mark.parametrize(
    ("check", "words"),
    [
        ("look: pins blued", "Look: pins blued"),
        ("measure: side play, min: '0.20', max: '0.60'", "Measure side play: 0.20 to 0.60 mm"),
        ("measure: load, min: 600 N, max: '0.665 kN'", "Measure load: 600 N to 0.665 kN"),
        ("measure: wear, max: '0.30'", "Measure wear: at most 0.30 mm"),
        ("measure: length, min: '44.5', tool: caliper", "Measure length: at least 44.5 mm, with caliper"),
        ("measure: thickness", "Measure thickness: no limit given"),
        (
            "measure: thickness, readings: 3, spread: '0.02', each: 4, tool: micrometer",
            "Measure thickness: no limit given, 3 readings, spread at most 0.02 mm, at each of 4, with micrometer",
        ),
    ],
)
def test_an_inspection_point_says_limits_readings_and_tool(check: str, words: str) -> None:
    """What to measure, how often, and between which limits; a missing limit is said to be missing."""
    assert words == wording.check_words(part_of(f"check: [{{{check}}}]").check[0])


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ("fasten: {angle: 90}", "then 90°"),
        ("qty: 6, fasten: {pattern: circle}", "crosswise"),
        ("qty: 6, fasten: {pattern: row, oiled: true}", "middle first, oiled"),
        ("qty: 3, fasten: {pattern: [2, 1, 3], oiled: false}", "order 2-1-3, dry"),
        ("fasten: {pattern: circle}", ""),
        ("qty: 6, fasten: {passes: ['0.3', '0.7', '1.0']}", "passes 30 %, 70 %, 100 %"),
    ],
)
def test_tightening_says_passes_and_order(fields: str, words: str) -> None:
    """Passes in percent, the order across the circle, oiled or dry; one screw has no order."""
    each = part_of(fields)
    assert each.fasten is not None

    assert words == wording.fasten_words(each.fasten, each.qty)


@pytest.mark.parametrize("torque", ["125", "18 lbf·ft", "210 lbf·in", "2.5", "1000"])
def test_a_torque_is_given_in_three_units(torque: str) -> None:
    """The torque as typed, and in the two other units to three digits.

    Checked against pint's own conversion factors (force_pound, foot, inch).
    """
    each = part_of(f"fasten: {{torque: {torque}}}").fasten
    assert each is not None
    assert each.torque is not None
    registry = pint.get_application_registry()
    names = {"N·m": "newton * meter", "lbf·ft": "force_pound * foot", "lbf·in": "force_pound * inch"}
    words = wording.fasten_words(each, 1)
    typed, _, rest = words.partition(" (")
    value = float(each.torque.value) * registry(names[each.torque.unit])
    others = {piece.split(" ")[1]: float(piece.split(" ")[0]) for piece in rest.rstrip(")").split(", ")}

    assert str(each.torque) == typed
    assert set(names) - {each.torque.unit} == set(others)
    for unit, shown in others.items():
        assert shown == pytest.approx(value.to(names[unit]).magnitude, rel=0.005)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ("", ""),
        ("renew: always", "always renewed"),
        ("renew: if_worn", "renewed if worn"),
        ("renew: never", "not renewed"),
        ("renew: {with: other}", "renewed with Other"),
        ("renew: always, one_time: true", "always renewed; used once only"),
        ("one_time: true", "used once only"),
    ],
)
def test_renewal(fields: str, words: str) -> None:
    """When a new part is needed, by name where it goes with another one."""
    assert words == wording.renew_words(part_of(fields), {"other": "Other"})


@given(value=st.decimals(allow_nan=False, allow_infinity=False, places=4, min_value=-(10**6), max_value=10**6))
def test_plain_numbers_keep_their_value(value: Decimal) -> None:
    """No exponent, no needless zeros, the same number."""
    text = wording.plain(value)

    assert value == Decimal(text)
    assert "E" not in text
    assert "." not in text or not text.endswith("0")


def test_nothing_is_said_of_washing_what_is_thrown_away() -> None:
    """A label has room for other words then; but what must be out before the wash must be out before it."""
    told = [(wash, renew) for renew in ("always", "never") for wash in ("basket", "before")]
    words = [wording.wash_words(part_of(f"wash: {wash}, renew: {renew}")) for wash, renew in told]

    assert ["", "out before wash", "basket", "out before wash"] == words
