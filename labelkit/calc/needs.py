"""The order of one job: a line for each number, in packs, less what is on the shelf.

need = sum over every place in the tree of the product of the counts down to it, where there is a reason to renew;
packs = (need - shelf) / pack, rounded up (common practice, no source).
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final, TypeVar, get_args

from labelkit.calc.assembly import Placed
from labelkit.calc.pulling import Choices, Finding, Found, Verdict
from labelkit.calc.renewal import Sizes, Use, renewal
from labelkit.calc.steps import Bin, Inside, Teardown
from labelkit.errors import UsageError, allowed_text
from labelkit.language import gettext as _
from labelkit.model.catalogue import NO_CATALOGUE, Catalogue, CatalogueEntry, Money, order_number, total
from labelkit.model.profile import Profile

T = TypeVar("T")

_VERDICTS: Final[tuple[Verdict, ...]] = get_args(Verdict)


@dataclass(frozen=True, slots=True)
class Way:
    """What one line comes to under some choices of open options.

    Attributes:
        when: the choices; empty: whatever they are.
        need: pieces.
        short: pieces that are neither on the shelf nor coming.
        packs: to order; None: the number is not known before the size is chosen.
        spare: pieces of these packs that are left over.
        cost: of the packs; None where there is no price.
    """

    when: Choices
    need: int
    short: int
    packs: int | None
    spare: int
    cost: Money | None


@dataclass(frozen=True, slots=True)
class Line:
    """One order number with every place that needs it.

    Attributes:
        number: the order number; None: not recorded, or the size is chosen later.
        name: the counter's own, else what the profile's names of its uses share.
        uses: in the order of assembly.
        entry: what the catalogue says of the number.
        pack: pieces in a pack: by the catalogue, else the profile, else 1.
        shelf: pieces on the shelf.
        sizes: of a graded part whose size is chosen later: size and number of each.
        ways: one, or one for each choice of the open options it depends on; empty when no use has a fixed count.
        notes: what to ask before ordering.
    """

    number: str | None
    name: str
    uses: tuple[Use, ...]
    entry: CatalogueEntry | None
    pack: int
    shelf: int
    sizes: tuple[tuple[str, str | None], ...]
    ways: tuple[Way, ...]
    notes: tuple[str, ...]

    @property
    def as_needed(self) -> bool:
        """Whether a use has no fixed count; the ways count the others."""
        return any(use.pieces is None for use in self.uses)


@dataclass(frozen=True, slots=True)
class Total:
    """What the order costs under some choices of open options, and its lines of which nobody can say."""

    when: Choices
    cost: Money | None
    unpriced: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Needs:
    """The order of one job.

    Attributes:
        lines: by the first step in the order of assembly that needs them.
        totals: one, or one for each choice of the open options on which the cost depends.
        ways: every way of choosing the open options on which anything depends.
        unjudged: what is renewed if worn, or nobody knows when, and nobody has judged: the order is not final.
        notes: what the profile leaves open.
    """

    lines: tuple[Line, ...]
    totals: tuple[Total, ...]
    ways: tuple[Choices, ...]
    unjudged: tuple[Bin | Inside, ...]
    notes: tuple[str, ...]

    @property
    def uses(self) -> tuple[Use, ...]:
        """All uses of all lines, in the order of assembly."""
        uses = itertools.chain(*(line.uses for line in self.lines))
        return tuple(sorted(uses, key=lambda use: (use.position, use.item.ordinal)))

    @property
    def shelf(self) -> dict[str, int]:
        """Pieces on the shelf by number, of the numbers in the order."""
        return {line.number: line.shelf for line in self.lines if line.number is not None}

    def when(self, use: Use) -> tuple[Choices, ...]:
        """Return the choices of open options under which a use is there; empty: whatever they are."""
        there = [bool(use.ways >> bit & 1) for bit in range(len(self.ways))]
        return () if all(there) else tuple(choices for choices, flag in reduced(self.ways, there) if flag)


def findings(profile: Profile, teardown: Teardown, verdicts: Mapping[str, Verdict | Finding]) -> dict[int, Finding]:
    """Return verdicts by the ordinal of their place.

    Args:
        profile: of the unit.
        teardown: of the job.
        verdicts: by step (`7.2`), by part id, or by part id and copy (`seal/2`) where it is there several times.

    Raises:
        UsageError: no such place, several of them, no such verdict, or two for one place.
    """
    found: dict[int, Finding] = {}
    for name, verdict in verdicts.items():
        item = _item(profile, teardown, name)
        finding = verdict if isinstance(verdict, Finding) else Finding(verdict)
        if finding.verdict not in _VERDICTS:
            raise UsageError(f'{name}: found "{finding.verdict}"; {allowed_text(finding.verdict, _VERDICTS)}')
        if found.setdefault(item.ordinal, finding) != finding:
            raise UsageError(f"{name}: {item.part.name} has two verdicts; keep one")
    return found


def _item(profile: Profile, teardown: Teardown, name: str) -> Bin | Inside:
    """Return what a step, a part id or an id with its copy names."""
    part, slash, copy = name.partition("/")
    copies = [each for _ordinal, each in sorted(teardown.items.items()) if each.part.id == part]
    named = [each for turn, each in enumerate(copies, 1) if not slash or copy == str(turn)]
    named += [teardown.at(name)] if name in teardown.places else []
    if len(named) == 1:
        return named[0]
    if not copies and any(each.id == part for _, each in profile.walk()):
        raise UsageError(f'"{name}": the unit has none of it under the options of this job')
    known = [f"{part}/{turn}" for turn in range(1, len(copies) + 1)]
    known = known or [*teardown.places, *dict.fromkeys(each.part.id for each in teardown.items.values())]
    problem = f"names {len(named)} places" if named else "there is no such step or part"
    raise UsageError(f'"{name}": {problem}; {allowed_text(name, known, most=6)}')


def reduced(ways: Sequence[Choices], values: Sequence[T]) -> tuple[tuple[Choices, T], ...]:
    """Return values, one for each way, with no more choices than they depend on.

    >>> ways = [(("a", x), ("b", y)) for x in "12" for y in "12"]
    >>> reduced(ways, [5, 6, 5, 6])
    (((('b', '1'),), 5), ((('b', '2'),), 6))
    >>> reduced(ways, [5, 5, 5, 5])
    (((), 5),)
    """
    if all(value == values[0] for value in values):
        return (((), values[0]),)
    asked = [group for group, _ in ways[0] if _matters(group, ways, values)]
    found: dict[Choices, T] = {}
    for way, value in zip(ways, values, strict=True):
        found.setdefault(tuple(choice for choice in way if choice[0] in asked), value)
    return tuple(found.items())


def _matters(group: str, ways: Sequence[Choices], values: Sequence[object]) -> bool:
    seen: dict[Choices, object] = {}
    others = [tuple(choice for choice in way if choice[0] != group) for way in ways]
    return any(seen.setdefault(rest, value) != value for rest, value in zip(others, values, strict=True))


def roll_up(
    profile: Profile,
    teardown: Teardown,
    order: Sequence[Placed],
    *,
    found: Found | None = None,
    sizes: Sizes | None = None,
    catalogue: Catalogue = NO_CATALOGUE,
    supplied: Callable[[Line], int] | None = None,
) -> Needs:
    """Return everything that must be new, as an order.

    Args:
        profile: of the unit.
        teardown: its parts under the job's options; captured ones count.
        order: the order of assembly.
        found: what the inspection found, by ordinal (see `findings`).
        sizes: chosen sizes of graded parts that are to be new, mm, by ordinal.
        catalogue: packs, prices and the shelf.
        supplied: gives the pieces of a line, whose ways are not known yet, that are ordered for this job or have come.

    Raises:
        UsageError: too many options are open, more pieces are found than are there, or a size is none of the part's.
    """
    new = renewal(profile, teardown, order, found or {}, sizes or {})
    by_key: dict[tuple[str, str], list[Use]] = {}
    for use in new.uses:
        by_key.setdefault(_key(use), []).append(use)
    lines, counted = [], []
    for uses in by_key.values():
        line = _line(profile, uses, catalogue)
        here = line.shelf + (supplied(line) if supplied else 0)
        ways = [_way(line, _count(uses, bit), here) for bit in range(len(new.ways))]
        counted.append((line, ways))
        told = reduced(new.ways, ways) if any(use.pieces is not None for use in uses) else ()
        lines.append(replace(line, ways=tuple(replace(way, when=when) for when, way in told)))
    sums = [_sum(counted, bit, catalogue.currency) for bit in range(len(new.ways))]
    totals = tuple(Total(when, *each) for when, each in reduced(new.ways, sums))
    return Needs(tuple(lines), totals, new.ways, new.unjudged, new.notes)


def _key(use: Use) -> tuple[str, str]:
    """Return what makes two uses one line: the number, or what stands for it."""
    if use.unsized:
        return "series", str(use.part.series)
    return ("number", use.number) if use.number is not None else ("part", f"{use.part.id} {use.size or ''}")


def _count(uses: Iterable[Use], bit: int) -> int:
    return sum(use.pieces or 0 for use in uses if use.ways >> bit & 1)


def _line(profile: Profile, uses: Sequence[Use], catalogue: Catalogue) -> Line:
    """Return a line without its ways."""
    first = uses[0]
    number, entry = first.number, catalogue.get(first.number)
    packs = sorted({use.part.pack for use in uses if use.part.pack})
    notes = []
    pack = (entry.pack if entry else None) or min(packs, default=1)
    if packs and packs != [pack]:
        told = _("the profile says packs of {sizes}; counted in packs of {pack}")
        notes.append(told.format(sizes=_(" and ").join(map(str, packs)), pack=pack))
    if entry and entry.price and not entry.pack and pack > 1:
        notes.append(_("the catalogue does not say what its price buys: a pack of {pack} is taken").format(pack=pack))
    if number is None and not first.unsized:
        notes.append(_("the order number is not recorded"))
    elif number is not None and catalogue.entries and entry is None:
        near = catalogue.near(number)
        told = _("not in the catalogue; it has {near}: the same?") if near else _("not in the catalogue")
        notes.append(told.format(near=near))
    size = f", {first.size}" if first.size else ""
    listed = profile.series[str(first.part.series)].listed() if first.unsized else ()
    return Line(
        number=number,
        name=entry.name if entry and entry.name else _shared_name([use.part.name for use in uses]) + size,
        uses=tuple(uses),
        entry=entry,
        pack=pack,
        shelf=(entry.shelf if entry else None) or 0,
        sizes=tuple((str(each), order_number(profile, first.part, each)) for each in listed),
        ways=(),
        notes=tuple(notes),
    )


def _shared_name(names: Iterable[str]) -> str:
    """Return one name for what several places call by theirs: what they share before a bracket or comma, else all.

    >>> _shared_name(["Steel disc 1.80 mm (ahead)", "Steel disc 1.80 mm (astern)"])
    'Steel disc 1.80 mm'
    >>> _shared_name(["Shims behind the ahead cup", "Shims behind the astern cup"])
    'Shims behind the ahead cup / Shims behind the astern cup'
    """
    several = list(dict.fromkeys(names))
    if len(several) == 1:
        return several[0]
    words = [name.split(" ") for name in several]
    columns = itertools.takewhile(lambda column: len(set(column)) == 1, zip(*words, strict=False))
    alike = [column[0] for column in columns]
    rest = [each[len(alike) :] for each in words]
    if alike and (alike[-1].endswith(",") or all(not each or each[0].startswith("(") for each in rest)):
        return " ".join(alike).rstrip(",")
    return " / ".join(several)


def _way(line: Line, need: int, here: int) -> Way:
    """Return what a line comes to for so many pieces, of which so many are here or coming."""
    short = max(need - here, 0)
    if line.sizes:
        return Way((), need, short, None if short else 0, 0, None)
    packs = -(-short // line.pack)
    price = line.entry.price if line.entry else None
    return Way((), need, short, packs, packs * line.pack - short, price * packs if price else None)


def _sum(
    counted: Iterable[tuple[Line, list[Way]]], bit: int, currency: str | None
) -> tuple[Money | None, tuple[str, ...]]:
    """Return what all lines cost under one way, None if nothing is priced, and the names of those of which nobody can
    say."""
    costs: list[Money] = []
    unknown: list[str] = []
    for line, way in ((line, ways[bit]) for line, ways in counted):
        costs += [way.cost] if way.cost else []
        open_count = any(use.pieces is None for use in line.uses if use.ways >> bit & 1)
        if open_count or (way.need and (way.packs is None or (way.packs and way.cost is None))):
            unknown.append(line.name)
    if not costs and not unknown and currency:
        costs = [Money(Decimal(0), currency)]  # there is nothing to buy
    return total(costs), tuple(unknown)
