"""Texts cut into segments: the fewest bits, and the right ones."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from qrcode import util

from labelkit.drawing.segments import ALPHANUMERIC, Segment, bit_stream, bits_needed, segments
from labelkit.errors import UsageError

# Width of the character count. Source: ISO/IEC 18004, number of bits in the character count indicator (from
# memory; `qrcode` and `segno` agree).
COUNT_BITS = {
    1: {"numeric": 10, "alphanumeric": 9, "byte": 8},
    10: {"numeric": 12, "alphanumeric": 11, "byte": 16},
    27: {"numeric": 14, "alphanumeric": 13, "byte": 16},
}
QRCODE_MODE = {"numeric": util.MODE_NUMBER, "alphanumeric": util.MODE_ALPHA_NUM, "byte": util.MODE_8BIT_BYTE}


def bits_of(mode, text, version):
    """Return the bits of one segment by the standard's counts: 10 for 3 digits, 11 for 2 letters."""
    length = len(text.encode())
    data = {
        "numeric": 10 * (length // 3) + (0, 4, 7)[length % 3],
        "alphanumeric": 11 * (length // 2) + 6 * (length % 2),
        "byte": 8 * length,
    }
    return 4 + COUNT_BITS[version][mode] + data[mode]


def may_carry(mode, letter):
    """Say whether a mode can carry a letter."""
    return mode == "byte" or letter in (ALPHANUMERIC[:10] if mode == "numeric" else ALPHANUMERIC)


def fewest_bits(text, version):
    """Go through a text letter by letter, with the least bits for each mode and place in its group of letters."""
    steps = {"numeric": (4, 3, 3), "alphanumeric": (6, 5), "byte": (8,)}  # bits that the next letter adds
    states = {}
    for at, letter in enumerate(text):
        before, states = states, {}
        for mode, bits in steps.items():
            if not may_carry(mode, letter):
                continue
            ways = [(min(before.values()) if at else 0, mode, 0, 4 + COUNT_BITS[version][mode])]
            ways += [(cost, mode, place, 0) for (other, place), cost in before.items() if other == mode]
            for cost, _, place, header in ways:
                state = mode, (place + 1) % len(bits)
                total = cost + header + bits[place] * len(letter.encode() if mode == "byte" else "1")
                states[state] = min(total, states.get(state, total))
    return min(states.values()) + (0 if text.isascii() else 12)


@settings(max_examples=300, deadline=None)
@given(
    st.lists(st.sampled_from(["0", "7077", "A:", "A-BCDE/", "a", "aaa", "ö"]), min_size=1, max_size=14).map("".join),
    st.sampled_from([1, 10, 27]),
)
def test_no_way_to_cut_a_text_takes_fewer_bits(text, version):
    """Against the best of all choices of modes, letter by letter."""
    assert fewest_bits(text, version) == bits_needed(text, version)


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.sampled_from(["0", "12345", "A:", "AB CD/", "a", "wxyz"]), min_size=1, max_size=25).map("".join),
    st.sampled_from([1, 10, 27]),
)
def test_a_text_never_takes_more_bits_than_another_cut_of_it(text, version):
    """Against qrcode's own cuts, which look for pieces of at least so many letters."""
    for least in (1, 2, 4, 7, 20):
        chunks = [chunk for chunk in util.optimal_data_chunks(text, minimum=least) if len(chunk)]
        names = {number: name for name, number in QRCODE_MODE.items()}
        theirs = sum(bits_of(names[chunk.mode], chunk.data.decode(), version) for chunk in chunks)

        assert bits_needed(text, version) <= theirs


@pytest.mark.parametrize("version", [1, 10, 27])
def test_the_bits_are_those_that_qrcode_writes(version):
    """40 mixed texts, seeded. Source: qrcode, QRData.write into its own bit buffer."""
    rng = random.Random(20 + version)
    for _ in range(40):
        text = "".join(rng.choices(["7", "042", "KR2-11", "/:", "notch", "µ"], k=rng.randint(1, 12)))
        buffer = util.BitBuffer()
        for mode, data in segments(text, version):
            if mode == "eci":
                buffer.put(0b0111_00011010, 12)
                continue
            buffer.put(QRCODE_MODE[mode], 4)
            buffer.put(len(data), COUNT_BITS[version][mode])
            util.QRData(data, mode=QRCODE_MODE[mode]).write(buffer)
        expected = "".join(str(int(buffer.get(at))) for at in range(len(buffer)))

        assert expected == f"{bit_stream(text, version):0{bits_needed(text, version)}b}"


def test_the_segments_together_are_the_text():
    """Nothing is lost or changed where the mode changes."""
    text = "Ölablass 3/8, M12×1.5: 0012345678 ABCDEFGH, dann drehen"

    assert text == b"".join(part.data for part in segments(text, 5) if part.mode != "eci").decode()


def test_an_address_is_alphanumeric_but_for_its_scheme():
    """The scheme stays in lower case: some phones know no other, and it costs four bytes only."""
    expected = (
        Segment("byte", b"http"),
        Segment("alphanumeric", b"://192.168.1.20:8080/7K3M9Q2XF41"),
    )

    assert expected == segments("http://192.168.1.20:8080/7K3M9Q2XF41", 3)


def test_text_outside_ascii_says_that_it_is_utf_8():
    """ECI assignment 26 stands in front. Source: AIM ECI register, as listed by `segno` (from memory)."""
    expected = (Segment("eci", bytes([26])), Segment("byte", "nø".encode()))

    assert expected == segments("nø", 1)


@pytest.mark.parametrize(
    ("text", "version", "said"),
    [
        ("", 1, "the text is empty; allowed: at least one character"),
        ("ab\udce4", 1, "character 3 of the text (U+DCE4) is half of a surrogate pair"),
        ("A", 0, "QR version 0: allowed: whole numbers from 1 to 40"),
        ("A", 41, "QR version 41: allowed: whole numbers from 1 to 40"),
    ],
)
def test_what_no_symbol_can_say_is_refused(text, version, said):
    """The message names what was given and what is allowed."""
    with pytest.raises(UsageError) as refusal:
        segments(text, version)

    assert said in str(refusal.value)
