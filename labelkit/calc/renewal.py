"""What of a job must be new, and why: always, condemned, lost, used once only, with another part, or as a pair.

Every place is judged under every way in which the options that are still open may be chosen, so that a part that may
not be there is never counted in silence.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from labelkit.calc.assembly import Placed
from labelkit.calc.pulling import Choices, Found, Need, PartPlace, Reason, Tree, tree_of
from labelkit.calc.steps import Bin, Inside, Teardown
from labelkit.errors import UsageError, allowed_text
from labelkit.language import gettext as _
from labelkit.model.catalogue import order_number
from labelkit.model.part import Part
from labelkit.model.profile import Profile
from labelkit.units import Quantity

# Of graded parts that are to be new, by the ordinal of their place, mm.
Sizes = Mapping[int, Sequence[Decimal]]


@dataclass(frozen=True, slots=True)
class Use:
    """One place where new pieces go.

    Attributes:
        item: the bin, or the part that stays inside another.
        name: its name, saying which copy it is.
        number: the order number; None when the profile has none, or the size that decides it is not chosen.
        pieces: how many; None: as needed, the profile has no fixed count.
        reason: why; `one_time` with causes: it has to come out to get at them.
        causes: names of the parts that pull it.
        size: the chosen size of a graded part.
        unsized: graded, and the size is chosen later.
        pairs: names of the parts with which it is ordered as a pair.
        step: the first step in the order of assembly that cannot be done without it; None: no step waits for it.
        position: of that step in the order of assembly, from 0.
        ways: bit k says that it is needed under way k of the open options.
    """

    item: Bin | Inside
    name: str
    number: str | None
    pieces: int | None
    reason: Reason
    causes: tuple[str, ...]
    size: Quantity | None
    unsized: bool
    pairs: tuple[str, ...]
    step: str | None
    position: int
    ways: int

    @property
    def part(self) -> Part:
        """The entry of the profile."""
        return self.item.part

    @property
    def sized_name(self) -> str:
        """Its name with the size that was chosen, where it is graded."""
        return f"{self.name}, {self.size}" if self.size else self.name

    @property
    def grade(self) -> Decimal | None:
        """The chosen size, mm, by which new pieces of the place are told apart; None: it has none."""
        return self.size.mm if self.size else None


@dataclass(frozen=True, slots=True)
class Renewal:
    """What must be new.

    Attributes:
        uses: in the order of assembly.
        ways: every way of choosing the open options on which anything depends; one empty way when none is open.
        unjudged: what is renewed if worn, or nobody knows when, and nobody has judged.
        notes: what the profile leaves open about it, for people.
    """

    uses: tuple[Use, ...]
    ways: tuple[Choices, ...]
    unjudged: tuple[Bin | Inside, ...]
    notes: tuple[str, ...]


def pieces_of(uses: Iterable[Use]) -> int:
    """Return how many new pieces the uses of one place come to; 0 when there is no fixed count."""
    pieces = 0
    for use in uses:
        # Uses of other choices of an open option are never there together.
        pieces = pieces + (use.pieces or 0) if use.size else max(pieces, use.pieces or 0)
    return pieces


def renewal(profile: Profile, teardown: Teardown, order: Sequence[Placed], found: Found, sizes: Sizes) -> Renewal:
    """Return what must be new.

    Args:
        profile: of the unit.
        teardown: its parts under the job's options.
        order: the order of assembly.
        found: what the inspection found.
        sizes: of graded parts that are to be new, of each piece; of what is condemned one size is that of all pieces.

    Raises:
        UsageError: as for `calc.needs.roll_up`.
    """
    tree = tree_of(profile, teardown)
    needs = tree.needs(found)
    maker = _Uses(tree, teardown, order, found, sizes)
    uses = [use for place in tree.places for use in maker.of(place, needs.get(place.ordinal, Need()))]
    uses.sort(key=lambda use: (use.position, use.item.ordinal))
    judged = {*needs, *found, *sizes}
    unjudged = [
        maker.items[place.ordinal]
        for place in tree.places
        if place.there and place.ordinal not in judged and place.part.renew in (None, "if_worn")
        if not tree.is_its_parts(place.part)
    ]
    return Renewal(tuple(uses), tree.ways, tuple(unjudged), tuple(maker.notes(needs)))


class _Uses:
    """Makes uses of needs."""

    def __init__(self, tree: Tree, teardown: Teardown, order: Sequence[Placed], found: Found, sizes: Sizes) -> None:
        self.tree, self.found, self.sizes = tree, found, sizes
        self.items = teardown.items
        self.positions = {placed.bin.step: position for position, placed in enumerate(order)}

    def of(self, place: PartPlace, need: Need) -> Iterator[Use]:
        """Yield the uses of one place: all its pieces under some ways, a few of them under others."""
        if self.tree.is_its_parts(place.part):
            return
        full = need.own | need.pulled
        own = None if need.reason == "one_time" and need.by else need.reason
        reason: Reason = own or (need.by[0][1] if need.by else "size")
        causes = () if own else tuple(dict.fromkeys(self.name(cause) for cause, _ in need.by))
        if full:
            yield from self._sized(place, full, place.pieces, reason, causes)
        if some := need.some & ~full:
            yield from self._sized(place, some, self.found[place.ordinal].pieces, reason, causes)
        if place.ordinal in self.sizes and (rest := place.there & ~need.ways):
            yield from self._sized(place, rest, None, "size", ())

    def _sized(
        self, place: PartPlace, ways: int, pieces: int | None, reason: Reason, causes: tuple[str, ...]
    ) -> Iterator[Use]:
        """Yield a use for each size; one without a size where none is chosen."""
        profile, part = self.tree.profile, place.part
        series = profile.series.get(part.series or "")
        step, position = self.blocks(place)
        pairs = [other for other in self.tree.pairs.get(place.ordinal, ()) if other.there & ways]
        for size, count in self._counted(place, pieces).items():
            unsized = series is not None and size is None
            yield Use(
                item=self.items[place.ordinal],
                name=self.name(place),
                number=None if unsized else order_number(profile, part, size),
                pieces=count,
                reason=reason,
                causes=causes,
                size=size,
                unsized=unsized,
                pairs=tuple(dict.fromkeys(map(self.name, pairs))),
                step=step,
                position=position,
                ways=ways,
            )

    def _counted(self, place: PartPlace, pieces: int | None) -> Mapping[Quantity | None, int | None]:
        """Return the pieces by size."""
        chosen, part = self.sizes.get(place.ordinal, ()), place.part
        if not chosen:
            return {None: pieces}
        series = self.tree.profile.series.get(part.series or "")
        if series is None:
            raise UsageError(f"{part.id} has no graded sizes: it belongs to no series of the profile")
        known = {size.mm: size for size in series.listed()}
        for size in chosen:
            if size not in known:
                raise UsageError(f"{part.id}: found {size} mm; {allowed_text(str(size), map(str, known.values()))}")
        return {known[chosen[0]]: pieces or 1} if len(chosen) == 1 else Counter(known[size] for size in chosen)

    def name(self, place: PartPlace) -> str:
        """Return a place's name, saying which copy it is."""
        item = self.items[place.ordinal]
        if isinstance(item, Bin):
            return item.name
        copies = self.tree.by_id[place.part.id]
        return place.part.name + (f" ({copies.index(place) + 1} of {len(copies)})" if len(copies) > 1 else "")

    def blocks(self, place: PartPlace) -> tuple[str | None, int]:
        """Return the first step that cannot be done without a part, and its position in the order of assembly.

        A captured part has no step: it goes in before what captures it and before its sub-assembly is built.
        """
        item = self.items[place.ordinal]
        if isinstance(item, Bin):
            return item.step, self.positions[item.step]
        outer = [self.items[captor.ordinal] for captor in self.tree.captors(place)]
        steps = [each.step for each in outer if isinstance(each, Bin)] + [item.parent] * bool(item.parent)
        found = [(self.positions[step], step) for step in steps if step is not None]
        position, first = min(found, default=(len(self.positions), None))
        return first, position

    def notes(self, needs: Mapping[int, Need]) -> Iterator[str]:
        """Yield what the profile leaves open about the sub-assemblies that are needed."""
        inner = {place.above[-1] for place in self.tree.places if place.there and place.above}
        for place in (place for place in self.tree.places if place in inner and place.ordinal in needs):
            if self.tree.is_its_parts(place.part):
                told = _("{part} has no order number of its own: its parts are ordered in its place")
                yield told.format(part=self.name(place))
            else:
                number = f" ({place.part.number})" if place.part.number else ""
                told = _("{part}: whether its parts come with it is not recorded; they are not counted")
                yield told.format(part=f"{self.name(place)}{number}")
