"""What was measured of the parts of a fit, as it goes into its sum."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal

import pytest

from labelkit.calc.fitsizes import (
    expected,
    measured_since,
    otherwise_than_they_came,
    plate_sizes,
    sizes_in,
    thicker_by,
    unlisted_sizes,
)
from labelkit.calc.fitsums import work_out
from labelkit.calc.measured import measured_text
from labelkit.calc.openpoints import is_done, open_points
from labelkit.calc.profilefit import given_of
from labelkit.sheets.placewords import waits_words
from labelkit.units import Quantity
from tests.calc.test_newsizes import pack
from tests.figures import q
from tests.shop import profile_of
from tests.walk import Walk


def stack(walk: Walk) -> dict[str, object]:
    """Return the sum of the brake stroke with the plates as the record has them."""
    fit = walk.view.profile.fits["brake-stroke"]
    given_ = given_of(walk.view.profile, fit, dict(walk.view.job.options))
    plates = [f"{part}={size}" for part, size in plate_sizes(walk.record, fit).items()]
    empty = {
        "tol": None,
        "pieces": None,
        "tie": None,
        "aim": None,
        "wave": None,
        "frictions": None,
        "limit_state": None,
    }
    return dict(work_out("stack", {**empty, **given_, "plate": plates}).values)


def test_new_plates_go_into_the_clearance_as_they_measure() -> None:
    """Moment 11: discs 0.15 mm thinner than the old ones of 2.52 mm leave 5 × 0.15 = 0.75 mm more.

    Depth 34.22 less 5 × 2.37 + 5 × 2.01 + 7.95 is 4.37; for 1.40 to 1.80 the steel must be 2.57 to 2.97, and the series
    has only 2.60 there: 1.77 mm. Source: arithmetic, worked by hand; with the old discs 3.62, 2.00, 1.62.
    """
    walk = pack()
    assert (Decimal("3.62"), Decimal("1.62")) == (stack(walk)["rest"], stack(walk)["predicted"])

    walk.do("condemned", "friction-disc", why="burnt")
    assert "friction-disc" not in plate_sizes(walk.record, walk.view.profile.fits["brake-stroke"]), "nothing came yet"
    measured = measured_text({"t": (q("2.37"), q("2.37"), q("2.36"), q("2.38"), q("2.37"))})
    walk.do("received", "friction-disc", pieces=5, measured=measured)

    assert q("2.37") == plate_sizes(walk.record, walk.view.profile.fits["brake-stroke"])["friction-disc"]
    assert Decimal("-0.75") == thicker_by(walk.record, walk.view.profile.fits["brake-stroke"])
    found = stack(walk)
    assert (Decimal("4.37"), Decimal("1.77")) == (found["rest"], found["predicted"])
    assert (Decimal("2.57"), Decimal("2.97")) == found["window"]
    assert [q("2.60").value] == [Decimal(str(each)) for each in found["choice"]]  # type: ignore[attr-defined]


def test_plates_of_which_some_are_new_are_not_guessed() -> None:
    """Nobody says which of the old ones stay; nor is anything known of new ones that nobody measured."""
    walk = pack()
    fit = walk.view.profile.fits["brake-stroke"]
    walk.do("received", "friction-disc", pieces=2, measured="t 2.50 mm")

    assert "friction-disc" not in plate_sizes(walk.record, fit)
    walk.do("received", "friction-disc", pieces=3)
    assert "friction-disc" not in plate_sizes(walk.record, fit)


def test_new_plates_that_were_condemned_count_no_more() -> None:
    """The mean is that of the five which came last, and of none before they are here."""
    walk = pack()
    fit = walk.view.profile.fits["brake-stroke"]
    walk.do("condemned", "friction-disc", why="burnt")
    walk.do("received", "friction-disc", pieces=5, measured="t 2.37 mm")
    walk.do("installed", "friction-disc", new=True)
    walk.do("removed", "friction-disc", count=5)
    walk.do("condemned", "friction-disc", why="of another lining")
    assert "friction-disc" not in plate_sizes(walk.record, fit)

    walk.do("received", "friction-disc", pieces=5, measured="t 2.50 mm")
    assert q("2.50") == plate_sizes(walk.record, fit)["friction-disc"]


@pytest.mark.parametrize(
    ("unit", "part", "fit", "values", "sizes"),
    [
        ("planetary-reducer", "end-play-washer", "carrier-end-play", ["2.30", "2.30", "2.31"], ("2.303",)),
        ("marine-gear", "end-ring-astern", "clutch-clearance-astern", ["3.40"], ("3.40",)),
        # Each shim and the sum.
        ("marine-gear", "astern-shims", "astern-end-play", ["0.50", "0.25", "0.75"], ("0.50", "0.25")),
    ],
)
def test_what_was_in_is_known_from_the_teardown(
    unit: str, part: str, fit: str, values: list[str], sizes: tuple[str, ...]
) -> None:
    """The mean of one piece, each of a set; nothing once another size was chosen."""
    walk = Walk(unit)
    check = next(number for number, check in enumerate(walk.bin(part).part.check) if check.keep)
    walk.do("reading", part, check=check, at="apart", values=values, unit="mm")

    assert tuple(Quantity(Decimal(size), "mm") for size in sizes) == sizes_in(walk.record, fit)
    walk.do("fit_chosen", fit=fit, sizes=["2.60"], predicted="0.45")
    assert () == sizes_in(walk.record, fit)


def test_what_is_in_is_offered_as_it_went_in() -> None:
    """Not as the old one was; a size that was chosen since is another."""
    walk = Walk("planetary-reducer")
    walk.do("reading", "end-play-washer", check=0, at="apart", values=["2.30", "2.30", "2.31"], unit="mm")
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.60"], predicted="0.42")
    walk.do("installed", "end-play-washer", new=True, sizes=["2.61"])

    assert (q("2.61"),) == sizes_in(walk.record, "carrier-end-play")
    walk.do("removed", "end-play-washer", count=1)
    assert (q("2.61"),) == sizes_in(walk.record, "carrier-end-play"), "it lies there, and was in last"
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.75"], predicted="0.42")
    assert () == sizes_in(walk.record, "carrier-end-play")


SHIMS = """\
format: 1
unit: {mark: S1, name: Shaft, revision: "1", up: top}
series: {shims: {sizes: ["0.20", "0.30", "0.50"], pieces: 3}}
parts:
  - {id: shim, name: Shim, qty: 3, series: shims, check: [{measure: thickness, READ, at: apart, keep: true}]}
