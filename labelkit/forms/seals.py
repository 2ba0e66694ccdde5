"""Radial shaft seals."""

from __future__ import annotations

from labelkit.forms.geometry import Contour, circle
from labelkit.forms.shapes import Face, Plan, Section, annulus, face, mm, rim
from labelkit.model.ringform import LipSeal


def lip_seal_plan(form: LipSeal) -> Plan:
    """Return the seal from its open side: the case, the garter spring and the lip."""
    inner, outer = mm(form.id) / 2, mm(form.od) / 2
    height = outer - inner
    rings = [circle(inner + share * height) for share in (0.3, 0.46, 0.88)]
    return annulus(outer, inner, mm(form.w), rings)


def lip_seal_section(form: LipSeal) -> Section:
    """Return case, rubber with the lip, and garter spring; the open side with the spring up, the flat back down.

    `id` is the shaft, which the lip touches. The inner proportions are drawing conventions.
    """
    inner, outer, w = mm(form.id) / 2, mm(form.od) / 2, mm(form.w)
    height = outer - inner

    def place(u: float, v: float) -> tuple[float, float]:
        return (inner + u * height, v * w)

    case = face(place(*p) for p in ((0.34, 0), (1, 0), (1, 1), (0.88, 1), (0.88, 0.16), (0.34, 0.16)))
    spring = min(0.085 * height, 0.1 * w)
    cr, cz = place(0.4, 0.74)
    groove = 1.08 * spring
    foot = [place(*p) for p in ((0.22, 0), (0.34, 0), (0.34, 0.16), (0.34, 0.46), (0.4, 0.56))]
    head = [place(*p) for p in ((0.4, 0.92), (0.24, 0.92), (0, 0.56), (0.16, 0.38), (0.16, 0.1))]
    rubber = Contour(
        (
            *((x, z, 0.0) for x, z in foot),
            (cr, cz - groove, -1.0),  # the groove bends into the rubber
            (cr, cz + groove, 0.0),
            *((x, z, 0.0) for x, z in head),
        )
    )
    faces = (case, Face(rubber, "rubber"), Face(circle(spring, cr, cz)))
    return Section(
        faces, (*rim(inner + 0.16 * height, 0), *rim(inner, 0.56 * w), *rim(inner + 0.24 * height, 0.92 * w))
    )
