"""Whether rings and keys suit a shaft or a bore by the published tables.

Source: DIN 471 and DIN 472 (`labelkit.forms.tables`); keys: DIN 6885-1, from memory up to 230 mm.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from labelkit.forms import standards
from labelkit.forms.shapes import mm
from labelkit.forms.tables import DIN_471, DIN_472
from labelkit.model.form import Shaft
from labelkit.model.hardwareform import Key
from labelkit.model.ringform import SnapRing

# Sizes that differ by no more are one, mm.
_SAME: Final = 0.3
# Key b x h for shafts above one diameter up to the next, mm.
_KEYS: Final = (
    (6, 2, 2),
    (8, 3, 3),
    (10, 4, 4),
    (12, 5, 5),
    (17, 6, 6),
    (22, 8, 7),
    (30, 10, 8),
    (38, 12, 8),
    (44, 14, 9),
    (50, 16, 10),
    (58, 18, 11),
    (65, 20, 12),
    (75, 22, 14),
    (85, 25, 14),
    (95, 28, 16),
    (110, 32, 18),
    (130, 36, 20),
    (150, 40, 22),
    (170, 45, 25),
    (200, 50, 28),
)
_LARGEST: Final = 230


def groove_thickness(ring: SnapRing) -> tuple[float, float] | None:
    """Return the thickness of the regular ring of this diameter and the width of its groove, mm; None off the table."""
    table = DIN_471 if ring.fits == "shaft" else DIN_472
    sizes = standards.retaining_ring(ring.fits, mm(ring.d)) if mm(ring.d) in table.diameters else None
    return (sizes.s, sizes.m) if sizes else None


def standard_of(ring: SnapRing) -> str:
    """Return the standard of the regular rings of its kind."""
    return "DIN 471" if ring.fits == "shaft" else "DIN 472"


def reach(ring: SnapRing) -> float | None:
    """Return the diameter to which a ring in its groove stands out, mm: outside on a shaft, inside in a bore.

    None where the table ends.
    """
    sizes = standards.retaining_ring(ring.fits, mm(ring.d))
    if sizes is None:
        return None
    return sizes.d2 + 2 * sizes.b if ring.fits == "shaft" else sizes.d2 - 2 * sizes.b


def has_groove(shaft: Shaft, ring: SnapRing) -> bool:
    """Say whether a shaft has a step of the ring's nominal diameter, or one that is its groove."""
    sizes = standards.retaining_ring("shaft", mm(ring.d))
    wanted = [mm(ring.d), *([sizes.d2] if sizes else ())]
    return any(abs(mm(d) - each) <= _SAME for d, _ in shaft.steps for each in wanted)


def key_section(d: float) -> tuple[int, int] | None:
    """Return width and height of the key for a shaft, mm; None outside the table.

    >>> key_section(40), key_section(44), key_section(300)
    ((12, 8), (12, 8), None)
    """
    found = [(b, h) for above, b, h in _KEYS if above < d <= _LARGEST]
    return found[-1] if found else None


def known_key(key: Key) -> bool:
    """Say whether the table has a key of this width and height."""
    return any((Decimal(b), Decimal(h)) == (key.b.mm, key.h.mm) for _, b, h in _KEYS)
