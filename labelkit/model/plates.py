"""The one rule that every stack of clutch plates keeps: no two friction plates touch."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise


def touching(stack: Sequence[str], is_friction: Callable[[str], bool]) -> tuple[tuple[int, int], ...]:
    """Return the places, from 1, of frictions that lie on each other.

    >>> touching(["F", "S", "F", "F"], lambda plate: plate == "F")
    ((3, 4),)
    """
    return tuple(
        (place, place + 1)
        for place, (one, two) in enumerate(pairwise(stack), 1)
        if is_friction(one) and is_friction(two)
    )
