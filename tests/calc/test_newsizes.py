"""A new part measured beside the old one, and what it does to the clearance."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from labelkit.calc.grades import another_size
from labelkit.calc.newsizes import Size, difference, size_named, sizes_of
from labelkit.errors import UsageError
from labelkit.language import speaking
from labelkit.units import Quantity
from tests.figures import q
from tests.walk import Walk

SHIMS = tuple(map(q, ("0.10", "0.15", "0.20", "0.30", "0.50")))
SHIM = Size("t", "thickness", None, None, SHIMS)
STACK = Size("t", "thickness", SHIMS[4], None, SHIMS, (SHIMS[4], SHIMS[3], SHIMS[1]))


def reducer() -> Walk:
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    return walk


def pack() -> Walk:
    """Return a job whose brake plates were measured as they came apart: frictions 2.52, steels 2.01, plate 7.95."""
    walk = reducer()
    walk.do("reading", "friction-disc", check=0, at="apart", values=["2.52"] * 15, unit="mm")
    walk.do("reading", "steel-disc", check=0, at="apart", values=["2.01"] * 5, unit="mm")
    walk.do("reading", "pressure-plate", check=0, at="apart", values=["7.95"] * 3, unit="mm")
    return walk


def test_a_part_is_measured_by_its_form_what_tells_most_first() -> None:
    """Thickness, teeth and diameters of the demo's disc beside the old one; counts are counted."""
    walk = pack()
    sizes = sizes_of(walk.record, walk.place("friction-disc"))

    assert [("t", "thickness"), ("teeth", "teeth"), ("od", "outside diameter")] == [
        (s.name, s.words) for s in sizes[:3]
    ]
    assert "profile 2.50 mm, old one 2.52 mm" == sizes[0].beside()
    walk.do("reading", "friction-disc", check=0, at="apart", values=["2.52", "2.52", "2.53"], unit="mm")
    assert sizes[0].beside() == sizes_of(walk.record, walk.place("friction-disc"))[0].beside()
    assert (36, True) == (sizes[1].wanted, sizes[1].counted)
    assert sizes[0] == size_named(sizes, "Thickness") == size_named(sizes, "t")
    with speaking("de"):
        assert sizes[0] == size_named(sizes, "Dicke") == size_named(sizes, "thickness")
    with pytest.raises(UsageError, match=r"teethes.*did you mean teeth"):
        size_named(sizes, "teethes")
    assert "d" not in {size.name for size in sizes_of(walk.record, walk.place("hub-circlip"))}, "not its own size"


@pytest.mark.parametrize(
    ("size", "found", "words"),
    [
        # A cone of 80 mm bore is taken for one of 90 mm; both are in the demo unit.
        (
            Size("id", "inside diameter", q("80")),
            (q("90"),),
            "inside diameter 90 mm, the profile has 80 mm: 10 mm larger",
        ),
        (
            Size("t", "thickness", q("0.104 in")),
            (q("0.091 in"),),
            "thickness 0.091 in, the profile has 0.104 in: 0.013 in thinner",
        ),
        (
            Size("t", "thickness", q("2.50")),
            (q("2.49"), q("2.60")),
            "thickness 2.60 mm, the profile has 2.50 mm: 0.10 mm thicker",
        ),
        (Size("t", "thickness", q("2.50")), (q("2.45"), q("2.55")), ""),
        (Size("od", "outside diameter", q("132")), (q("132.4"),), ""),
        (Size("teeth", "teeth", 24), 24, ""),
        (Size("t", "thickness", None, None, (q("2.00"), q("2.20"))), (q("2.10"),), "the series has no such size"),
        (Size("t", "thickness", None, None, (q("2.00"), q("2.20"))), (q("2.21"),), ""),
        (Size("t", "thickness", q("2.60"), None, (q("2.60"),)), (q("2.40"),), "chosen was 2.60 mm"),
        (SHIM, (q("0.17"),), "thickness 0.17 mm, the series has no such size: the nearest is 0.15 mm"),
        (SHIM, (q("0.155"),), ""),
        (replace(SHIM, wanted=q("0.15")), (q("0.17"),), "chosen was 0.15 mm: 0.02 mm thicker"),
        (STACK, (q("0.30"), q("0.51"), q("0.15")), ""),
        (STACK, (q("0.15"),), ""),
        (STACK, (q("0.50"), q("0.50"), q("0.15")), "thickness 0.50 mm, chosen was 0.30 mm: 0.20 mm thicker"),
    ],
)
def test_a_difference_is_told_in_words(size: Size, found: tuple[Quantity, ...] | int, words: str) -> None:
    """What is wrong, by how much, and against what; what is as it should be says nothing. Own choice of how near."""
    told = difference(size, found)

    assert words in told
    assert bool(words) == bool(told)


def test_each_shim_of_a_stack_is_one_of_those_that_were_chosen() -> None:
    """0.50 + 0.30 + 0.15 makes 0.95; three of 0.50 would make 1.50. What came already is not asked for again."""
    walk = Walk("marine-gear", {"pto": "none"})
    walk.do("fit_chosen", fit="output-end-play", sizes=["0.50", "0.30", "0.15"], unit="mm")
    shims = walk.bin(walk.view.profile.fits["output-end-play"].set_by or "")

    thickness = sizes_of(walk.record, shims.ordinal)[0]
    assert "chosen 0.50 mm + 0.30 mm + 0.15 mm" == thickness.beside()
    sizes = [[Decimal(size) for size in text.split()] for text in ("0.30 0.50 0.14", "0.50 0.50 0.50", "0.50 0.30")]
    assert [None, Decimal("0.50"), None] == [another_size(walk.record, shims.ordinal, each) for each in sizes]
    walk.do("received", shims.part.id, pieces=2, measured="t 0.50 0.15 mm")
    assert "chosen 0.30 mm" == sizes_of(walk.record, shims.ordinal)[0].beside()
