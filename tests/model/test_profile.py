"""Series list their sizes exactly; fits and the header give bare figures their unit."""

from __future__ import annotations

from collections.abc import Callable, Collection
from decimal import Decimal
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.calc.fitsums import SUMS
from labelkit.cli.fit import KINDS
from labelkit.model.profile import READ, Fit, Header, Series
from labelkit.sheets.wording import FIT_KINDS
from tests.shop import DEMO_UNITS, demo, profile_of


def in_demo_units() -> set[str]:
    """Return the kinds of fit that the demo units have, which every sheet and page of a fit is tried with."""
    return {fit.kind for unit in DEMO_UNITS for fit in demo(unit).profile.fits.values()}


# What must know every kind of fit, and which it knows. Where a fit is asked for, drawn or kept, none is told apart
# until it is: a kind that no demo unit has would pass for an end play there, and nobody would see it.
KNOWN: dict[str, Callable[[], Collection[str]]] = {
    "READ in model/profile.py": READ.keys,
    "SUMS in calc/fitsums.py": SUMS.keys,
    "KINDS in cli/fit.py": KINDS.keys,
    "FIT_KINDS in sheets/wording.py": FIT_KINDS.keys,
    "a fit of it in unit_profiles/": in_demo_units,
}


@pytest.mark.parametrize("place", KNOWN)
def test_every_kind_of_fit_is_known(place: str) -> None:
    """Whoever adds one to `Fit.kind` is told by name where it is still missing."""
    missing = {*get_args(Fit.model_fields["kind"].annotation)} - {*KNOWN[place]()}

    assert not missing, f"give it {place}"


def series(**fields: Any) -> Series:
    return Series.model_validate(fields)


def test_a_graded_series_lists_both_ends() -> None:
    """From 2.00 to 3.20 by 0.15 are nine sizes, each with the typed decimals."""
    expected = ["2.00", "2.15", "2.30", "2.45", "2.60", "2.75", "2.90", "3.05", "3.20"]

    found = series(**{"from": "2.00", "to": "3.20", "step": "0.15"}).listed()
    assert [str(size) for size in found] == [f"{size} mm" for size in expected]


@given(first=st.integers(1, 5000), step=st.integers(1, 300), count=st.integers(0, 60))
def test_every_graded_series_is_exact(first: int, step: int, count: int) -> None:
    """In hundredths of a millimetre: no step is lost or gained to rounding."""
    text = {key: str(Decimal(value) / 100) for key, value in
            {"from": first, "to": first + step * count, "step": step}.items()}  # fmt: skip

    found = series(**text).thicknesses()
    assert found == tuple(Decimal(first + step * k) / 100 for k in range(count + 1))


def test_a_series_in_two_units_is_listed_in_millimetres() -> None:
    """Steps of a hundredth of an inch from a millimetre size: 0.254 mm each (NIST SP 811: 25.4 mm to the inch)."""
    found = series(**{"from": "2 mm", "to": "2.508 mm", "step": "0.01 in"})

    assert found.thicknesses() == (Decimal(2), Decimal("2.254"), Decimal("2.508"))


def test_a_listed_series_keeps_its_order_and_digits() -> None:
    """What is listed is as it was written."""
    found = series(sizes=["2.30", "0.104 in", "2.0"])

    assert [str(size) for size in found.listed()] == ["2.30 mm", "0.104 in", "2.0 mm"]
    assert found.thicknesses()[1] == Decimal("2.6416")


def test_a_fit_gives_bare_figures_its_own_unit() -> None:
    """A preload in N·m; a figure with a unit of its own keeps it."""
    fit = Fit.model_validate({"kind": "preload", "target": ["1.1", "30 lbf·in"], "aim": "2", "unit": "Nm"})

    assert [str(end) for end in fit.target] == ["1.1 N·m", "30 lbf·in"]
    assert (str(fit.aim), fit.unit) == ("2 N·m", "N·m")


