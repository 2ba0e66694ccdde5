"""Round parts given by their half profile: one description gives the side view, the end view and the section.

A half profile runs from the `way` end at the top down to z = 0: points (r, z), z never rising, without the points on
the axis.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from labelkit.forms.geometry import Contour, Point, circle, polygon
from labelkit.forms.shapes import THINNEST, Mark, Plan

Profile = Sequence[Point]


def lies_down(profile: Profile) -> bool:
    """Say whether the part is longer than across and so lies on its side."""
    return profile[0][1] > 2 * max(r for r, _ in profile)


def side(profile: Profile, *, height: float | None = None, marks: Iterable[Mark] = ()) -> Plan:
    """Return the side view, the `way` end at the left, with a line at every edge of the profile.

    Args:
        profile: the half profile.
        height: above the tray; default the largest diameter.
        marks: further lines, already in the plan frame.
    """
    half = profile[0][1] / 2
    upper = [(half - z, r) for r, z in profile]
    outer = polygon([*((x, -r) for x, r in upper), *reversed(upper)])
    edges: list[Mark] = [((x, -r), (x, r)) for x, r in _edges(upper)]
    return Plan(
        outer, height if height is not None else 2 * max(r for r, _ in profile), (), (*edges, *marks), lies=True
    )


def _edges(upper: Sequence[Point]) -> list[Point]:
    """Return the places between the ends where the outline turns: each once, with the smaller radius there."""
    inner: dict[float, float] = {}
    for x, r in upper:
        if upper[0][0] + THINNEST < x < upper[-1][0] - THINNEST:
            inner[x] = min(r, inner.get(x, r))
    return list(inner.items())


def end(profile: Profile, *, bore: float = 0.0, marks: Iterable[Mark] = ()) -> Plan:
    """Return the view from the `way` end: every edge that is not hidden by a larger one above it."""
    largest = max(r for r, _ in profile)
    circles: list[Contour] = []
    seen = bore
    for r, _ in profile:
        if seen + THINNEST < r < largest - THINNEST:
            circles.append(circle(r))
        seen = max(seen, r)
    return Plan(circle(largest), profile[0][1], (circle(bore),) if bore else (), (*circles, *marks))


def cut(profile: Profile, *, bore: float = 0.0, recess: Sequence[Point] = ()) -> Contour:
    """Return the half section, counter-clockwise.

    Args:
        profile: the half profile.
        bore: radius of a bore right through, 0 for none.
        recess: points of an opening in the top, from its edge down to the axis (the last on the axis).
    """
    top = profile[0][1]
    inner = list(recess) or [(bore, top)]
    return polygon([(bore, 0.0), *reversed(profile), *inner])
