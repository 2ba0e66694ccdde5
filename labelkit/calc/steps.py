"""The removal order of one job: which parts are there, their steps, and what stays inside."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from labelkit.errors import UsageError, allowed_text
from labelkit.language import gettext as _
from labelkit.model.part import Part, wanted_choices
from labelkit.model.profile import Profile

Chosen = Mapping[str, str | None]


@dataclass(frozen=True, slots=True)
class Bin:
    """One part in the removal order of a job, with its own labelled bin.

    Attributes:
        step: `7`, or `7.2` for a part of the sub-assembly of step 7.
        part: the entry of the profile.
        ordinal: its number among all places of the profile whatever the options; codes are made from it.
        parent: the step of its sub-assembly, None at the top.
        copy: which one it is of a sub-assembly that is there several times, from 1.
        copies: how many times that sub-assembly is there.
        doubtful: it is there only under an option that is still open.
    """

    step: str
    part: Part
    ordinal: int
    parent: str | None
    copy: int
    copies: int
    doubtful: bool

    @property
    def name(self) -> str:
        """The part's name, saying which copy it is."""
        copy = _("{copy} of {copies}").format(copy=self.copy, copies=self.copies) if self.copies > 1 else ""
        return f"{self.part.name} ({copy})" if copy else self.part.name

    @property
    def full_name(self) -> str:
        """Step and name, as `22.1 Planet gear`."""
        return f"{self.step} {self.name}"

    @property
    def step_words(self) -> str:
        """Its step, with a question mark where an open option decides whether it is there."""
        return self.step + "?" * self.doubtful


@dataclass(frozen=True, slots=True)
class Inside:
    """A part that stays inside another and has no bin.

    Attributes:
        part: the entry of the profile.
        behind: id of the part it is captured by.
        parent: the step whose bin it stays in.
        ordinal: as for a bin.
        copy: likewise.
    """

    part: Part
    behind: str
    parent: str | None
    ordinal: int
    copy: int

    @property
    def name(self) -> str:
        """The part's name."""
        return self.part.name

    @property
    def full_name(self) -> str:
        """Its name; it has no step."""
        return self.name


@dataclass(frozen=True, eq=False)
class Teardown:
    """The removal order of one job.

    Attributes:
        bins: in removal order, sub-assemblies before their parts.
        inside: captured parts.
        chosen: the options it is for.
    """

    bins: tuple[Bin, ...]
    inside: tuple[Inside, ...]
    chosen: Chosen

    @cached_property
    def items(self) -> Mapping[int, Bin | Inside]:
        """Every part by its ordinal, in removal order, captured parts last."""
        everything: list[Bin | Inside] = [*self.bins, *self.inside]
        return {each.ordinal: each for each in everything}

    @cached_property
    def places(self) -> Mapping[str, int]:
        """Place in the removal order, from 0, by step."""
        return {each.step: place for place, each in enumerate(self.bins)}

    @cached_property
    def _of_part(self) -> Mapping[str, tuple[Bin, ...]]:
        found: dict[str, tuple[Bin, ...]] = {}
        for each in self.bins:
            found[each.part.id] = (*found.get(each.part.id, ()), each)
        return found

    def at(self, step: str) -> Bin:
        """Return the bin of a step; KeyError when there is none."""
        return self.bins[self.places[step]]

    def of(self, *parts: str) -> tuple[Bin, ...]:
        """Return the bins of part ids, one for each copy; what has none is left out."""
        return tuple(each for part in parts for each in self._of_part.get(part, ()))

    def step_holding(self, captured: Inside) -> str:
        """Return the step of the bin in which a captured part stays; empty when none has one.

        It comes out with the part it lies on or with its sub-assembly, whichever has a bin.
        """
        part = captured.part
        sat_on = part.sits.on if part.sits else None
        together = part.out.together if part.out else None
        for found in self.of(*filter(None, (together, sat_on))):
            if found.copies == 1 or found.copy == captured.copy:
                return found.step
        return captured.parent or ""

    def undecided(self, each: Bin | Inside) -> dict[str, tuple[str, ...]]:
        """Return the open options that decide whether a part is there, or what it is inside: the choices that want it.

        Empty where nothing is open about it.
        """
        found: dict[str, tuple[str, ...]] = {}
        inner: Bin | Inside | None = each
        while inner is not None:
            for group, wanted in inner.part.only.items():
                if self.chosen.get(group) is None:
                    known = found.get(group, wanted_choices(wanted))
                    found[group] = tuple(choice for choice in known if choice in wanted_choices(wanted))
            inner = self.at(inner.parent) if inner.parent is not None else None
        return found