@pytest.mark.parametrize(
    ("source", "expected"), [("Invented for this demo", True), ("shop notes", False), (None, False)]
)
def test_an_invented_unit_is_known_as_such(source: str | None, expected: bool) -> None:
    """Its prints say so."""
    header = Header.model_validate({"mark": "T1", "name": "Test", "up": "top"} | ({"source": source} if source else {}))

    assert header.invented is expected


def test_parts_are_walked_parents_first_with_their_place() -> None:
    """(1, 0) is the first part of the second."""
    text = "parts:\n- {id: a, name: A}\n- {id: b, name: B, parts: [{id: c, name: C}]}\n"
    text = "format: 1\nunit: {mark: T1, name: T, up: top}\n" + text

    found = [(place, part.id) for place, part in profile_of(text).profile.walk()]
    assert found == [((0,), "a"), ((1,), "b"), ((1, 0), "c")]


@pytest.mark.parametrize(
    ("field", "written", "expected"),
    [
        ("torques", "Nm", "N·m"),
        ("torques", "N m", "N·m"),
        ("torques", "lb-ft", "lbf·ft"),
        ("torques", "in lb", "lbf·in"),
        ("lengths", "inch", "in"),
        ("lengths", "MM", "mm"),
        ("masses", "lbs", "lb"),
        ("masses", "G", "g"),
    ],
)
def test_the_header_states_units_as_people_write_them(field: str, written: str, expected: str) -> None:
    """In every spelling that a value may have; what is kept is the standard one, and bare numbers take it."""
    text = f"format: 1\nunit: {{mark: T1, name: T, up: top, {field}: {written}}}\nparts:\n"
    text += "- {id: a, name: A, mass: 3, form: {ball: {d: 4}}, fasten: {torque: 5}}\n"
    profile = profile_of(text).profile
    part = profile.parts[0]
    bare = {"lengths": vars(part.form)["d"], "masses": part.mass, "torques": part.fasten and part.fasten.torque}

    assert getattr(profile.unit, field) == expected
    assert bare[field].unit == expected  # type: ignore[union-attr]


FITS = """\
format: 1
unit: {mark: T1, name: T, up: top, torques: N·m}
parts:
- {id: nut, name: Nut}
- {id: spacer, name: Spacer}
- {id: pack, name: Pack, stack: [steel, steel], parts: [{id: steel, name: Steel, qty: 2}, {id: clip, name: Clip}]}
fits:
  end-play: {kind: end_play, target: ["0.30", "0.60"], chain: [spacer, nut]}
  output-preload: {kind: preload, unit: Nm, target: ["2.5", "4.0"], set_by: spacer, seat: [turn it ten times]}
  stroke: {kind: stack, target: ["1.4", "1.8"], of: pack}
"""


@pytest.mark.parametrize(
    ("part", "expected"),
    [
        ("spacer", [("output preload", True), ("end play", False)]),
        ("nut", [("end play", False)]),
        ("pack", [("stroke", False)]),
        ("steel", [("stroke", False)]),
        ("clip", []),
        ("none", []),
    ],
)
def test_a_part_finds_the_fits_it_has_to_do_with(part: str, expected: list[tuple[str, bool]]) -> None:
    """Those it sets first; then those whose chain or stack it stands in."""
    found = profile_of(FITS).profile.fits_of(part)

    assert [(share.name, share.sets) for share in found] == expected


def test_the_fit_that_is_found_says_target_and_seat() -> None:
    """With the unit that the profile gives it."""
    (share, _) = profile_of(FITS).profile.fits_of("spacer")

    assert [str(end) for end in share.fit.target] == ["2.5 N·m", "4.0 N·m"]
    assert share.fit.seat == ("turn it ten times",)


def test_the_reducers_bearing_nut_leads_to_its_preload() -> None:
    """Its `tell` says: see output preload; the selective parts lead to what they set."""
    profile = demo("planetary-reducer").profile

    assert [share.name for share in profile.fits_of("bearing-nut")] == ["output preload"]
    for part, name in (
        ("preload-spacer", "output preload"),
        ("end-play-washer", "carrier end play"),
        ("selective-steel", "brake stroke"),
    ):
        assert [(share.name, share.sets) for share in profile.fits_of(part)] == [(name, True)]
