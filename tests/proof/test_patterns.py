"""Function patterns and format information, against segno and the standard's own example."""

import numpy as np
import pytest
import segno
from segno import consts

from labelkit.proof.patterns import VERSIONS, format_places, format_words, function_patterns

KNOWN = {
    consts.TYPE_FINDER_PATTERN_DARK: True,
    consts.TYPE_FINDER_PATTERN_LIGHT: False,
    consts.TYPE_SEPARATOR: False,
    consts.TYPE_ALIGNMENT_PATTERN_DARK: True,
    consts.TYPE_ALIGNMENT_PATTERN_LIGHT: False,
    consts.TYPE_TIMING_DARK: True,
    consts.TYPE_TIMING_LIGHT: False,
    consts.TYPE_DARKMODULE: True,
    consts.TYPE_VERSION_DARK: True,
    consts.TYPE_VERSION_LIGHT: False,
}


@pytest.mark.parametrize("version", VERSIONS)
def test_function_patterns_are_the_ones_segno_draws(version: int) -> None:
    """Every module that is known beforehand, and no other."""
    kinds = [list(row) for row in segno.make("A", version=version).matrix_iter(border=0, verbose=True)]

    known, dark = function_patterns(version)

    assert known.tolist() == [[kind in KNOWN for kind in row] for row in kinds]
    assert dark.tolist() == [[KNOWN.get(kind, False) for kind in row] for row in kinds]


@pytest.mark.parametrize("version", [1, 4, 7, 10])
@pytest.mark.parametrize("level", "lmqh")
def test_format_information_is_where_segno_puts_it(version: int, level: str) -> None:
    """Both copies spell the same word, and its number ends with the mask."""
    symbol = segno.make("A", version=version, error=level, boost_error=False)

    copies = np.array(symbol.matrix, dtype=bool)[format_places(version)]

    number = np.flatnonzero((format_words() == copies[0]).all(axis=1)).item()
    assert (copies[0] == copies[1]).all()
    assert number & 7 == symbol.mask


def test_format_word_of_the_standards_example() -> None:
    """Level M with mask 5. Source: ISO/IEC 18004, worked example of the format information (from memory)."""
    expected = "100000011001110"

    assert "".join("1" if bit else "0" for bit in format_words()[0b00101]) == expected


def test_format_words_differ_in_seven_bits_at_least() -> None:
    """Three errors can be put right. Source: ISO/IEC 18004, BCH (15, 5) code."""
    words = format_words().astype(int)

    distances = (words[:, None, :] != words[None, :, :]).sum(axis=2)

    assert distances[~np.eye(32, dtype=bool)].min() == 7