def choose(profile: Profile, wanted: Mapping[str, str]) -> dict[str, str | None]:
    """Return the choice of every option group: what is wanted, else the default, else None (open).

    Raises:
        UsageError: no such group or choice.
    """
    for group, choice in wanted.items():
        if group not in profile.options:
            raise UsageError(f"there is no option {group}; {allowed_text(group, profile.options)}")
        choices = profile.options[group].choices
        if choice not in choices:
            raise UsageError(f"option {group}: found {choice}; {allowed_text(choice, choices)}")
    return {group: wanted.get(group, option.default) for group, option in profile.options.items()}


def teardown(profile: Profile, chosen: Chosen, numbering: Chosen | None = None) -> Teardown:
    """Return the removal order under these options; parts of an open option are there and doubtful.

    Args:
        profile: of the unit.
        chosen: the options.
        numbering: the options of the first print, by which steps are numbered: a part that has dropped out since
            leaves its number out, and every other part keeps its own.
    """
    walker = _Walker(chosen, chosen if numbering is None else numbering)
    walker.visit(profile.parts, _TOP)
    return Teardown(tuple(walker.bins), tuple(walker.inside), dict(chosen))


@dataclass(frozen=True, slots=True)
class _Level:
    """Where parts are.

    Attributes:
        there: whether their sub-assembly is; False only counts ordinals.
        numbered: whether they take numbers.
    """

    parent: str | None
    there: bool | None
    numbered: bool
    copy: int
    copies: int
    behind: str | None


_TOP: Final = _Level(parent=None, there=True, numbered=True, copy=1, copies=1, behind=None)


class _Walker:
    def __init__(self, chosen: Chosen, numbering: Chosen) -> None:
        self.chosen, self.numbering = dict(chosen), dict(numbering)
        self.bins: list[Bin] = []
        self.inside: list[Inside] = []
        self.ordinal = 0

    def visit(self, parts: tuple[Part, ...], level: _Level) -> None:
        """Number the parts of one level."""
        numbers = iter(self._numbers(parts, level))
        for part in parts:
            there = _both(level.there, part.matches(self.chosen))
            behind = _behind(part, level)
            numbered = level.numbered and (there is not False or part.matches(self.numbering) is not False)
            for turn in range(1, part.used + 1):
                copy, copies = (turn, part.used) if part.used > 1 else (level.copy, level.copies)
                step = level.parent
                if numbered and behind is None:
                    step = f"{level.parent}.{next(numbers)}" if level.parent else str(next(numbers))
                self._note(part, _Level(step, there, numbered, copy, copies, behind), level.parent)

    def _numbers(self, parts: tuple[Part, ...], level: _Level) -> Iterator[int]:
        """Yield the number of every part that takes one: copies each their own, in the order of the profile.

        What a choice made later brings in takes the number of what it puts out beside it, the springs of one kind that
        of the springs of the other, so that nothing after them is numbered anew.
        """
        number = 0
        freed: list[int] = []  # of parts put out, since the last that stays
        brought: list[int] = []  # of parts brought in, likewise
        for part in parts:
            there = _both(level.there, part.matches(self.chosen)) is not False
            before = part.matches(self.numbering) is not False
            if not level.numbered or not (there or before) or _behind(part, level):
                continue
            if there and before:
                freed, brought = [], []
            spare, own = (brought, freed) if before and not there else (freed, brought)
            for _turn in range(part.used):
                if there != before and spare:
                    yield spare.pop(0)
                    continue
                number += 1
                if there != before:
                    own.append(number)
                yield number

    def _note(self, part: Part, level: _Level, parent: str | None) -> None:
        """Note one copy of a part, then its parts. `level` is theirs."""
        ordinal, self.ordinal = self.ordinal, self.ordinal + 1
        if level.there is not False:
            if level.behind is not None:
                self.inside.append(Inside(part, level.behind, parent, ordinal, level.copy))
            elif level.parent is not None:
                doubtful = level.there is None
                self.bins.append(Bin(level.parent, part, ordinal, parent, level.copy, level.copies, doubtful))
        self.visit(part.parts, level)


