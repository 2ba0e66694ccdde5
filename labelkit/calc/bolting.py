"""What a torque does to a screw: clamping force, turning on by an angle, and in how many passes it is reached.

Source: T = K x D x F, a public equation sheet; K of 0.20 dry and 0.15 oiled are from memory. Passes: 70 % and then all
above 30 lbf·ft, TM 5-3805-291-23-2; half and then all, TM 9-2520-272-40; 30, 60, 100 and 100 % for flanges, public
advice for gaskets (all read as excerpts).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Final

from labelkit.calc.answers import Answer, Value
from labelkit.calc.figures import in_unit, is_kind, more_than_nothing, percent, rounded, significant, told
from labelkit.calc.torque import DIGITS, three_words
from labelkit.errors import UsageError, allowed_text
from labelkit.units import Quantity

FRICTION: Final = {"dry": Decimal("0.20"), "oiled": Decimal("0.15")}  # K, from memory
_FLAT: Final = 60  # degrees of one flat of a hexagon
_TURN: Final = 360
_PASSES: Final[Mapping[str, tuple[Decimal, ...]]] = {
    "one": (Decimal(1),),
    "two": (Decimal("0.7"), Decimal(1)),
    "half": (Decimal("0.5"), Decimal(1)),
    "flange": (Decimal("0.3"), Decimal("0.6"), Decimal(1), Decimal(1)),
}
_IN_PASSES: Final = Quantity(Decimal(30), "lbf·ft")  # above this one pass is not enough


def clamping(torque: Quantity, diameter: Quantity) -> Answer:
    """Tell how hard a screw clamps, dry and oiled.

    Args:
        torque: that it is tightened to.
        diameter: nominal, of the thread.

    Raises:
        UsageError: not a torque or a length, or not above 0.

    >>> clamping(Quantity(Decimal(25), "N·m"), Quantity(Decimal(8), "mm")).values["dry_kn"]
    Decimal('15.6')
    """
    is_kind("torque", torque, "torque")
    is_kind("diameter", diameter, "length")
    moment = more_than_nothing("torque", torque.base)
    size = more_than_nothing("diameter", diameter.mm) / 1000
    forces = {name: moment / (k * size) / 1000 for name, k in FRICTION.items()}
    sums = [
        f"F = T / (K x D) = {told(moment, 'N·m')} / ({FRICTION[name]} x {told(diameter.mm, 'mm')}) "
        f"= {rounded(force, 1)} kN {name}"
        for name, force in forces.items()
    ]
    more = percent(forces["oiled"] / forces["dry"] - 1)
    values: dict[str, Value] = {f"{name}_kn": rounded(force, 1) for name, force in forces.items()}
    values["oiled_more_percent"] = more
    notes = (
        f"oiled it clamps {more} % harder at the same torque: dry or oiled is part of the value",
        "K is from memory and scatters by a third from screw to screw: a hint, not a limit",
    )
    return Answer("clamping", "no_limit", values, tuple(sums), notes)


def by_angle(snug: Quantity, angle: Quantity, *, pitch: Quantity | None = None) -> Answer:
    """Tell how far a screw is turned on after its snug torque.

    Args:
        snug: the torque first, from which the angle counts.
        angle: to turn on.
        pitch: of the thread; None: the way along the screw is not told.

    Raises:
        UsageError: figures of another kind, or not above 0.

    >>> mm = Quantity(Decimal("1.75"), "mm")
    >>> by_angle(Quantity(Decimal(60), "N·m"), Quantity(Decimal(90), "deg"), pitch=mm).values["travel"]
    Decimal('0.44')
    """
    is_kind("snug torque", snug, "torque")
    is_kind("angle", angle, "angle")
    more_than_nothing("snug torque", snug.base)
    degrees = more_than_nothing("angle", angle.base)
    flats = degrees / _FLAT
    sums = [
        f"first {three_words(snug)}",
        f"then {degrees:f}° = {significant(flats, DIGITS).normalize():f} flats of a hexagon",
    ]
    values: dict[str, Value] = {"snug": snug.value, "unit": snug.unit, "degrees": degrees, "flats": rounded(flats, 2)}
    if pitch is not None:
        is_kind("pitch", pitch, "length")
        travel = more_than_nothing("pitch", pitch.mm) * degrees / _TURN
        values["travel"] = rounded(travel, 2)
        sums.append(f"travel = {told(pitch.mm, 'mm')} x {degrees:f}° / 360° = {rounded(travel, 2)} mm")
    notes = (
        "write down the snug torque of each, then mark screw and part before turning on",
        "a screw that is tightened by angle is often used once: see whether it must be new",
    )
    return Answer("torque_angle", "ok", values, tuple(sums), notes)


def passes(torque: Quantity, shares: Sequence[Decimal] | str | None = None) -> Answer:
    """Tell the torque of each pass over all screws of a pattern.

    Args:
        torque: the full one.
        shares: of the full torque, in order, the last one all of it; or `one`, `two`, `half`, `flange`; None: two
            passes above 30 lbf·ft (41 N·m), else one.

    Raises:
        UsageError: not a torque, shares that fall, are not above 0, or do not end with all of it.

    >>> passes(Quantity(Decimal(60), "N·m")).values["passes"]
    (Decimal('42'), Decimal('60'))
    """
    is_kind("torque", torque, "torque")
    more_than_nothing("torque", torque.base)
    notes = []
    if shares is None:
        shares = "two" if torque.base > _IN_PASSES.base else "one"
        above = in_unit(_IN_PASSES, "N·m")
        notes.append(f"above 30 lbf·ft ({rounded(above, 0)} N·m) in two passes; the unit's own data come first")
    if isinstance(shares, str):
        if shares not in _PASSES:
            raise UsageError(f'passes: found "{shares}"; {allowed_text(shares, _PASSES)}, or shares as 0.5,1')
        shares = _PASSES[shares]
    if not shares or any(not 0 < share <= 1 for share in shares) or list(shares) != sorted(shares) or shares[-1] != 1:
        raise UsageError(
            f"passes: found {', '.join(f'{share:f}' for share in shares) or 'nothing'}; "
            "allowed: rising shares above 0, the last of them 1"
        )
    steps = [Quantity(_clean(significant(torque.value * share, DIGITS)), torque.unit) for share in shares[:-1]]
    steps.append(torque)
    if len(shares) > 1 and shares[-2] == 1:
        steps[-2] = torque
    sums = [
        f"pass {k}: {percent(share)} % = {three_words(step)}"
        for k, (share, step) in enumerate(zip(shares, steps, strict=True), 1)
    ]
    values: dict[str, Value] = {"passes": tuple(step.value for step in steps), "unit": torque.unit}
    return Answer("torque_passes", "ok", values, tuple(sums), tuple(notes))


def _clean(value: Decimal) -> Decimal:
    """Return a value without the zeros that rounding to digits leaves behind."""
    text = f"{value:f}"
    return Decimal(text.rstrip("0").rstrip(".") if "." in text else text)
