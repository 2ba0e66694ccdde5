"""The trays of a job: hard promises checked by shapely alone, the floor and its reasons, masses, hostile lists."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cache

import pytest
import shapely

from labelkit.calc import packing
from labelkit.calc.steps import Bin, Teardown, choose, teardown
from labelkit.calc.trays import Place, TrayPlan, lay_out, mass_on_tray
from labelkit.errors import CapacityError
from labelkit.load.stock import find_stock
from labelkit.model.laying import DEFAULT_LAYING, Laying, Spacing, TrayKind
from labelkit.model.stock import Tray
from labelkit.sheets.jobview import JobView
from tests.shop import DEMO_UNITS, demo, profile_of, view_of

HEAD = """
format: 1
unit: {mark: T1, name: Test, up: top, clock_from: above, twelve: mark}
parts:
"""
# Coordinates are rounded nowhere before they are printed: sums of floats.
NOISE = 1e-5


def torn(text: str) -> Teardown:
    profile = profile_of(HEAD + text).profile
    return teardown(profile, choose(profile, {}))


def kind(width: float, depth: float, limit: str = "10", name: str = "") -> TrayKind:
    return TrayKind(name or f"tray-{width:g}x{depth:g}", (width, depth), Decimal(limit))


def plan_of(text: str, *kinds: TrayKind, **changed: object) -> TrayPlan:
    """Return the trays of a profile whose parts are written in a test."""
    laying = Laying(kinds or DEFAULT_LAYING.trays)
    return lay_out(torn(text), replace(laying, **changed))  # type: ignore[arg-type]


def ring(name: str, od: str | float = 60, mass: object = None, **more: object) -> str:
    said = "".join(f", {key}: {value}" for key, value in more.items())
    bore = float(od) / 4
    weight = "" if mass is None else f", mass: {mass}"
    return f"- {{id: {name}, name: Part, form: {{ring: {{od: {od}, id: {bore:.4g}, t: 2}}}}{weight}{said}}}\n"


def rings(count: int, od: str | float = 60, mass: object = None) -> str:
    return "".join(ring(f"r{number}", od, mass) for number in range(count))


def block(name: str, length: object, width: object, **more: object) -> str:
    said = "".join(f", {key}: {value}" for key, value in more.items())
    return f"- {{id: {name}, name: Part, form: {{block: {{l: {length}, w: {width}, h: 10}}}}{said}}}\n"


def steps(plan: TrayPlan) -> list[list[str]]:
    return [[place.bin.step for place in tray.places] for tray in plan.trays]


# --- the demo units on several trays ---------------------------------------------------------------------------------

CASES = [
    *itertools.product(DEMO_UNITS, [("tray-600x400",), ("tray-530x325",), ("tray-400x300",)], [2]),
    ("marine-gear", ("tray-300x200", "tray-600x400"), 2),
    ("planetary-reducer", ("tray-365x265",), 0),
    ("marine-gear", ("tray-530x325",), 1),
]
IDS = [f"{unit}-{'+'.join(trays)}-grade{grade}" for unit, trays, grade in CASES]


@cache
def demo_teardown(unit: str) -> Teardown:
    profile = demo(unit).profile
    return teardown(profile, choose(profile, {}))


@cache
def demo_plan(unit: str, trays: tuple[str, ...], grade: int = 2) -> TrayPlan:
    kinds = []
    for name in trays:
        stock = find_stock(name, ("tray",))
        assert isinstance(stock, Tray)
        kinds.append(TrayKind.of(stock))
    return lay_out(demo_teardown(unit), Laying(tuple(kinds), grade=grade))


@pytest.fixture(params=CASES, ids=IDS)
def case(request: pytest.FixtureRequest) -> tuple[Teardown, TrayPlan]:
    unit, trays, grade = request.param
    return demo_teardown(unit), demo_plan(unit, trays, grade)


def flag_of(place: Place) -> shapely.Polygon:
    x, y, width, height = place.flag
    return shapely.box(x, y, x + width, y + height)


def shown(place: Place) -> list[shapely.Polygon]:
    return [*map(shapely.Polygon, place.outlines), flag_of(place)]


def nearest(places: Sequence[Place]) -> float:
    """Return the least distance of anything of one place from anything of another; below 0 where they overlap."""
    found = float("inf")
    for one, other in itertools.combinations(places, 2):
        a, b = shapely.union_all(shown(one)), shapely.union_all(shown(other))
        found = min(found, -1.0 if a.intersection(b).area > 1e-9 else a.distance(b))
    return found


def test_things_of_two_places_are_clear_of_each_other(case: tuple[Teardown, TrayPlan]) -> None:
    """Outlines and flags, true outlines and not boxes, by the whole gap. Source: shapely."""
    _, plan = case

    assert min(nearest(tray.places) for tray in plan.trays) >= plan.laying.spacing.gap - NOISE


def test_pieces_of_one_place_are_clear_of_each_other(case: tuple[Teardown, TrayPlan]) -> None:
    """Three planets on three outlines, by the whole gap. Source: shapely."""
    _, plan = case
    for place in (place for tray in plan.trays for place in tray.places):
        for one, other in itertools.combinations(map(shapely.Polygon, place.outlines), 2):
            assert one.distance(other) >= plan.laying.spacing.gap - NOISE


def test_everything_is_half_a_gap_inside_the_wall(case: tuple[Teardown, TrayPlan]) -> None:
    """Source: shapely."""
    _, plan = case
    for tray in plan.trays:
        wall = shapely.box(0, 0, *tray.stock.size_mm).buffer(NOISE - plan.laying.spacing.gap / 2, join_style="mitre")

        assert all(wall.covers(thing) for place in tray.places for thing in shown(place))


def test_a_flag_is_clear_of_its_own_part(case: tuple[Teardown, TrayPlan]) -> None:
    """On the tray beside the part or in an opening right through it, never on metal. Source: shapely."""
    _, plan = case
    for place in (place for tray in plan.trays for place in tray.places):
        metal = shapely.union_all([shapely.Polygon(points) for points in place.outlines])
        metal = metal.difference(shapely.union_all([shapely.Polygon(points) for points in place.holes]))

        assert flag_of(place).distance(metal) >= plan.laying.spacing.flag_gap - NOISE


def test_no_rule_touches_anything(case: tuple[Teardown, TrayPlan]) -> None:
    """Nor does one leave the tray. Source: shapely."""
    _, plan = case
    for tray in plan.trays:
        wall = shapely.box(0, 0, *tray.stock.size_mm)
        for x1, y1, x2, y2 in tray.rules:
            rule = shapely.LineString([(x1, y1), (x2, y2)])

            assert wall.covers(rule)
            assert not any(thing.intersects(rule) for place in tray.places for thing in shown(place))


def ink(rules: Iterable[tuple[float, ...]]) -> list[tuple[float, ...]]:
    """Return the rules as they are seen: those that continue each other in one line are one."""
    seen: list[tuple[float, ...]] = []
    for x1, y1, x2, y2 in sorted(rules):
        for k, (a1, b1, a2, b2) in enumerate(seen):
            if y1 == y2 == b1 == b2 and x1 <= a2:
                seen[k] = (a1, b1, max(a2, x2), b2)
                break
        else:
            seen.append((x1, y1, x2, y2))
    return seen


def read(
    box: tuple[float, float, float, float], rules: Iterable[tuple[float, ...]], places: list[Place]
) -> list[Place]:
    """Read as a person who knows only the rules: cut across, then down, again in every field; from the left."""
    left, top, right, bottom = box
    inside = [
        (max(x1, left), max(y1, top), min(x2, right), min(y2, bottom))
        for x1, y1, x2, y2 in rules
        if x2 >= left and x1 <= right and y2 >= top and y1 <= bottom
    ]
    across = sorted({y1 for x1, y1, x2, y2 in inside if y1 == y2 and (x1, x2) == (left, right) and top < y1 < bottom})
    down = sorted({x1 for x1, y1, x2, y2 in inside if x1 == x2 and (y1, y2) == (top, bottom) and left < x1 < right})
    if across:
        fields = [(left, a, right, b) for a, b in itertools.pairwise([top, *across, bottom])]
    elif down:
        fields = [(a, top, b, bottom) for a, b in itertools.pairwise([left, *down, right])]
    else:
        return sorted(places, key=lambda place: place.cell[0])
    found: list[Place] = []
    for field in fields:
        area = shapely.box(*field)
        found += read(field, rules, [place for place in places if area.covers(flag_of(place))])
    return found


def test_who_reads_the_rules_comes_to_the_next_part(case: tuple[Teardown, TrayPlan]) -> None:
    """Not one wrong successor. Source: a reader of its own, that knows nothing of how the rules were made."""
    _, plan = case
    for tray in plan.trays:
        order = read((0, 0, *tray.stock.size_mm), ink(tray.rules), list(tray.places))

        assert [place.bin.step for place in order] == [place.bin.step for place in tray.places]


def test_every_bin_is_somewhere_in_removal_order(case: tuple[Teardown, TrayPlan]) -> None:
    """On one tray once, on the floor, or its parts are; trays follow each other as the parts come out."""
    job, plan = case
    standing = {each.bin.step for each in plan.floor}
    rest = [each.step for each in job.bins if each.step not in standing and each.step not in plan.opened]

    assert [step for tray in steps(plan) for step in tray] == rest
    assert not standing & set(plan.opened)


def test_places_are_named_in_order(case: tuple[Teardown, TrayPlan]) -> None:
    """A1, A2 ... B1: what the labels and the list say."""
    _, plan = case
    for tray in plan.trays:
        assert [place.name for place in tray.places] == [f"{tray.letter}{n}" for n in range(1, len(tray.places) + 1)]


def lies_here(each: Bin, job: Teardown) -> Decimal | None:
    """Return the mass of what lies at a bin's own place: its own, less that of every bin that came out of it."""
    if each.part.mass is None or each.part.qty == "set":
        return None
    inner = [b.part for b in job.bins if b.parent == each.step and b.part.mass is not None and b.part.qty != "set"]
    return each.part.mass.kg * each.part.qty - sum(part.mass.kg * part.qty for part in inner if part.mass)  # type: ignore[operator]