def _behind(part: Part, level: _Level) -> str | None:
    """Return what captures a part; what belongs to a captured part cannot be got at either."""
    return level.behind or (str(part.held.part) if part.held and part.captured else None)


def _both(one: bool | None, other: bool | None) -> bool | None:
    if one is False or other is False:
        return False
    return None if one is None or other is None else True


def places(profile: Profile) -> int:
    """Return how many places the profile has, copies counted, whatever the options."""
    walker = _Walker(dict.fromkeys(profile.options), {})
    walker.visit(profile.parts, _TOP)
    return walker.ordinal


def condition(profile: Profile, teardown: Teardown, each: Bin | Inside) -> str:
    """Return with which choices of the open options a part is there: `Output end = Flange shaft`; empty when always."""
    return choice_words(profile, teardown.undecided(each))


def choice_words(profile: Profile, choices: Mapping[str, tuple[str, ...]]) -> str:
    """Return choices of options in words, as `condition` does."""
    texts = []
    for group, wanted in choices.items():
        option = profile.options[group]
        names = _(" or ").join(option.choices[choice] for choice in wanted)
        texts.append(f"{option.name} = {names}")
    return ", ".join(texts)


def options_told(profile: Profile, chosen: Mapping[str, str | None]) -> tuple[str, ...]:
    """Return each option of a job in words, in their order: `Output end: Flange shaft`, `Breather: still open`."""
    open_one = _("still open")
    options = ((option, chosen[group]) for group, option in profile.options.items() if group in chosen)
    return tuple(f"{option.name}: {option.choices[choice] if choice else open_one}" for option, choice in options)


def select_steps(bins: tuple[Bin, ...], wanted: str) -> tuple[Bin, ...]:
    """Return the bins that a text like `5-9,12,7.1` names, in removal order; a step brings its parts.

    Raises:
        UsageError: not such a text, or a step that does not exist.
    """
    known = dict.fromkeys(each.step for each in bins)
    items = [item for item in map(str.strip, wanted.split(",")) if item]
    if not items:
        raise UsageError(f'steps "{wanted}" names no step; {_known_steps(list(known))}; write them as 5-9,12')
    kept: set[str] = set()
    for item in items:
        first, dash, last = (piece.strip() for piece in item.partition("-"))
        for step in (first, last) if dash else (first,):
            if step not in known:
                raise UsageError(f'steps "{wanted}": there is no step "{step}"; {_known_steps(list(known))}')
        if dash:
            if "." in item or int(first) > int(last):
                meant = "" if "." in item else f"; did you mean {last}-{first}?"
                told = f"the range {item} is not from a lower to a higher whole step{meant}"
                raise UsageError(f'steps "{wanted}": {told}')
            kept.update(str(step) for step in range(int(first), int(last) + 1))
        else:
            kept.add(first)
    return tuple(each for each in bins if _within(each.step, kept))


def _known_steps(known: list[str]) -> str:
    tops = [step for step in known if "." not in step]
    inner = next((step for step in known if "." in step), None)
    if not tops:
        return "allowed: nothing"
    return f"allowed: {tops[0]} to {tops[-1]}" + (f", and steps inside one, as {inner}" if inner else "")


def _within(step: str, kept: set[str]) -> bool:
    while step:
        if step in kept:
            return True
        step = step.rpartition(".")[0]
    return False