fits: {play: {kind: end_play, target: ["0.40", "0.60"], set_by: shim, thicker: reduces}}
"""


@pytest.mark.parametrize(
    ("readings", "values", "sizes"),
    [
        (1, ["0.21"], ()),
        (1, ["0.21", "0.30", "0.51"], ("0.21", "0.30", "0.51")),
        (2, ["0.21", "0.22", "0.30", "0.30", "0.51", "0.49"], ("0.215", "0.30", "0.50")),
    ],
)
def test_of_several_graded_pieces_each_is_measured(readings: int, values: list[str], sizes: tuple[str, ...]) -> None:
    """Their sum sets the fit: one figure for three shims leaves it wrong by the two others. Means by hand.

    Nothing is said in the profile of how many pieces are measured, nor does one size let all of them in.
    """
    walk = Walk(profile_of(SHIMS.replace("READ", f"readings: {readings}")))
    walk.take_apart()
    walk.do("reading", "shim", check=0, at="apart", values=values, unit="mm")

    known = tuple(Quantity(Decimal(size), "mm") for size in sizes)
    assert known == sizes_in(walk.record, "play")
    assert bool(known) == is_done(walk.record.at(0), 0, walk.bin("shim").part.check[0])
    told = "NO: 1 Shim: 3 go in, 1 measured. Allowed now: measure each, or say how many go in"
    assert (told, True) == (
        walk.ask("installed", "shim", sizes=["0.21"]).refusal,
        not walk.refused("installed", "shim", sizes=["0.21"] * 3),
    )


def test_what_is_expected_goes_by_what_the_new_piece_measures() -> None:
    """A washer of 2.90 chosen for 0.41 measures 2.91, which leaves 0.40; by hand. Thicker reduces the play."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.90"], predicted="0.41")
    assert q("0.41") == expected(walk.record, "carrier-end-play")

    walk.do("received", "end-play-washer", pieces=1, measured="t 2.91 2.91 mm")
    assert q("0.40") == expected(walk.record, "carrier-end-play")
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.75"], predicted="0.56")
    assert q("0.56") == expected(walk.record, "carrier-end-play"), "that one is not the piece that came"