def test_no_tray_is_heavier_than_it_may_be(case: tuple[Teardown, TrayPlan]) -> None:
    """Masses of the profile, summed here anew."""
    job, plan = case
    for tray in plan.trays:
        assert sum(max(lies_here(place.bin, job) or 0, 0) for place in tray.places) <= tray.stock.limit


def test_no_part_is_weighed_twice(case: tuple[Teardown, TrayPlan]) -> None:
    """A sub-assembly's place weighs what is left when its parts have places of their own."""
    job, plan = case
    for place in (place for tray in plan.trays for place in tray.places):
        found = lies_here(place.bin, job)

        assert place.mass == (None if found is None else max(found, 0))


def test_a_sub_assembly_that_fits_a_tray_is_not_split(case: tuple[Teardown, TrayPlan]) -> None:
    """One that lies on two trays takes more than one, also when nothing else is there."""
    job, plan = case
    where = {place.bin.step: tray.letter for tray in plan.trays for place in tray.places}
    for group in {group for tray in plan.trays for place in tray.places for group in place.groups}:
        alone = [each for each in job.bins if each.step == group or each.step.startswith(f"{group}.")]
        if len({where[each.step] for each in alone if each.step in where}) > 1:
            assert len(lay_out(replace(job, bins=tuple(alone)), plan.laying).trays) > 1


