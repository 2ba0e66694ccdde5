"""Text that fits its room, measured against the PDF library's own sums."""

import math

import pytest
from fontTools import ttLib
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase.ttfonts import TTFont

from labelkit.drawing import text
from labelkit.drawing.fonts import font_file
from labelkit.drawing.page import Run
from labelkit.errors import UsageError

WORDS = "Selective shim, input bearing"
SENTENCES = st.lists(st.text("abcdefgWi-/Ж½", min_size=1, max_size=14), max_size=14).map(" ".join)


@pytest.fixture(scope="module")
def library():
    """Return the faces as the PDF library reads them."""
    return {face: TTFont(face, str(font_file(face))) for face in ("regular", "bold", "fallback")}


@pytest.mark.parametrize("face", ["regular", "bold"])
def test_width_is_that_of_the_pdf_library(library, face):
    """A line is as long as the PDF library sets it. Source: reportlab, stringWidth."""
    expected = library[face].stringWidth(WORDS, 4.2)

    assert text.measure(WORDS, face, 4.2)[0] == pytest.approx(expected)


def test_width_adds_up_over_faces(library):
    """A line of two faces is as long as its runs together. Source: reportlab, stringWidth."""
    expected = library["bold"].stringWidth("M8 ", 5) + library["fallback"].stringWidth("Болт", 5)

    assert text.measure("M8 Болт", "bold", 5)[0] == pytest.approx(expected)


def test_width_has_no_kerning():
    """Letters stand side by side: a pair that a kerned text would pull together is the sum of both."""
    assert text.measure("AV", "regular", 1)[0] == pytest.approx(
        text.measure("A", "regular", 1)[0] + text.measure("V", "regular", 1)[0]
    )


@pytest.mark.parametrize(
    ("string", "rises", "falls"),
    [("x", "sxHeight", False), ("H", "sCapHeight", False), ("xp", "sxHeight", True)],
)
def test_heights_are_those_of_the_letters(string, rises, falls):
    """A line is as tall as its tallest letter and as deep as its deepest. Source: fontTools, OS/2 and head."""
    font = ttLib.TTFont(font_file("regular"))
    expected = getattr(font["OS/2"], rises) / font["head"].unitsPerEm * 10

    _, ascent, descent = text.measure(string, "regular", 10)

    assert ascent == pytest.approx(expected, rel=0.04)  # round letters overshoot the flat ones a little
    assert (descent > 1) == falls


def test_an_empty_line_has_no_size():
    """No letters: no width, no height."""
    assert text.measure("", "bold", 10) == (0, 0, 0)


def test_a_line_is_split_where_the_face_changes():
    """Runs follow the faces, and together they are the text."""
    expected = (Run("bold", "Ø 8 "), Run("fallback", "Ж"), Run("bold", "b"))

    line = text.line("⌀ 8 Жb", 10, 20, 4, "bold", "end")

    assert line.runs == expected
    assert (line.string, line.x, line.y, line.size, line.anchor) == ("Ø 8 Жb", 10, 20, 4, "end")
    assert line.width == pytest.approx(text.measure("Ø 8 Жb", "bold", 4)[0])
    assert line.left == pytest.approx(10 - line.width)


def test_a_line_with_room_has_the_largest_size():
    """Where there is room enough the largest size is taken, and nothing is left out."""
    fitted = text.fit_line(WORDS, 500, (8, 3))

    assert (fitted.string, fitted.size, fitted.shortened) == (WORDS, 8, False)


def test_a_line_shrinks_as_little_as_it_must():
    """The size fits, a hundredth of a millimetre more would not, and the text is whole."""
    fitted = text.fit_line(WORDS, 40, (8, 2))

    assert fitted.width <= 40 < text.measure(WORDS, "regular", fitted.size + 0.01)[0]
    assert (fitted.string, fitted.shortened) == (WORDS, False)


def test_a_line_that_cannot_shrink_ends_in_an_ellipsis_after_a_word():
    """At the smallest size words are left out, and both the eye and the program can tell."""
    fitted = text.fit_line(WORDS, 40, (8, 4))

    assert (fitted.string, fitted.size, fitted.shortened) == ("Selective shim, input…", 4, True)
    assert fitted.width <= 40


def test_a_long_word_is_cut_with_an_ellipsis():
    """Where no word boundary is near, the word is cut rather than lost, and says so."""
    fitted = text.fit_line("O Selektivdistanzscheibenaufnahme", 30, (4, 4))

    assert fitted.shortened
    assert fitted.string.startswith("O Selektivdis")
    assert fitted.string.endswith("…")


def test_punctuation_does_not_stand_before_an_ellipsis():
    """`shim,…` would read like a list; the comma goes."""
    room = text.measure("Selective shim,…", "regular", 4)[0]

    assert text.fit_line(WORDS, room, (4, 4)).string == "Selective shim…"


@pytest.mark.parametrize("width", [0, -3, 0.5])
def test_no_room_gives_an_empty_line_that_says_so(width):
    """Where not even the ellipsis fits nothing is drawn, and the line counts as shortened."""
    fitted = text.fit_line(WORDS, width, (4, 4))

    assert (fitted.string, fitted.width, fitted.shortened) == ("", 0, True)


def test_an_empty_text_fits_anywhere():
    """Nothing to say is not shortened."""
    assert not text.fit_line("  ", 0, (4, 2)).shortened


@pytest.mark.parametrize("sizes", [(2, 4), (4, 0), (4, -1)])
def test_impossible_sizes_are_refused(sizes):
    """The largest size comes first and both are above 0."""
    with pytest.raises(UsageError, match="the largest first"):
        text.fit_line(WORDS, 40, sizes)


