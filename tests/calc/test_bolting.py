"""What a torque does to a screw."""

from __future__ import annotations

from decimal import Decimal

import pytest

from labelkit.calc.bolting import by_angle, clamping, passes
from labelkit.errors import UsageError
from tests.figures import floats_in, q


def test_oil_is_part_of_the_value() -> None:
    """25 N·m on M8: 15.6 kN with K 0.20, 20.8 kN with 0.15, a third more (T = K D F, K from memory; computed)."""
    answer = clamping(q("25 N·m"), q("8"))

    assert [answer.values[key] for key in ("dry_kn", "oiled_kn", "oiled_more_percent")] == [
        Decimal("15.6"),
        Decimal("20.8"),
        33,
    ]
    assert answer.verdict == "no_limit"
    assert floats_in(answer) == []


def test_turning_on_by_an_angle() -> None:
    """60° is one flat of a hexagon, 90° one and a half; M12 x 1.75 moves 0.44 mm in 90° (computed)."""
    answer = by_angle(q("60 N·m"), q("90 deg"), pitch=q("1.75"))

    assert (answer.values["flats"], answer.values["travel"]) == (Decimal("1.50"), Decimal("0.44"))
    assert by_angle(q("60 N·m"), q("60 deg")).values["flats"] == 1
    assert floats_in(answer) == []


def test_passes() -> None:
    """60 N·m: 42 then 60; below 30 lbf·ft (41 N·m) one round; flanges 30, 60, 100, 100 % (public practice)."""
    assert passes(q("60 N·m")).values["passes"] == (42, 60)
    assert passes(q("40 N·m")).values["passes"] == (40,)
    assert passes(q("41 N·m")).values["passes"] == (Decimal("28.7"), 41)
    assert passes(q("60 N·m"), "flange").values["passes"] == (18, 36, 60, 60)
    assert passes(q("60 N·m"), "half").values["passes"] == (30, 60)
    assert passes(q("85 N·m"), [Decimal("0.7"), Decimal(1)]).values["passes"] == (Decimal("59.5"), 85)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: passes(q("60 N·m"), [Decimal(1), Decimal("0.5")]), "rising shares"),
        (lambda: passes(q("60 N·m"), [Decimal("0.5")]), "the last of them 1"),
        (lambda: passes(q("60 N·m"), []), "found nothing"),
        (lambda: passes(q("60 N·m"), "flang"), "did you mean flange"),
        (lambda: by_angle(q("60 N·m"), q("90 mm")), "allowed: a angle|allowed: an? angle"),
        (lambda: clamping(q("60 N·m"), q("0")), "diameter: found 0"),
    ],
)
def test_what_cannot_be_is_refused(call: object, said: str) -> None:
    """The message says what was given and what is allowed."""
    with pytest.raises(UsageError, match=said):
        call()  # type: ignore[operator]
