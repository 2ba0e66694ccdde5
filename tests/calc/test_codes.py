"""Codes: typed back, mistyped, guessed."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_36

from labelkit.calc.codes import (
    ALPHABET,
    BLOCK_SIZE,
    BLOCKS,
    LENGTH,
    MistypedCode,
    grouped,
    is_genuine,
    make_code,
    read_code,
    serial_of,
)

KEY = bytes(range(32))
serials = st.integers(0, BLOCKS * BLOCK_SIZE - 1)


@given(serials)
def test_a_code_says_its_serial(serial: int) -> None:
    """What goes in comes out, and only the key that made it calls it genuine."""
    code = make_code(KEY, serial)

    assert len(code) == LENGTH
    assert serial_of(code) == serial
    assert is_genuine(KEY, code)
    assert not is_genuine(KEY[::-1], code)


@given(serials)
def test_check_character_is_that_of_iso_7064(serial: int) -> None:
    """ISO/IEC 7064, hybrid system over 32 characters, as python-stdnum computes it."""
    code = make_code(KEY, serial)

    assert mod_37_36.calc_check_digit(code[:-1], ALPHABET) == code[-1]


@given(serials, st.randoms(use_true_random=False))
def test_codes_are_read_as_people_type_them(serial: int, chance: random.Random) -> None:
    """Lower case, hyphens, spaces, O for 0, I and L for 1, and the whole printed address are accepted."""
    code = make_code(KEY, serial)
    typed = grouped(code).replace("0", "O").replace("1", chance.choice("IL"))

    assert read_code(typed.lower()) == code
    assert read_code(typed.replace("-", " ")) == code
    assert read_code(f"http://192.168.1.20:8080/{code}") == code


def is_refused(typed: str) -> bool:
    try:
        read_code(typed)
    except MistypedCode:
        return True
    return False


def test_every_single_wrong_character_is_refused() -> None:
    """All 11 x 31 single errors of 200 codes: 100 %."""
    chance = random.Random(7064)
    codes = [make_code(KEY, chance.randrange(BLOCKS * BLOCK_SIZE)) for _ in range(200)]
    wrong = [code[:k] + letter + code[k + 1 :] for code in codes for k in range(LENGTH) for letter in ALPHABET]

    assert sum(map(is_refused, wrong)) == len(wrong) - 200 * LENGTH


def test_swapped_neighbours_are_refused() -> None:
    """At least 97 % of all adjacent swaps of 2,000 codes; the standard promises nearly all."""
    chance = random.Random(7064)
    codes = [make_code(KEY, chance.randrange(BLOCKS * BLOCK_SIZE)) for _ in range(2000)]
    swapped = [c[:k] + c[k + 1] + c[k] + c[k + 2 :] for c in codes for k in range(LENGTH - 1) if c[k] != c[k + 1]]

    assert sum(map(is_refused, swapped)) >= 0.97 * len(swapped)


@pytest.mark.parametrize(
    ("typed", "words"),
    [("7K3M", "has 4 characters, a code has 11"), ("7K3M-9Q2X-F4U", '"U"'), ("", "has 0 characters")],
)
def test_what_is_no_code_says_why(typed: str, words: str) -> None:
    """The message says what is wrong with what was typed."""
    with pytest.raises(MistypedCode, match=words):
        read_code(typed)