def test_a_fitted_line_goes_to_its_place():
    """The line drawn is the line measured."""
    fitted = text.fit_line(WORDS, 40, (8, 4), "bold")

    drawn = fitted.at(50, 10, "middle", "#ff0000")

    assert (drawn.string, drawn.size, drawn.width) == (
        fitted.string,
        fitted.size,
        pytest.approx(fitted.width),
    )
    assert (drawn.x, drawn.y, drawn.anchor, drawn.fill) == (50, 10, "middle", "#ff0000")


@given(SENTENCES, st.floats(1, 120), st.sampled_from(["regular", "bold"]))
def test_a_fitted_line_never_leaves_its_room(string, width, face):
    """Whatever the text, it stays inside; it is whole, or it is shortened and says so."""
    fitted = text.fit_line(string, width, (6, 2.5), face)

    assert fitted.width <= width + 1e-5
    assert fitted.shortened == (fitted.string != string)
    assert not fitted.shortened or fitted.string.endswith("…") or fitted.string == ""


def test_words_wrap_into_even_lines():
    """Two lines of alike length, not a full one and a rest."""
    room = text.measure("one two three four", "regular", 4)[0]

    wrapped = text.wrap("one two three four five", room, 4, 3)

    assert wrapped == text.Wrapped(("one two three", "four five"), False)


def test_a_text_that_needs_more_lines_ends_in_an_ellipsis():
    """The last line allowed says that there is more, and so does the flag."""
    wrapped = text.wrap("Selective shim, input bearing, for the lower gear train", 30, 4, 2)

    assert wrapped == text.Wrapped(("Selective shim,", "input bearing…"), True)


def test_a_long_word_breaks_at_its_hyphen():
    """A word wider than the line breaks after its hyphen, without an ellipsis: nothing is left out."""
    room = text.measure("Distance-", "regular", 4)[0]

    assert text.wrap("Distance-washer", room, 4, 5) == text.Wrapped(("Distance-", "washer"), False)


def test_a_word_without_a_hyphen_is_cut_with_an_ellipsis():
    """A word never runs out of its room and is never cut in silence."""
    wrapped = text.wrap("the Selektivdistanzscheibe in", 20, 4, 5)

    assert wrapped.shortened
    assert [line for line in wrapped.lines if line.endswith("…")] == [wrapped.lines[1]]
    assert wrapped.lines[2] == "in"


@pytest.mark.parametrize("space", [" ", "\u00a0"])
def test_a_figure_stays_with_its_unit(space):
    """A line breaks before both (the SI Brochure, 5.4.3, has a space between them); only no room at all parts them."""
    room = text.measure("weighs 12 kg", "regular", 4)[0] - 0.5

    assert text.wrap(f"weighs 12{space}kg", room, 4, 2).lines == ("weighs", f"12{space}kg")
    assert text.wrap("12 kg", text.measure("12 kg", "regular", 4)[0] - 0.5, 4, 2).lines == ("12", "kg")


@pytest.mark.parametrize("cross", ["x", "×"])
def test_sizes_are_not_parted_at_their_cross(cross):
    """`60 x 2` is one size (common practice, no source); only no room at all parts it."""
    room = text.measure(f"Circlip 60 {cross} 2", "regular", 4)[0] + 0.5

    assert text.wrap(f"Circlip 60 {cross} 2, ahead", room, 4, 3).lines == ("Circlip", f"60 {cross} 2, ahead")
    assert text.wrap(f"60 {cross} 2", text.measure("60", "regular", 4)[0] + 0.5, 4, 3).lines == ("60", f"{cross} 2")


@pytest.mark.parametrize("string", ["", "   ", "\n"])
def test_an_empty_text_gives_no_line(string):
    """Nothing to say takes no line."""
    assert text.wrap(string, 30, 4, 2) == text.Wrapped((), False)


def test_no_room_wraps_to_nothing_and_says_so():
    """Where no letter fits there is no line, and the text counts as shortened."""
    assert text.wrap(WORDS, 0.5, 4, 2) == text.Wrapped((), True)


@pytest.mark.parametrize(("size", "lines"), [(0, 1), (4, 0)])
def test_impossible_lines_are_refused(size, lines):
    """At least one line of a size above 0."""
    with pytest.raises(UsageError, match="at least 1"):
        text.wrap(WORDS, 30, size, lines)


@given(SENTENCES, st.floats(8, 90), st.integers(1, 6))
def test_wrapped_lines_stay_in_their_room_and_lose_nothing_in_silence(string, width, most):
    """Every line fits, there are not too many, and unless it says so every letter is there in order."""
    wrapped = text.wrap(string, width, 4, most)

    assert len(wrapped.lines) <= most
    assert all(text.measure(line, "regular", 4)[0] <= width + 1e-5 for line in wrapped.lines)
    if not wrapped.shortened:
        assert "".join(wrapped.lines).replace(" ", "") == string.replace(" ", "")


@given(SENTENCES, st.floats(40, 90))
def test_no_lines_are_wasted(string, width):
    """The number of lines is the least possible: that of filling each line with all it holds."""
    expected, room = 0, -1.0
    for word in string.split():
        long = text.measure(word, "regular", 4)[0]
        space = text.measure(" ", "regular", 4)[0]
        if long > width:
            return
        if room - space - long < -1e-9:
            expected, room = expected + 1, width + space
        room -= space + long

    assert len(text.wrap(string, width, 4, math.inf).lines) == expected


@pytest.mark.parametrize("face", ["regular", "bold"])
def test_letters_can_be_asked_for_by_height(face):
    """A size chosen for 14 mm capitals gives an H of 14 mm, and back."""
    size = text.size_for_cap(14, face)

    assert text.measure("H", face, size)[1] == pytest.approx(14)
    assert text.cap_for_size(size, face) == pytest.approx(14)
