"""The clock on a card: the plan turned to its hour, true as it is seen from the unit's end."""

from __future__ import annotations

import math

import pytest

from labelkit.drawing.page import BLACK, Box, Group, Path
from labelkit.model.part import Part
from labelkit.model.profile import Header
from labelkit.sheets.orientation import dial
from labelkit.sheets.seatclock import clock_face, seen_from_back
from tests.shop import profile_of

BOX = Box(0, 0, 40, 40)
LUGS = "steel_plate: {od: 100, id: 70, t: 2, lugs: 1}"
# Longer to the right of its 12 o'clock than to the left.
HOOK = "outline: {points: [[-10, -20], [10, -20], [10, 0], [40, 0], [40, 20], [-10, 20]], h: 8}"
DRUM = "drum: {od: 100, h: 40, wall: 10, bore: 30}"


def one(form: str, sits: str, seen: str = "above") -> tuple[Part, Header]:
    text = f"format: 1\nunit: {{mark: P7, name: Pump, up: drive side, clock_from: {seen}}}\nparts:\n"
    profile = profile_of(text + f"  - {{id: a, name: A, form: {{{form}}}, sits: {{{sits}}}}}\n").profile
    return profile.parts[0], profile.unit


def outline(drawn: Group) -> list[tuple[float, float]]:
    """Return the plan's outer contour about the middle of the dial, x to the right, y up."""
    plan = next(item for item in drawn.items if isinstance(item, Group) and item.name == "plan")
    path = plan.items[0]
    assert isinstance(path, Path)
    return [(c[1] - 20, 20 - c[2]) for c in path.d if len(c) == 3]


def hand(drawn: Group) -> tuple[float, float]:
    """Return where the tip of the hand lies about the middle of the dial, y up."""
    path = next(item for item in drawn.items if isinstance(item, Path) and item.fill == BLACK)
    tip = path.d[0]
    return tip[1] - 20, 20 - tip[2]  # type: ignore[misc]


@pytest.mark.parametrize("seen", ["above", "below"])
@pytest.mark.parametrize(("hour", "angle"), [("12:00", 0), ("3:00", 90), ("4:30", 135), ("9:00", 270)])
def test_hand_and_index_stand_at_the_hour(hour: str, angle: float, seen: str) -> None:
    """The one lug of a plate is at its hour, clockwise as seen from the stated end, whichever end that is."""
    drawn = clock_face(*one(LUGS, f'up: x, clock: "{hour}"', seen), BOX)
    s, c = math.sin(math.radians(angle)), math.cos(math.radians(angle))
    far = [point for point in outline(drawn) if math.hypot(*point) > 0.99 * max(math.hypot(*p) for p in outline(drawn))]
    x, y = sum(p[0] for p in far) / len(far), sum(p[1] for p in far) / len(far)

    assert (x / math.hypot(x, y), y / math.hypot(x, y)) == pytest.approx((s, c), abs=0.02)
    tip = hand(drawn)
    assert (tip[0] / math.hypot(*tip), tip[1] / math.hypot(*tip)) == pytest.approx((s, c), abs=1e-6)


def test_seen_from_below_a_plan_is_its_mirror_image() -> None:
    """What reaches to the right from above reaches to the left from below, with the same hour on top."""
    above, below = (clock_face(*one(HOOK, 'up: x, clock: "12:00"', seen), BOX) for seen in ("above", "below"))

    assert max(x for x, _ in outline(above)) == pytest.approx(-min(x for x, _ in outline(below)))
    assert sorted((round(-x, 6), round(y, 6)) for x, y in outline(above)) == sorted(
        (round(x, 6), round(y, 6)) for x, y in outline(below)
    )


@pytest.mark.parametrize(
    ("opens", "seen", "back"),
    [("up", "above", False), ("down", "above", True), ("up", "below", True), ("down", "below", False)],
)
def test_a_mouth_is_seen_only_from_its_own_side(opens: str, seen: str, back: bool) -> None:
    """The marks of a face that looks away are not drawn."""
    part, unit = one(DRUM, f'up: x, opens: {opens}, clock: "6:00"', seen)
    plan = next(item for item in clock_face(part, unit, BOX).items if isinstance(item, Group))

    assert seen_from_back(part, unit) == back
    assert len(plan.items) == (2 if back else 3)


@pytest.mark.parametrize(
    ("feature", "signs"), [("drain notch", 2), ("wide tang", 2), ("dowel hole", 1), ("casting mark", 0)]
)
def test_what_is_at_the_hour_is_drawn_by_its_kind(feature: str, signs: int) -> None:
    """A notch goes in, a tab out, a hole is round; other words are not guessed at."""
    sits = 'up: x, opens: up, clock: "12:00"'
    plain = clock_face(*one(DRUM, sits), BOX)
    marked = clock_face(*one(DRUM, f"{sits}, feature: {feature}"), BOX)

    assert signs == len(marked.items) - len(plain.items)


@pytest.mark.parametrize("sits", ["up: x", "up: x, clock: free"])
def test_free_and_not_recorded_are_the_plain_dial(sits: str) -> None:
    """No hour, no plan that would seem to be at one."""
    part, unit = one(DRUM, sits)

    assert clock_face(part, unit, BOX) == dial(part, BOX)