# --- small jobs ------------------------------------------------------------------------------------------------------


def test_one_part_is_one_tray() -> None:
    """In its corner, with its flag."""
    plan = plan_of(ring("a"))

    assert steps(plan) == [["1"]]
    assert plan.trays[0].places[0].at == ((34.0, 34.0),)


def test_a_part_that_only_stays_inside_takes_no_tray() -> None:
    """A unit whose parts all have no bin has no tray, no floor list and nothing to warn of."""
    job = replace(torn(ring("a")), bins=())

    assert (lay_out(job, DEFAULT_LAYING).trays, lay_out(job, DEFAULT_LAYING).floor) == ((), ())


def test_trays_are_lettered_beyond_z() -> None:
    """28 discs of 380 mm take 28 trays: A to Z, AA, AB."""
    letters = [tray.letter for tray in plan_of(rings(28, 380)).trays]

    assert letters[:2] + letters[-3:] == ["A", "B", "Z", "AA", "AB"]


def test_the_tray_that_takes_fewest_is_used() -> None:
    """Six discs of 180 mm lie on one large tray, not on two small ones, whichever is named first."""
    large, small = kind(600, 400), kind(400, 300)
    for kinds in ((large, small), (small, large)):
        plan = plan_of(rings(6, 180), *kinds)

        assert [tray.stock for tray in plan.trays] == [large]


