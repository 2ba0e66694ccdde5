"""What goes into the washer, and what is in it."""

from __future__ import annotations

from typing import get_args

from labelkit.calc.washing import in_washer, is_dirty, treated, treatment, washable
from labelkit.model.part import Wash
from tests.shop import part_of, profile_of
from tests.walk import Walk


def test_a_sub_assembly_that_is_nothing_but_its_parts_is_not_washed_itself() -> None:
    """Once they are all out; a body that lost its parts still is. Common practice, no source."""
    walk = Walk("marine-gear", {"pto": "none"})
    walk.take_apart(but=("ahead-shaft",))

    assert walk.place("ahead-assy") in set(washable(walk.record)), "its shaft is still in it"
    walk.do("removed", "ahead-shaft", count=1)
    washed = set(washable(walk.record))
    assert walk.place("ahead-assy") not in washed
    assert {walk.place("ahead-shaft"), walk.place("pump-body"), walk.place("main-housing")} <= washed


def test_the_washer_holds_what_went_in_until_it_is_clean() -> None:
    """What was marked clean, or came out of the unit anew, is not in it."""
    walk = Walk("marine-gear", {"pto": "none"})
    walk.do("removed", "pump-body", count=1)
    walk.do("removed", "seal-carrier", count=1)
    both = walk.place("pump-body"), walk.place("seal-carrier")
    walk.do("wash_started", places=list(both))

    assert in_washer(walk.record) == set(both)
    walk.do("washed", "pump-body")
    assert in_washer(walk.record) == {both[1]}
    walk.do("removed", "seal-carrier", count=1)
    assert in_washer(walk.record) == set()


def test_what_was_judged_good_as_it_came_out_is_still_washed() -> None:
    """Measured and judged before the wash it is as dirty as before; what is condemned does not go in again."""
    walk = Walk("marine-gear", {"pto": "none"})
    for part in ("pump-body", "seal-carrier"):
        walk.do("removed", part, count=1)
    walk.do("inspected", "pump-body", verdict="reuse")
    walk.do("inspected", "seal-carrier", verdict="replace")
    dirty = [is_dirty(walk.record.at(walk.place(part))) for part in ("pump-body", "seal-carrier")]

    assert [True, False] == dirty
    walk.do("washed", "pump-body")
    assert not is_dirty(walk.record.at(walk.place("pump-body")))


def test_small_parts_that_nobody_counted_stop_the_wash_whatever_was_done_with_them() -> None:
    """Judged good without a count, one of three balls may still lie in the body that goes into the washer."""
    text = 'format: 1\nunit: {mark: S1, name: Box, revision: "1", up: top}\nparts:\n'
    text += "- {id: balls, name: Balls, qty: 3, sits: {on: body}, wash: before}\n- {id: body, name: Body}\n"
    walk = Walk(profile_of(text))
    walk.do("removed", "balls")
    walk.do("inspected", "balls", verdict="reuse")
    walk.do("condemned", "balls", why="pitted")
    walk.do("removed", "body", count=1)

    assert "1 Balls is out but not counted and bagged; it may lie in 2 Body" in walk.ask("wash_started").refusal
    walk.do("count_found", "balls", count=3)
    assert walk.ask("wash_started").allowed


def test_what_is_thrown_away_is_not_washed() -> None:
    """A circlip that is always renewed stays out of the list, though its class is a basket; a gear goes into it."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    for part in ("hub-circlip", "brake-hub"):
        walk.do("removed", part, count=1)

    assert list(washable(walk.record)) == [walk.place("brake-hub")]


def test_what_is_on_hold_is_kept_as_it_is() -> None:
    """Chips on a plug are what the inspector wants to see: it is not offered, and a load with it is refused."""
    walk = Walk("marine-gear", {"pto": "none"})
    for part in ("pump-body", "seal-carrier"):
        walk.do("removed", part, count=1)
    both = [walk.place("pump-body"), walk.place("seal-carrier")]
    walk.do("hold", "pump-body", why="chips: ask Ina")

    assert list(washable(walk.record)) == both[1:]
    refusal = walk.ask("wash_started", places=both).refusal
    assert refusal.endswith("Oil pump body is on hold by Ana: chips: ask Ina. Allowed now: the rest, without it")
    walk.allowed("wash_started", places=both[1:])


def test_a_housing_spares_the_solvent_to_what_stays_inside_it() -> None:
    """A bearing that is not washed keeps its housing out of the washer while it is inside, and only then.

    By hand it gets clean; once the bearing is to be new, or is out, the housing is washed as its own class says.
    """
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    housing = walk.place("brake-housing")

    def how() -> tuple[str | None, list[str]]:
        found = treated(walk.record, walk.record.at(housing))
        return found.wash, [part.id for part in found.because]

    assert ("no_solvent", ["input-bearing-circlip", "input-bearing"]) == how()
    assert housing not in set(washable(walk.record))
    refusal = walk.ask("wash_started", places=[housing]).refusal
    told = "Brake housing does not go into the washer: no solvent comes near what stays inside it, Internal circlip"
    assert told in refusal
    assert "Deep-groove ball bearing 50 x 80 x 16. Allowed now: the rest, without it" in refusal
    assert walk.ask("washed", "brake-housing").allowed
    number = walk.do("condemned", "input-bearing", why="rough").number
    assert ("basket", []) == how()
    assert walk.ask("wash_started", places=[housing]).allowed
    walk.do("correction", of=number, why="a slip")
    for part in ("input-bearing-circlip", "input-bearing"):
        walk.do("removed", part, count=1)
    assert ("basket", []) == how()


def test_what_was_not_opened_is_washed_as_its_strictest_part() -> None:
    """Rings stay in a piston that nobody opens; of one that is opened they are thrown away, in or out."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.do("removed", "brake-piston", count=1)
    piston = walk.place("brake-piston")

    assert "basket" == treated(walk.record, walk.record.at(piston)).wash
    walk.do("left_closed", "brake-piston")
    assert "no_solvent" == treated(walk.record, walk.record.at(piston)).wash
    assert piston not in set(washable(walk.record))
    walk.do("removed", "carrier-1", count=1)
    assert "basket" == treated(walk.record, walk.record.at(walk.place("carrier-1"))).wash


def test_a_class_of_its_own_that_is_stricter_stays() -> None:
    """What is wiped, or must be out before, is no softer for what lies in it."""
    washed = {own: treatment(part_of(f"wash: {own}"), [part_of("wash: wipe")]).wash for own in get_args(Wash)}

    wanted = {"basket": "wipe", "small_basket": "wipe", "wipe": "wipe", "no_solvent": "no_solvent"}
    assert wanted | {"not_washed": "not_washed", "before": "before"} == washed
    assert "wipe" == treatment(part_of(), [part_of("wash: wipe"), part_of("wash: basket")]).wash
    assert treatment(part_of(), [part_of(), part_of("wash: basket")]).wash is None, "what nobody knows bids nothing"
