"""Which way up and at what hour, in words: known, free and not recorded are three answers."""

from __future__ import annotations

import pytest

from labelkit.sheets import waywords
from tests.shop import part_of

RING = "form: {ring: {od: 72, id: 50, t: 3}}"


@pytest.mark.parametrize(
    ("fields", "text", "known"),
    [
        ("", "NOT RECORDED", "missing"),
        ("sits: {clock: free}", "NOT RECORDED", "missing"),
        ("sits: {up: free}", "EITHER WAY", "free"),
        ("sits: {up: ground face}", "GROUND FACE UP", "known"),
        (f"{RING}, sits: {{up: ground face, opens: up}}", "GROUND FACE UP", "known"),
        ("form: {lip_seal: {id: 25, od: 40, w: 7}}, sits: {up: flat back, opens: down}", "LIP DOWN", "known"),
        ("form: {bolt: {d: 8, l: 30}}, sits: {opens: up}", "HEAD UP", "known"),
        ("sits: {opens: down}", "OPEN DOWN", "known"),
        ("sits: {opens: down, tell: LIP DOWN}", "LIP DOWN", "known"),
        ("sits: {opens: up, tell: LIPPE OBEN}", "LIP UP", "known"),
        ("form: {thrust_bearing: {id: 50, od: 70, t: 3}}, sits: {opens: down}", "LIP DOWN", "known"),
        ("sits: {up: bronze toward planet}", "BRONZE TOWARD PLANET", "known"),
        (f"{RING}, qty: 6, sits: {{up: Polished toward needles}}", "POLISHED TOWARD NEEDLES", "known"),
        ("sits: {up: Bronze zum Planetenrad}", "BRONZE ZUM PLANETENRAD", "known"),
        ("sits: {up: untoward side}", "UNTOWARD SIDE UP", "known"),
        ("sits: {up: lip down}", "LIP DOWN", "known"),
        ("sits: {up: seal groove up}", "SEAL GROOVE UP", "known"),
        ("sits: {up: Lippe nach unten}", "LIPPE NACH UNTEN", "known"),
        ("sits: {up: labio hacia abajo}", "LABIO HACIA ABAJO", "known"),
        ('sits: {up: "lip-down, oil side"}', "LIP-DOWN, OIL SIDE", "known"),
        ("sits: {up: hold-down lug}", "HOLD-DOWN LUG UP", "known"),
    ],
)
def test_known_free_and_not_recorded_read_differently(fields: str, text: str, known: str) -> None:
    """Which way up is known, free or not recorded: three answers, never an empty one."""
    way = waywords.way(part_of(fields))

    assert (text, known) == (way.text, way.known)


@pytest.mark.parametrize(
    ("fields", "text", "known"),
    [
        ("", "NOT RECORDED", "missing"),
        ("sits: {up: free}", "NOT RECORDED", "missing"),
        ("sits: {clock: free}", "FREE", "free"),
        ('sits: {clock: "6:00"}', "6 o'clock", "known"),
        ('sits: {clock: "12:30"}', "12:30", "known"),
    ],
)
def test_the_clock_is_read_as_people_say_it(fields: str, text: str, known: str) -> None:
    """Full hours are said with o'clock, half ones as on a watch."""
    assert (text, known) == waywords.clock_words(part_of(fields))


@pytest.mark.parametrize(
    ("fields", "short", "full"),
    [
        ("", "NOT RECORDED", "NOT RECORDED"),
        ("sits: {up: free, clock: free}", "EITHER WAY", "EITHER WAY, FREE"),
        ('sits: {up: lid, clock: "6:30"}', "LID UP, 6:30", "LID UP, 6:30"),
        ("sits: {up: lid}", "LID UP, CLOCK ?", "LID UP, CLOCK NOT RECORDED"),
        ("sits: {clock: free}", "NOT RECORDED", "NOT RECORDED, FREE"),
        ('sits: {clock: "12:00"}', "NOT RECORDED, 12:00", "NOT RECORDED, 12:00"),
    ],
)
def test_way_and_clock_in_words_alone(fields: str, short: str, full: str) -> None:
    """Also without a dial, and on the smallest label, a clock that is not recorded is not taken for a free one."""
    assert (short, full) == tuple(map(" ".join, waywords.sits_words(part_of(fields))))


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ("", "NOT REC."),
        ("sits: {up: lid}", "NOT REC."),
        ("sits: {clock: free}", "FREE"),
        ('sits: {clock: "3:30"}', "3:30"),
    ],
)
def test_the_hour_beside_the_dial(fields: str, words: str) -> None:
    """The dial is never alone: the hour, FREE, or that nobody recorded it."""
    assert words == waywords.hour_words(part_of(fields))


@pytest.mark.parametrize(
    ("sits", "told"),
    [("opens: down, tell: LIP DOWN", ""), ("opens: down, tell: lip to the oil", "lip to the oil"), ("opens: down", "")],
)
def test_the_way_is_not_said_again_by_what_tells_it(sits: str, told: str) -> None:
    """A card that says LIP DOWN has no second line that says LIP DOWN."""
    assert told == waywords.tell_words(part_of(f"sits: {{{sits}}}"))