def test_the_smaller_tray_is_used_where_it_is_enough() -> None:
    """Count first, then area: one disc of 60 mm lies on the smaller of two kinds."""
    plan = plan_of(ring("a", 60), kind(600, 400), kind(200, 150))

    assert [tray.stock.name for tray in plan.trays] == ["tray-200x150"]


@pytest.mark.parametrize("grade", [0, 1, 2])
def test_no_tray_is_read_in_a_harder_way_than_asked(grade: int) -> None:
    """A tall disc and many small ones would be laid in columns."""
    plan = plan_of(ring("a", 380) + rings(30, 25), grade=grade)

    assert max(tray.grade for tray in plan.trays) <= grade


def test_columns_are_used_where_they_save_a_tray() -> None:
    """A disc of 380 mm and 30 of 25 mm: lines alone cannot put the small ones beside it."""
    lines, columns = (plan_of(ring("a", 380) + rings(30, 25), grade=grade) for grade in (0, 2))

    assert (len(lines.trays), len(columns.trays)) == (2, 1)


@pytest.mark.parametrize("size", [(564.6, 364.4), (565.15, 365.125), (600.0, 399.9)])
def test_a_tray_need_not_be_whole_millimetres(size: tuple[float, float]) -> None:
    """Rules reach its true wall: found when a tray of 22.25 in refused every kit. 565.15 mm = 22.25 in."""
    plan = plan_of(rings(20, 50) + ring("tall", 300) + rings(10, 20).replace("id: r", "id: s"), kind(*size))

    for tray in plan.trays:
        assert read((0, 0, *size), ink(tray.rules), list(tray.places)) == list(tray.places)


@pytest.mark.parametrize("depths", [(40, 60, 40, 60), (40, 60, 40, 60, 40, 60), (40, 60, 40, 60, 42, 58)])
def test_columns_that_break_at_one_height_are_still_columns(depths: tuple[int, ...]) -> None:
    """Rules of neighbouring columns that would be seen as one rule across all of them are printed out of line."""
    size = (190.0 * len(depths) / 2, 100.0)
    text = "".join(block(f"b{n}", 182, depth - 8) for n, depth in enumerate(depths))
    (tray,) = plan_of(text, kind(*size), spacing=Spacing(flag=(0.0, 0.0))).trays

    assert tray.grade > 0
    assert read((0, 0, *size), ink(tray.rules), list(tray.places)) == list(tray.places)


SUB = """
- id: s
  name: Sub
  mass: 3
  form: {ring: {od: 100, id: 40, t: 20}}
  parts:
  - {id: p1, name: P1, mass: "0.5", form: {ring: {od: 60, id: 30, t: 2}}}
  - {id: p2, name: P2, mass: "0.25", qty: 4, form: {gear: {teeth: 20, module: 2, width: 10, bore: 12}}}
"""


