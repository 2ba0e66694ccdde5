"""The one rule that every stack of clutch plates keeps: no two friction plates touch."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import pairwise

from labelkit.model.part import Part


def is_friction(part: Part) -> bool:
    """Say whether a part is a friction plate, by its form."""
    return part.form is not None and part.form.kind == "friction_plate"


def touching(stack: Sequence[str], frictions: Collection[str]) -> tuple[tuple[int, int], ...]:
    """Return the places, from 1, of frictions that lie on each other.

    >>> touching(["F", "S", "F", "F"], ["F"])
    ((3, 4),)
    """
    pairs = enumerate(pairwise(stack), 1)
    return tuple((place, place + 1) for place, (one, two) in pairs if one in frictions and two in frictions)
