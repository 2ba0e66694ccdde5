"""Which graded pieces that lie there go in again where sizes were chosen: what is there and good is not ordered."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from decimal import Decimal

from labelkit.calc.answers import beside
from labelkit.calc.figures import digit
from labelkit.units import Quantity

Sizes = Mapping[int, Sequence[Decimal]]


def reused(
    wanted: Sizes, lying: Sizes, *, same: Callable[[int, Decimal, Decimal], bool], kind: Callable[[int], Hashable]
) -> dict[int, tuple[tuple[int, Decimal], ...]]:
    """Return for each place which of its wanted sizes lie there, each with the place where it lies; none twice.

    What lies at the place itself counts first, then what another place of the same kind has left over. Common practice,
    no source.

    Args:
        wanted: sizes that go in, mm, by the ordinal of their place.
        lying: what the old pieces measure, mm, by the ordinal of theirs.
        same: whether at a place a piece that measures so much is of a size: ordinal, size, measured.
        kind: what places must have in common to swap pieces, by their ordinal.

    >>> same, kind = (lambda place, size, read: size == read), (lambda place: "shim")
    >>> one, two = Decimal("0.30"), Decimal("0.50")
    >>> reused({1: [one, one], 2: [two]}, {1: [one, two], 2: [one]}, same=same, kind=kind)
    {1: ((1, Decimal('0.30')), (2, Decimal('0.30'))), 2: ((1, Decimal('0.50')),)}
    """
    need, left = ({place: list(sizes) for place, sizes in each.items()} for each in (wanted, lying))
    found: dict[int, list[tuple[int, Decimal]]] = {place: [] for place in need}
    pairs = [(place, other) for place in need for other in left if kind(place) == kind(other)]
    for place, other in sorted(pairs, key=lambda pair: pair[0] != pair[1]):
        for size in tuple(need[place]):
            fitting = [read for read in left[other] if same(place, size, read)]
            if fitting:
                left[other].remove(min(fitting, key=lambda read: abs(read - size)))
                need[place].remove(size)
                found[place].append((other, size))
    return {place: tuple(pieces) for place, pieces in found.items()}


def room_of(size: Quantity, tol: Quantity | None) -> Decimal:
    """Return how far from its size a graded piece may measure, mm: half of the last decimal where nothing is said."""
    return digit(size) / 2 if tol is None else tol.mm


def each_piece(values: Sequence[Decimal], pieces: int | None) -> tuple[Decimal, ...]:
    """Return the size of each piece of a stack from what was read of it, in its order.

    Args:
        values: every reading, those of one piece after each other; of a set without a number each piece once, and the
            sum, which is the largest.
        pieces: how many there are; None: nobody says. Nothing is returned where they were not read equally often.

    >>> read = [Decimal(each) for each in ("0.50", "0.25", "0.75", "0.74")]
    >>> each_piece(read[:3], None), each_piece(read, 2), each_piece(read, 3)
    ((Decimal('0.50'), Decimal('0.25')), (Decimal('0.375'), Decimal('0.745')), ())
    """
    if pieces is None:
        left = list(values)
        if len(left) > 2 and 2 * max(left) == sum(left):
            left.remove(max(left))
        return tuple(left)
    apiece, more = divmod(len(values), pieces)
    if more or not apiece:
        return ()
    each = (values[k : k + apiece] for k in range(0, len(values), apiece))
    return tuple(beside(sum(some, Decimal(0)) / apiece, *some) for some in each)
