"""Shafts, and pins as the shortest of them."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Final

from labelkit.forms import turned
from labelkit.forms.geometry import Point
from labelkit.forms.shapes import Face, Mark, Plan, Section, bar, mm, rim
from labelkit.model.form import Shaft
from labelkit.model.hardwareform import Pin

# Depth of splines or teeth over the radius of their step; lines drawn along them,
# in tenths of a half turn. Drawing conventions.
_SPLINE_DEPTH: Final = 0.12
_SPLINE_LINES: Final = (-4, -3, -2, -1, 0, 1, 2, 3, 4)


def _steps(form: Shaft) -> list[tuple[float, float, float]]:
    """Return the steps from the top: radius, bottom z, top z."""
    z = math.fsum(mm(length) for _, length in form.steps)
    steps = []
    for d, length in form.steps:
        steps.append((mm(d) / 2, z - mm(length), z))
        z -= mm(length)
    # The sum of the lengths may miss zero by a rounding.
    radius, _, top = steps[-1]
    return [*steps[:-1], (radius, 0.0, top)]


def _profile(form: Shaft) -> list[Point]:
    return [point for r, low, high in _steps(form) for point in ((r, high), (r, low))]


def shaft_plan(form: Shaft) -> Plan:
    """Return the shaft lying down, its first step at the left; a disc-like one stands with its first step up."""
    profile = _profile(form)
    if not turned.lies_down(profile):
        return turned.end(profile, bore=mm(form.bore) / 2 if form.bore else 0.0)
    half = profile[0][1] / 2
    marks: list[Mark] = []
    for number, (r, low, high) in enumerate(_steps(form), start=1):
        if number in form.splines:
            heights = [r * math.sin(math.pi * k / 10) for k in _SPLINE_LINES]
            marks += [((half - high, y), (half - low, y)) for y in heights]
    return turned.side(profile, marks=marks)


def shaft_section(form: Shaft) -> Section:
    """Return the shaft standing, its first step up; splines and teeth stand off from the core and end in run-outs."""
    bore = mm(form.bore) / 2 if form.bore else 0.0
    core: list[Point] = []
    teeth: tuple[Face, ...] = ()
    for number, (r, low, high) in enumerate(_steps(form), start=1):
        root = r
        if number in form.splines:
            root = max(r * (1 - _SPLINE_DEPTH), (r + bore) / 2)
            run_out = min(2 * (r - root), 0.1 * (high - low))
            teeth += bar(root, low + run_out, r, high - run_out)
        core += [(root, high), (root, low)]
    contour = turned.cut(core, bore=bore)
    return Section((Face(contour), *teeth), rim(bore, 0, core[0][1]))


def ends_alike(form: Shaft) -> bool:
    """Say whether the shaft looks the same from both ends; plain steps of one diameter in a row look like one."""
    steps: list[tuple[Decimal, Decimal, bool]] = []
    for number, (d, length) in enumerate(form.steps, start=1):
        splined, run = number in form.splines, length.mm
        if steps and not splined and (d.mm, False) == (steps[-1][0], steps[-1][2]):
            run += steps.pop()[1]
        steps.append((d.mm, run, splined))
    return steps == steps[::-1]


def _pin_profile(form: Pin) -> list[Point]:
    """Return a cylinder with both edges broken by a tenth of its diameter (drawing convention)."""
    r, length = mm(form.d) / 2, mm(form.l)
    chamfer = min(0.2 * r, 0.2 * length)
    return [(r - chamfer, length), (r, length - chamfer), (r, chamfer), (r - chamfer, 0.0)]


def pin_plan(form: Pin) -> Plan:
    """Return the pin lying down; a button shorter than across lies flat."""
    profile = _pin_profile(form)
    return turned.side(profile) if turned.lies_down(profile) else turned.end(profile)


def pin_section(form: Pin) -> Section:
    """Return the pin standing."""
    return Section((Face(turned.cut(_pin_profile(form))),))
