"""The marine-gear profile against itself: what is there twice is the same twice, what is lifted weighs its parts."""

from __future__ import annotations

from decimal import Decimal

import pytest

from labelkit.model.part import Part
from tests.shop import demo

# The kilograms that its cautions state for the three shafts together.
TRIO = Decimal("57.4")


@pytest.fixture(scope="module")
def parts() -> dict[str, Part]:
    """Return the profile's parts by id."""
    return {part.id: part for _, part in demo("marine-gear").profile.walk()}


def mass(part: Part, ratio: str) -> Decimal:
    """Return the kilograms of a part's pieces, or of what it is built of, with the gears of one ratio."""
    if not part.parts:
        assert part.mass is not None
        return part.mass.kg * (part.qty if isinstance(part.qty, int) else 1)
    inside = (each for each in part.parts if each.matches({"ratio": ratio}))
    return sum((mass(each, ratio) for each in inside), Decimal(0))


@pytest.mark.parametrize("ratio", ["r2-00", "r2-45"])
def test_the_shafts_weigh_what_hangs_on_them(parts: dict[str, Part], ratio: str) -> None:
    """Each within a tenth of a kilogram, as its mass is stated, and all three what the cautions say."""
    shafts = [parts[name] for name in ("ahead-assy", "output-assy", "astern-assy")]

    for shaft in shafts:
        assert shaft.mass is not None
        assert abs(shaft.mass.kg - mass(shaft, ratio)) <= Decimal("0.05")
        assert ["removal", "assembly"] == [hazard.at for hazard in shaft.hazards if f"{TRIO} kg" in hazard.text]
    assert sum(shaft.mass.kg for shaft in shafts if shaft.mass) == TRIO


CORE = ("end-ring", "pressure-plate", "spring-circlip", "return-spring", "clutch-piston", "piston-seal-outer",
        "piston-seal-inner")  # fmt: skip


@pytest.mark.parametrize("name", CORE)
def test_both_clutches_have_the_same_core(parts: dict[str, Part], name: str) -> None:
    """One order number, form and quantity: only the names and their neighbours tell the two apart."""
    ahead, astern = parts[f"{name}-ahead"], parts[f"{name}-astern"]

    assert (ahead.number, ahead.series, ahead.form, ahead.qty, ahead.mass) == (
        (astern.number, astern.series, astern.form, astern.qty, astern.mass)
    )
    assert (astern.short or astern.name) == (ahead.short or ahead.name).replace("ahead", "astern")


@pytest.mark.parametrize(("side", "pairs"), [("ahead", 7), ("astern", 6)])
def test_each_end_ring_sets_the_clearance_of_its_own_clutch(parts: dict[str, Part], side: str, pairs: int) -> None:
    """The fit of one clutch is set by its own ring, and counts the discs between its own plates."""
    profile = demo("marine-gear").profile
    (share,) = profile.fits_of(f"end-ring-{side}")

    assert (share.name, share.sets) == (f"clutch clearance {side}", True)
    assert [parts[name].qty for name in share.fit.chain if "friction" in name] == [pairs]
    assert all(side in name for name in share.fit.chain)