def test_what_is_left_of_a_sub_assembly_has_its_own_place() -> None:
    """3 kg with its parts; 0.5 kg and 4 x 0.25 kg came out: 1.5 kg lie at its place, 3 kg on the tray."""
    plan = plan_of(SUB)

    assert [place.mass for place in plan.trays[0].places] == [Decimal("1.5"), Decimal("0.5"), Decimal(1)]
    assert plan.trays[0].mass == 3


@pytest.mark.parametrize(("mass", "opened"), [("1.5", True), ("1.578", True), ("1.6", False)])
def test_a_sub_assembly_that_is_nothing_but_its_parts_has_no_place(mass: str, opened: bool) -> None:
    """Of a pack of 1.5 kg of parts nothing is left; with a twentieth of its mass more there is something to lay down.

    Source: common practice, no source.
    """
    plan = plan_of(SUB.replace("mass: 3", f'mass: "{mass}"'))

    assert dict(plan.opened) == ({"1": "1.1"} if opened else {})
    assert steps(plan) == [["1.1", "1.2"] if opened else ["1", "1.1", "1.2"]]


@pytest.mark.parametrize(("mass", "laid"), [("mass: 8,", ["1", "1.1"]), ("", ["1.1"])])
def test_a_sub_assembly_without_a_form_is_not_lost(mass: str, laid: list[str]) -> None:
    """A housing of 8 kg has a place, though nobody recorded its size; without a mass it is taken for its parts."""
    seal = "{id: s, name: Seal, mass: '0.1', form: {ring: {od: 60, id: 40, t: 5}}}"

    assert steps(plan_of(f"- {{id: h, name: Housing, {mass} parts: [{seal}]}}\n")) == [laid]


def test_an_opened_sub_assembly_is_found_at_its_first_part() -> None:
    """Its label says where that is; nested ones too."""
    inner = SUB.replace("mass: 3", 'mass: "1.5"').strip().replace("\n", "\n    ")
    plan = plan_of(f'- id: outer\n  name: Outer\n  mass: "1.5"\n  form: {{ball: {{d: 90}}}}\n  parts:\n    {inner}\n')

    assert dict(plan.opened) == {"1": "1.1", "1.1": "1.1.1"}
    assert {plan.places[step][1].name for step in ("1", "1.1", "1.1.1")} == {"A1"}


def test_a_captured_part_stays_in_what_holds_it() -> None:
    """It has no place, and its mass is still in that of its sub-assembly."""
    plan = plan_of(SUB.replace("id: p2, name: P2,", "id: p2, name: P2, held: {by: behind, part: p1},"))

    assert [(place.bin.part.id, place.mass) for place in plan.trays[0].places] == [
        ("s", Decimal("2.5")),
        ("p1", Decimal("0.5")),
    ]


def test_a_sub_assembly_is_kept_on_one_tray() -> None:
    """Six discs of 190 mm fill a tray; with two before them, all six go on the second rather than four on the first."""
    parts = "".join(f"  {ring(f'p{n}', 182, '0.1').strip()}\n" for n in range(5))
    group = f"- id: g\n  name: Group\n  mass: 1\n  form: {{ring: {{od: 182, id: 46, t: 5}}}}\n  parts:\n{parts}"
    text = rings(2, 182) + group

    assert steps(plan_of(text)) == [["1", "2"], ["3", *(f"3.{n}" for n in range(1, 6))]]


@pytest.mark.parametrize("whole", [True, False])
def test_a_sub_assembly_larger_than_a_tray_is_split(whole: bool) -> None:
    """30 discs of 150 mm take five trays at six a tray, kept whole or not. Source: 3 x 158 <= 600, 2 x 158 <= 400."""
    parts = "".join(f"  {ring(f'p{n}', 150, '0.1').strip()}\n" for n in range(30))
    text = f"- id: g\n  name: Group\n  mass: 3\n  form: {{ball: {{d: 50}}}}\n  parts:\n{parts}"

    assert len(plan_of(text, keep_whole=whole).trays) == 5


