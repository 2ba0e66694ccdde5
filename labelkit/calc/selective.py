"""Which shim, plate or ring sets a play: the choice, and whether a series always has one.

With a measured play e under pieces of together t_old, and pieces of together t in their place:

- thicker reduces (pieces inside the gap): play = e - (t - t_old)
- thicker increases (pieces under what moves away): play = e + (t - t_old)

The window is every t whose play is inside the target. It is narrowed by a guard on each side: what the reading is
uncertain by, and the tolerance of each piece that nobody measured. Nearest to the wanted thickness wins; of two that
are as near, the one on the tight or the loose side, as was asked; of one thickness the fewest and then the thickest
pieces. Lengths are mm, exact decimals; nothing is rounded before it is compared.

Source: the sum is the definition of play; guard and order of choice: common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from itertools import combinations_with_replacement, pairwise
from math import comb
from typing import Final, Literal

from labelkit.calc.answers import Verdict
from labelkit.errors import UsageError

Thicker = Literal["reduces", "increases"]
Tie = Literal["tight", "loose"]
Solvable = Literal["always", "if measured", "not"]

# More stacks of pieces than a shelf can hold: a slip, or a series that should be listed by what is there.
_MOST_STACKS: Final = 100_000
_ZERO: Final = Decimal(0)


@dataclass(frozen=True, slots=True)
class Stack:
    """Pieces that are put in together, thickest first."""

    total: Decimal
    pieces: tuple[Decimal, ...]


@dataclass(frozen=True)
class Pieces:
    """What there is to choose from.

    Attributes:
        sizes: the graded sizes, mm; each as often as is needed.
        tolerance: of each size, mm, to either side; zero where the pieces were measured.
        most: how many may be put in together.

    Raises:
        UsageError: no sizes, one twice, one that is no thickness, or more stacks than can be meant.
    """

    sizes: tuple[Decimal, ...]
    tolerance: Decimal = _ZERO
    most: int = 1

    def __post_init__(self) -> None:
        if not self.sizes:
            raise UsageError("the series has no sizes; allowed: at least one, as 2.45,2.60,2.75 or 2.00:3.50:0.15")
        if min(self.sizes) <= 0:
            raise UsageError(f"the series has the size {min(self.sizes)} mm; allowed: more than 0")
        if len(set(self.sizes)) < len(self.sizes):
            twice = next(size for size in self.sizes if self.sizes.count(size) > 1)
            raise UsageError(f"the series names {twice} mm twice; allowed: each size once")
        if self.tolerance < 0 or self.most < 1:
            raise UsageError(f"tolerance {self.tolerance} mm, pieces {self.most}; allowed: from 0, and from 1")
        if (count := comb(len(self.sizes) + self.most, self.most) - 1) > _MOST_STACKS:
            raise UsageError(
                f"{len(self.sizes)} sizes in stacks of up to {self.most} are {count} stacks; "
                f"allowed: at most {_MOST_STACKS}; list the sizes that are on the shelf"
            )

    @cached_property
    def all_stacks(self) -> tuple[Stack, ...]:
        """All that can be put in, thinnest first; of equal ones the fewest and then the thickest pieces first."""
        falling = sorted(self.sizes, reverse=True)
        found = [
            Stack(sum(pieces, _ZERO), pieces)
            for count in range(1, self.most + 1)
            for pieces in combinations_with_replacement(falling, count)
        ]
        return tuple(sorted(found, key=lambda stack: stack.total))  # stable

    @cached_property
    def stacks(self) -> tuple[Stack, ...]:
        """For each thickness the stack of the fewest and then the thickest pieces, thinnest first."""
        first: dict[Decimal, Stack] = {}
        for stack in self.all_stacks:
            first.setdefault(stack.total, stack)
        return tuple(first.values())

    @cached_property
    def totals(self) -> tuple[Decimal, ...]:
        """Thickness of each of the stacks."""
        return tuple(stack.total for stack in self.stacks)

    @cached_property
    def largest_gap(self) -> tuple[Decimal, Decimal]:
        """The neighbouring thicknesses that are furthest apart; of a single one twice that one."""
        only = (self.totals[0], self.totals[0])
        return max(pairwise(self.totals), key=lambda pair: pair[1] - pair[0], default=only)

    @cached_property
    def largest_step(self) -> Decimal:
        """The largest step between neighbouring thicknesses that can be put in; zero of a single one."""
        low, high = self.largest_gap
        return high - low

    @cached_property
    def largest_size_step(self) -> Decimal:
        """The largest step between neighbouring sizes; zero of a single one."""
        rising = sorted(self.sizes)
        return max((high - low for low, high in pairwise(rising)), default=_ZERO)


@dataclass(frozen=True, slots=True)
class Target:
    """Where a play must lie, mm.

    Attributes:
        low: smallest allowed.
        high: largest allowed.
        aim: what is wanted.
        tie: of two that are equally near, the one that leaves less play (`tight`) or more (`loose`).

    Raises:
        UsageError: the wrong way round, or an aim outside.
    """

    low: Decimal
    high: Decimal
    aim: Decimal
    tie: Tie = "tight"

    def __post_init__(self) -> None:
        if self.low >= self.high:
            raise UsageError(f"the low end {self.low} mm is not below the high end {self.high} mm")
        if not self.low <= self.aim <= self.high:
            raise UsageError(f"the aim {self.aim} mm lies outside the target {self.low} to {self.high} mm")

    @classmethod
    def of(cls, low: Decimal, high: Decimal, aim: Decimal | str = "middle", tie: Tie = "tight") -> Target:
        """Return a target of lengths in mm; the aim may also be `middle`, `low` or `high`; errors as for the class.

        >>> Target.of(Decimal("0.40"), Decimal("0.60")).aim
        Decimal('0.50')
        """
        if isinstance(aim, Decimal):
            return cls(low, high, aim, tie)
        return cls(low, high, {"low": low, "high": high}.get(aim, (low + high) / 2), tie)

    @property
    def width(self) -> Decimal:
        """High end less low end."""
        return self.high - self.low

    def outside(self, play: Decimal) -> Decimal:
        """Return how far a play lies above the target, below zero how far it lies under it; zero inside."""
        return max(play - self.high, _ZERO) or min(play - self.low, _ZERO)


@dataclass(frozen=True, slots=True)
class Gap:
    """A play as it was found, and what it was found with, mm.

    Attributes:
        play: the mean of the readings, not rounded.
        fitted: thickness of the pieces that were in, measured; zero where nothing was.
        thicker: what thicker pieces do to the play.
        uncertainty: of the play.
    """

    play: Decimal
    fitted: Decimal = _ZERO
    thicker: Thicker = "reduces"
    uncertainty: Decimal = _ZERO

    def with_pieces(self, thickness: Decimal) -> Decimal:
        """Return the play with other pieces in place, exact."""
        change = thickness - self.fitted
        return self.play - change if self.thicker == "reduces" else self.play + change

    def thickness_for(self, play: Decimal) -> Decimal:
        """Return the thickness that gives a play, exact."""
        return self.fitted + (self.play - play if self.thicker == "reduces" else play - self.play)

    def window(self, target: Target) -> tuple[Decimal, Decimal]:
        """Return the thinnest and the thickest that are inside a target."""
        ends = self.thickness_for(target.low), self.thickness_for(target.high)
        return min(ends), max(ends)


@dataclass(frozen=True, slots=True)
class Offer:
    """A stack and what it would give, mm.

    Attributes:
        stack: the pieces.
        predicted: what they give.
        outside: as `Target.outside`.
        risky: inside, but by less than the guard.
    """

    stack: Stack
    predicted: Decimal
    outside: Decimal
    risky: bool


@dataclass(frozen=True, slots=True)
class Selection:
    """What was chosen.

    Attributes:
        verdict: `ok`; `borderline`: inside, but not by the guard, measure the piece; `none`.
        window: thinnest and thickest that give a play inside the target.
        wanted: the thickness that gives the aim.
        guard: taken off either end of the window for the chosen stack, or for one piece.
        chosen: None where nothing fits.
        others: what lies next to it; the two nearest where nothing fits.
        tied: whether another thickness was as near and as sure on the other side, so that `Target.tie` decided.
    """

    verdict: Verdict
    window: tuple[Decimal, Decimal]
    wanted: Decimal
    guard: Decimal
    chosen: Offer | None
    others: tuple[Offer, ...]
    tied: bool


def select(gap: Gap, target: Target, pieces: Pieces) -> Selection:
    """Choose the pieces that set a play.

    Args:
        gap: the play as it was found.
        target: where it must lie.
        pieces: what there is.
    """
    low, high = window = gap.window(target)
    wanted = gap.thickness_for(target.aim)
    first, last = bisect_left(pieces.totals, low), bisect_right(pieces.totals, high)
    # The thinner side is the loose one where thicker reduces the play.
    thin_first = (target.tie == "loose") == (gap.thicker == "reduces")

    def guard(stack: Stack) -> Decimal:
        return gap.uncertainty + pieces.tolerance * len(stack.pieces)

    def risky(stack: Stack) -> bool:
        off = guard(stack)
        return low <= stack.total <= high and not low + off <= stack.total <= high - off

    def offer(stack: Stack) -> Offer:
        predicted = gap.with_pieces(stack.total)
        return Offer(stack, predicted, target.outside(predicted), risky(stack))

    def rank(stack: Stack) -> tuple[bool, Decimal]:
        return risky(stack), abs(stack.total - wanted)

    def order(stack: Stack) -> tuple[bool, Decimal, bool]:
        return *rank(stack), (stack.total <= wanted) != thin_first

    inside = pieces.stacks[first:last]
    if not inside:
        near = sorted(map(offer, _nearest(pieces, first)), key=lambda near: abs(near.outside))
        return Selection("none", window, wanted, gap.uncertainty + pieces.tolerance, None, tuple(near), tied=False)
    best = min(inside, key=order)
    nearest = rank(best)
    return Selection(
        verdict="borderline" if risky(best) else "ok",
        window=window,
        wanted=wanted,
        guard=guard(best),
        chosen=offer(best),
        others=tuple(map(offer, _beside(pieces, best))),
        tied=any(each is not best and rank(each) == nearest for each in inside),
    )


def solvable(pieces: Pieces, width: Decimal) -> Solvable:
    """Say whether a series has an answer for every play between its ends.

    Args:
        pieces: the series.
        width: of the target, high end less low end, mm.

    Returns:
        `always`: also where no piece is measured; `if measured`: each piece must be measured, what is stamped on it
        does not do; `not`: some plays have no answer.
    """
    if pieces.largest_step > width:
        return "not"
    return "always" if pieces.largest_step <= width - 2 * pieces.tolerance * pieces.most else "if measured"


def graded(first: Decimal, last: Decimal, step: Decimal, most: int = 1000) -> tuple[Decimal, ...]:
    """Return the sizes from a first to a last in equal steps, mm; at most `most` of them.

    Raises:
        UsageError: the wrong way round, no step, steps that do not reach the last, or more sizes than can be meant.

    >>> graded(Decimal("2.45"), Decimal("2.75"), Decimal("0.15"))
    (Decimal('2.45'), Decimal('2.60'), Decimal('2.75'))
    """
    if step <= 0 or first > last:
        raise UsageError(
            f"from {first} to {last} mm in steps of {step} mm; allowed: thinnest to thickest, steps above 0"
        )
    if (last - first) / step >= most:
        raise UsageError(f"steps of {step} mm from {first} to {last} mm are over {most} sizes; list those there are")
    if (last - first) % step:
        raise UsageError(
            f"steps of {step} mm from {first} mm do not reach {last} mm; list the sizes instead, with commas"
        )
    return tuple(first + step * k for k in range(int((last - first) / step) + 1))


def _nearest(pieces: Pieces, place: int) -> Sequence[Stack]:
    """Return the two thicknesses nearest to an empty window before a place: on either side, or both on one."""
    if 0 < place < len(pieces.stacks):
        return pieces.stacks[place - 1 : place + 1]
    return pieces.stacks[:2] if place == 0 else pieces.stacks[-2:]


def _beside(pieces: Pieces, chosen: Stack) -> Iterable[Stack]:
    """Yield another stack of the same thickness, the next thinner and the next thicker."""
    if pieces.most > 1:
        place = bisect_left(pieces.all_stacks, chosen.total, key=lambda each: each.total)
        yield from (each for each in pieces.all_stacks[place + 1 : place + 2] if each.total == chosen.total)
    place = bisect_left(pieces.totals, chosen.total)
    yield from pieces.stacks[max(0, place - 1) : place]
    yield from pieces.stacks[place + 1 : place + 2]
