"""Coil springs: rate, force at a length, and the force that waits under a cover.

Source: k = G d^4 / (8 D^3 n) and F = k (L0 - L), the helical compression spring of the textbooks (public formula
pages); the shear modulus of spring steel, 79 300 N/mm2, is from memory (pages say about 80 000).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from labelkit.calc.answers import Answer, Value
from labelkit.calc.figures import is_kind, more_than_nothing, rounded, significant, told
from labelkit.calc.limits import Limits, judge
from labelkit.errors import UsageError
from labelkit.units import FACTORS, GRAVITY, Quantity

_SPRING_STEEL: Final = Decimal(79300)  # N/mm2, from memory
_SET_NOTE: Final = "springs of one set are renewed together: one that is out condemns the set"


@dataclass(frozen=True, slots=True)
class Coil:
    """A helical compression spring.

    Attributes:
        wire: diameter of the wire, mm.
        mean: diameter of the coil from wire middle to wire middle, mm.
        coils: active coils, those that are free to work.
        modulus: shear modulus, N/mm2.
    """

    wire: Decimal
    mean: Decimal
    coils: Decimal
    modulus: Decimal = _SPRING_STEEL

    def __post_init__(self) -> None:
        for name in ("wire", "mean", "coils", "modulus"):
            more_than_nothing(f"spring {name}", getattr(self, name))
        if self.mean <= self.wire:
            raise UsageError(f"spring: a coil of {self.mean} mm does not hold a wire of {self.wire} mm; swapped?")

    @property
    def rate(self) -> Decimal:
        """Return the rate, N/mm, unrounded.

        >>> rounded(Coil(Decimal("2.5"), Decimal(20), Decimal(8)).rate, 2)
        Decimal('6.05')
        """
        return self.modulus * self.wire**4 / (8 * self.mean**3 * self.coils)


def spring(coil: Coil, squeezed: tuple[Quantity, ...] = (), *, free: Quantity | None = None) -> Answer:
    """Tell the rate of a spring and its force.

    Args:
        coil: its sizes.
        squeezed: by how much it is shortened; with `free`: to which lengths.
        free: its free length.

    Raises:
        UsageError: a length above the free one or below the closed one cannot be.
    """
    rate = coil.rate
    sums = [
        f"k = G x d^4 / (8 x D^3 x n) = {coil.modulus:f} N/mm2 x ({coil.wire:f} mm)^4 "
        f"/ (8 x ({coil.mean:f} mm)^3 x {coil.coils:f}) = {rounded(rate, 2)} N/mm"
    ]
    forces: list[Value] = []
    for length in squeezed:
        is_kind("length of the spring", length, "length")
        way = length.mm if free is None else free.mm - length.mm
        if way < 0 or length.mm <= 0:
            raise UsageError(f"spring: found {length}; allowed: a length from 0 up to the free length {free or ''}")
        if free is not None and length.mm < coil.wire * coil.coils:
            raise UsageError(
                f"spring: found {length}; its {coil.coils:f} coils of {coil.wire:f} mm lie on each other before that"
            )
        force = rate * way
        forces.append(rounded(force, 1))
        shorter = f"{length}" if free is None else f"({free} - {length})"
        sums.append(f"F = {rounded(rate, 2)} N/mm x {shorter} = {rounded(force, 0)} N")
    values: dict[str, Value] = {"rate": rounded(rate, 2), "forces": tuple(forces), "unit": "N"}
    note = "the shear modulus of spring steel is from memory; the load that the unit's manual states decides"
    return Answer("spring", "no_limit", values, tuple(sums), (note,))


def spring_load(load: Quantity, limits: Limits, *, at: Quantity, resolution: Quantity | None = None) -> Answer:
    """Judge a spring by its load at a length, as a spring tester reads it.

    Args:
        load: what the tester reads.
        limits: of the load.
        at: the length it was pressed to.
        resolution: the step of the tester, where the last digit does not say it.

    Raises:
        UsageError: not a force, or not a length.
    """
    is_kind("load of the spring", load, "force")
    is_kind("length of the spring", at, "length")
    judged = judge(load, limits, resolution=resolution, fit="spring_load")
    newtons = told(load.base, "N")
    head = f"load at {at}" + (f" = {told(at.mm, 'mm')}" if at.unit != "mm" else "")
    first = f"{head}: {load}" + (f" = {newtons}" if load.unit != "N" else "")
    notes = (*judged.notes, _SET_NOTE) if judged.verdict in ("out", "borderline") else judged.notes
    return Answer(
        "spring_load", judged.verdict, {**judged.values, "newtons": rounded(load.base, 1)}, (first, *judged.sums), notes
    )


def under_cover(
    count: int, rate: Decimal, squeezed: Quantity, *, pitch: Quantity | None = None, screws: int | None = None
) -> Answer:
    """Tell with what force springs push a cover off, and after how many turns of its screws they are free.

    Args:
        count: of the springs.
        rate: of each, N/mm.
        squeezed: how far each is shortened while the cover is on.
        pitch: of the cover's screws; None: the turns are not told.
        screws: how many screws hold the cover.

    Raises:
        UsageError: a count below 1, a rate, way or pitch of 0 or less.

    >>> mm = lambda text: Quantity(Decimal(text), "mm")
    >>> answer = under_cover(12, Decimal("79.1"), mm("8.0"), pitch=mm("1.75"))
    >>> answer.values["together_kn"], answer.values["turns"]
    (Decimal('7.6'), Decimal('4.6'))
    """
    more_than_nothing("number of springs", Decimal(count))
    more_than_nothing("rate of the springs", rate)
    is_kind("how far the springs are squeezed", squeezed, "length")
    way = more_than_nothing("how far the springs are squeezed", squeezed.mm)
    each = rate * way
    together = each * count
    held = together / GRAVITY
    sums = [
        f"one spring: {significant(rate, 4):f} N/mm x {told(way, 'mm')} = {rounded(each, 0)} N",
        f"together: {count} x {rounded(each, 0)} N = {rounded(together / 1000, 1)} kN ({rounded(held, 0)} kgf)",
    ]
    values: dict[str, Value] = {
        "each_n": rounded(each, 0),
        "together_kn": rounded(together / 1000, 1),
        "together_kgf": rounded(held, 0),
    }
    back_off = f"back off {f'all {screws}' if screws else 'all'} screws evenly, one turn at a time"
    notes = [
        f"WARNING: springs push the cover with {rounded(together / 1000, 1)} kN: {back_off}; stand aside, protect your "
        "eyes; use the compressor or long studs where the unit's manual asks for them; local rules come first"
    ]
    if pitch is not None:
        is_kind("pitch of the screws", pitch, "length")
        turns = way / more_than_nothing("pitch of the screws", pitch.mm)
        values["turns"] = rounded(turns, 1)
        sums.append(f"free after {told(way, 'mm')} / {told(pitch.mm, 'mm')} a turn = {rounded(turns, 1)} turns")
    if screws is not None:
        values["force_each_screw_n"] = rounded(together / more_than_nothing("number of screws", Decimal(screws)), 0)
    return Answer("springs_under_cover", "no_limit", values, tuple(sums), tuple(notes))


def release_pressure(force: Quantity, area_mm2: Decimal) -> Answer:
    """Tell the pressure under a piston that lifts springs: force / area.

    Args:
        force: of all springs together, at the way where it is wanted.
        area_mm2: of the piston.

    Raises:
        UsageError: not a force, or one of the figures is 0 or less.
    """
    is_kind("force of the springs", force, "force")
    newtons = more_than_nothing("force of the springs", force.base)
    bar = newtons / more_than_nothing("area of the piston, mm2", area_mm2) * 10
    psi = bar / FACTORS["psi"][1]
    line = f"p = {told(newtons, 'N')} / {area_mm2:f} mm2 = {rounded(bar, 1)} bar ({rounded(psi, 0)} psi)"
    return Answer("release_pressure", "no_limit", {"bar": rounded(bar, 1), "psi": rounded(psi, 0)}, (line,))