# --- the floor -------------------------------------------------------------------------------------------------------


def reason(text: str, *kinds: TrayKind, shelf: Sequence[TrayKind] = (), **changed: object) -> str:
    """Return why the one part of a job stands on the floor."""
    laying = replace(Laying(kinds or DEFAULT_LAYING.trays), **changed)  # type: ignore[arg-type]
    plan = lay_out(torn(text), laying, lambda: shelf)
    assert plan.trays == ()
    (standing,) = plan.floor
    return standing.reason


def test_a_part_larger_than_every_tray_says_both_sizes() -> None:
    """Its own, and those of the trays in use."""
    said = reason(block("a", 700, 500), kind(600, 400), kind(400, 300))

    assert said.startswith("700 × 500 mm fits no tray in use: tray-600x400 (600 × 400 mm), tray-400x300 (400 × 300 mm)")


def test_several_pieces_say_how_many() -> None:
    """Nine discs of 190 mm are one place, and no tray takes it."""
    assert reason(ring("a", 190, qty=9, lay="each")).startswith("9 × 190 × 190 mm fits no tray")


def test_the_gap_that_would_help_is_named() -> None:
    """A disc of 395 mm in 400 mm: 5 mm."""
    assert reason(ring("a", 395)).endswith("a gap of 5 mm would do")


def test_the_gap_named_is_right() -> None:
    """With it the part lies on a tray; with one millimetre more it does not."""
    with_it, with_more = (plan_of(ring("a", 395), spacing=Spacing(gap=gap)) for gap in (5, 6))

    assert (steps(with_it), steps(with_more)) == ([["1"]], [])


def test_the_tray_that_would_help_is_named() -> None:
    """The smallest of the shelf that takes it, not the first."""
    shelf = [kind(900, 900), kind(800, 600), kind(300, 200)]

    assert reason(block("a", 700, 500), shelf=shelf).endswith("a tray tray-800x600 would do")


def test_a_tray_that_may_not_hold_it_is_not_named() -> None:
    """8 kg: the larger tray holds 5."""
    said = reason(block("a", 700, 500, mass=8), shelf=[kind(800, 600, "5"), kind(900, 900)])

    assert said.endswith("a tray tray-900x900 would do")


def test_no_gap_is_named_where_the_mass_is_the_trouble() -> None:
    """20 kg: too heavy for the large tray, too large for the strong one. Found when a gap of 7 mm was advised."""
    said = reason(ring("a", 300, "20"), kind(600, 400, "10"), kind(200, 150, "30"))

    assert "300 × 300 mm fits no tray in use: tray-200x150 (200 × 150 mm)" in said
    assert "20 kg is more than the others may hold" in said
    assert "gap" not in said


def test_where_nothing_helps_that_is_said() -> None:
    """The part has a place all the same: on the floor."""
    assert "no tray of the stock takes it" in reason(block("a", 3000, 900), shelf=[kind(800, 600)])


@pytest.mark.parametrize(("mass", "text"), [("10.001", "10.001 kg"), ("120", "120 kg")])
def test_a_part_over_the_mass_limit_is_lifted_with_help(mass: str, text: str) -> None:
    """A gram too much is too much, and the reason says both masses."""
    assert reason(ring("a", 60, mass)) == f"{text}, more than a tray may hold (10 kg): lift it with help"


def test_a_part_of_just_the_mass_limit_lies_on_a_tray() -> None:
    """10 kg of 10."""
    assert steps(plan_of(ring("a", 60, "10"))) == [["1"]]