def test_a_piece_that_came_in_anothers_stead_is_what_is_predicted_from() -> None:
    """2.60 chosen for 0.49, 2.75 in: 0.15 less. What went back, or came out again, is not there to count.

    Source: arithmetic, worked by hand.
    """
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.60"], predicted="0.49")
    walk.do("received", "end-play-washer", pieces=1, measured="t 2.90 mm")
    walk.do("returned", "end-play-washer", pieces=1, counted=1, why="too thick")
    assert ((), q("0.49")) == predicted(walk)

    walk.do("received", "end-play-washer", pieces=1, measured="t 2.75 mm")
    assert ((q("2.75"),), q("0.34")) == predicted(walk)
    walk.do("returned", "end-play-washer", pieces=1, counted=1, why="too thick")
    walk.do("installed", "end-play-washer", sizes=["2.75"])
    assert ((q("2.75"),), q("0.34")) == predicted(walk)
    walk.do("removed", "end-play-washer", count=1)
    walk.do("received", "end-play-washer", pieces=1, measured="t 2.60 mm")
    assert ((), q("0.49")) == predicted(walk)


def predicted(walk: Walk) -> tuple[tuple[Quantity, ...], Quantity | None]:
    name = "carrier-end-play"
    return measured_since(walk.record, name), expected(walk.record, name)


@pytest.mark.parametrize(
    ("asked", "size", "told"),
    [
        (otherwise_than_they_came, "5.20", []),
        (otherwise_than_they_came, "5.50", ["5.50 mm goes in, the new one measured 5.20 mm when it came"]),
        (unlisted_sizes, "5.50", []),
        (unlisted_sizes, "5.62", ["thickness 5.62 mm, the series has no such size: the nearest is 5.50 mm"]),
    ],
)
def test_a_piece_that_is_none_of_those_there_are_is_told_of(
    asked: Callable[..., Iterator[str]], size: str, told: list[str]
) -> None:
    """Spacers from 5.00 to 5.50 mm in the profile; a new one of 5.20 mm came, none was chosen."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.do("received", "preload-spacer", pieces=1, measured="t 5.20 mm")

    assert told == list(asked(walk.record, walk.place("preload-spacer"), (q(size),)))


def test_a_stack_of_old_and_new_pieces_is_as_it_was_chosen() -> None:
    """One shim stays, two came and measure as they were chosen: only another size in their stead is told of."""
    walk = Walk("marine-gear", {"pto": "none"})
    check = next(number for number, check in enumerate(walk.bin("astern-shims").part.check) if check.keep)
    walk.take_apart()
    walk.do("reading", "astern-shims", check=check, at="apart", values=["0.50"], unit="mm")
    walk.do("fit_chosen", fit="astern-end-play", sizes=["0.50", "0.15", "0.10"], predicted="0.40")
    place = walk.place("astern-shims")
    assert "0 of 2 here" in waits_words(walk.record, walk.record.at(place))
    for size in ("0.15", "0.10"):
        assert not walk.record.has_new(place)
        walk.do("received", "astern-shims", pieces=1, measured=f"t {size} mm")

    assert [] == list(otherwise_than_they_came(walk.record, place, (q("0.50"), q("0.15"), q("0.10"))))
    other = list(otherwise_than_they_came(walk.record, place, (q("0.50"), q("0.15"), q("0.20"))))
    assert ["0.20 mm goes in, the new one measured 0.10 mm when it came"] == other


def test_a_graded_piece_that_lies_ready_unmeasured_is_open() -> None:
    """Its fit needs its thickness; measured when it came or when it was laid ready, or in with its size, nothing is."""
    for acts in (
        [("received", {"pieces": 1}), ("staged", {"pieces": 1, "measured": "t 2.91 mm"})],
        [("received", {"pieces": 1, "measured": "t 2.91 mm"}), ("staged", {"pieces": 1})],
        [("staged", {"pieces": 1}), ("installed", {"new": True, "sizes": ["2.91"]})],
        [("staged", {"pieces": 1})],
    ):
        walk = Walk("planetary-reducer", {"breather": "std"})
        walk.take_apart()
        walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.90"], predicted="0.41")
        for kind, fields in acts:
            walk.do(kind, "end-play-washer", **fields)

        told = [point.text for point in open_points(walk.record) if point.kind == "unmeasured"]

        name = walk.record.at(walk.place("end-play-washer")).name
        wanted = f"{name}: the new one lies ready and is not measured; carrier end play needs its thickness"
        assert ([wanted] if len(acts) == 1 else []) == told
        if len(acts) > 1:
            assert "0.40 mm" == str(expected(walk.record, "carrier-end-play"))