def test_a_sub_assembly_is_lifted_with_its_parts() -> None:
    """What comes out as 12 kg is set down on the floor, though 1 kg is left when its parts lie on trays."""
    text = SUB.replace("mass: 3", "mass: 12").replace('mass: "0.5"', 'mass: "9.5"').replace('"0.25"', '"0.375"')
    plan = plan_of(text)

    assert [(each.bin.step, each.reason) for each in plan.floor] == [
        ("1", "12 kg with its parts, more than a tray may hold (10 kg): lift it with help")
    ]
    assert [step for tray in steps(plan) for step in tray] == ["1.1", "1.2"]


def test_several_pieces_weigh_what_all_of_them_weigh() -> None:
    """Three of 4 kg are 12 kg in one place."""
    assert reason(ring("a", 60, "4", qty=3)).startswith("12 kg, more than")


# --- hostile lists ---------------------------------------------------------------------------------------------------


def test_a_mass_that_nobody_recorded_is_told() -> None:
    """It counts nothing, and the tray's warning names its step."""
    plan = plan_of(ring("a", 60) + ring("b", 60, "2") + ring("c", 60))

    assert plan.trays[0].mass == 2
    assert plan.trays[0].unweighed == ("1", "3")
    assert plan.warnings == ("tray A: the mass of step 1, 3 is not recorded",)


def test_a_set_has_no_mass() -> None:
    """How many shims are in it nobody knows: the mass of one says nothing."""
    assert plan_of(ring("a", 60, "0.1", qty="set")).trays[0].places[0].mass is None


def test_50_parts_of_a_kilogram_at_seven_and_a_half() -> None:
    """Seven on a tray at most, eight trays. Source: 50 / 7, by hand."""
    counts = [len(places) for places in steps(plan_of(rings(50, 20, "1"), kind(600, 400, "7.5")))]

    assert (len(counts), max(counts)) == (8, 7)


def test_large_disc_and_small_ball_by_turns() -> None:
    """20 discs of 390 mm with a ball of 5 mm after each: two discs share no tray, a ball finds room beside one."""
    text = "".join(ring(f"d{n}", 390) + f"- {{id: b{n}, name: B, form: {{ball: {{d: 5}}}}}}\n" for n in range(20))

    assert len(plan_of(text).trays) == 20


@pytest.mark.parametrize(
    "parts",
    [
        "- {id: a, name: Pin, form: {pin: {d: 3, l: 7}}}\n",
        "- {id: a, name: Ball, qty: 20, form: {ball: {d: 5}}}\n- {id: b, name: Pin, form: {pin: {d: 3, l: 7}}}\n",
        "- {id: a, name: Balls, qty: set, form: {ball: {d: 7}}}\n",
    ],
)
def test_a_unit_of_crumbs_is_told(parts: str) -> None:
    """All parts below 9 mm, in cups or not: were inches meant? Source: common practice, no source."""
    assert "the largest part is 7 mm: is the unit of length right?" in plan_of(parts).warnings


def test_one_part_of_a_usual_size_is_enough() -> None:
    """A ring of 9.5 mm among crumbs: nothing to tell."""
    plan = plan_of(ring("r", "9.5", "0.1") + "- {id: a, name: B, form: {ball: {d: 5}}}\n")

    assert not any("unit of length" in words for words in plan.warnings)


@pytest.mark.parametrize(
    ("text", "spacing", "trays"),
    [
        (rings(100, 60), Spacing(gap=0.0, flag=(0.0, 0.0)), 2),  # 10 x 6 a tray
        (rings(20, 5), Spacing(gap=92.0, flag=(3.0, 3.0)), 1),
        (rings(2, 5), Spacing(gap=200.0), 1),
        (rings(200, "0.5"), Spacing(), 1),
        (block("a", 60, 50, qty=3), Spacing(gap=0.0), 1),
        (ring("a", "19.999") + ring("b", "20.001"), Spacing(), 1),
    ],
    ids=[
        "no gap, no flag",
        "gap larger than the parts",
        "widest gap",
        "200 crumbs",
        "rows without a gap",
        "a hair off",
    ],
)
def test_hostile_spacing_is_laid_out(text: str, spacing: Spacing, trays: int) -> None:
    """As many trays as counted by hand, nothing on the floor."""
    plan = plan_of(text, spacing=spacing)

    assert (len(plan.trays), plan.floor) == (trays, ())


def test_without_flags_there_are_none() -> None:
    """A flag of 0 x 0 takes no room and is nothing to print."""
    place = plan_of(ring("a"), spacing=Spacing(flag=(0.0, 0.0))).trays[0].places[0]

    assert place.flag[2:] == (0, 0)
    assert place.cell == (0, 0, 68, 68)


# --- a layout that fails its check -----------------------------------------------------------------------------------

Broken = Callable[[packing.Packed], packing.Packed]


def overlapping(filled: packing.Packed) -> packing.Packed:
    first, second, *rest = filled.cells
    return replace(filled, cells=(first, replace(second, x=first.x + 5), *rest))


def swapped(filled: packing.Packed) -> packing.Packed:
    first, second, *rest = filled.cells
    return replace(filled, cells=(replace(first, x=second.x, y=second.y), replace(second, x=first.x, y=first.y), *rest))


def outside(filled: packing.Packed) -> packing.Packed:
    return replace(filled, cells=(*filled.cells[:-1], replace(filled.cells[-1], x=590)))


def ruled(filled: packing.Packed) -> packing.Packed:
    return replace(filled, rules=(*filled.rules, (0, 30, 600, 30)))


def break_packing(monkeypatch: pytest.MonkeyPatch, broken: Broken) -> None:
    whole = packing.pack

    def pack(*given: object, **more: object) -> tuple[packing.Packed, ...]:
        return tuple(map(broken, whole(*given, **more)))  # type: ignore[arg-type]

    monkeypatch.setattr(packing, "pack", pack)


@pytest.mark.parametrize("broken", [overlapping, swapped, outside, ruled])
def test_a_tray_that_fails_its_check_is_never_returned(monkeypatch: pytest.MonkeyPatch, broken: Broken) -> None:
    """Whatever goes wrong in the packing comes to light before anything is printed; the error names tray and fault."""
    break_packing(monkeypatch, broken)

    with pytest.raises(CapacityError, match=r"tray A failed its check and is not printed: .+"):
        plan_of(rings(4, 60))


def test_a_tray_over_its_mass_limit_is_never_returned(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two trays made one."""
    whole = packing.pack

    def heaped(*given: object, **more: object) -> tuple[packing.Packed, ...]:
        one, other = whole(*given, **more)  # type: ignore[arg-type]
        moved = tuple(replace(cell, x=cell.x + 200) for cell in other.cells)
        return (replace(one, cells=one.cells + moved),)

    monkeypatch.setattr(packing, "pack", heaped)
    with pytest.raises(CapacityError, match=r"12,000 g, at most 10,000 g"):
        plan_of(rings(2, 60, "6"))


def test_no_mass_is_below_nothing() -> None:
    """Both alternatives of an open option are there, and both are taken from what is left of their sub-assembly."""
    job = demo_teardown("planetary-reducer")

    assert all((mass_on_tray(each.part, job.chosen) or 0) >= 0 for each in job.bins)


def test_a_choice_made_later_moves_nothing_on_the_trays() -> None:
    """Parts lie there by then: the one that dropped out leaves its place empty."""
    open_view = view_of(demo("planetary-reducer"))
    chosen = {**open_view.job.options, "breather": "std"}
    later = JobView(replace(open_view.job, options=chosen), open_view.profile, open_view.secret)

    before = {place.bin.step: (place.name, place.at) for tray in open_view.trays.trays for place in tray.places}
    after = {place.bin.step: (place.name, place.at) for tray in later.trays.trays for place in tray.places}

    assert set(before) - set(after) == {"4"}
    assert all(before[step] == where for step, where in after.items())
    assert not any(place.bin.doubtful for tray in later.trays.trays for place in tray.places)
