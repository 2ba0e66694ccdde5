"""A job as the sheets see it: profile, removal order, assembly order and codes together, worked out once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Final

from labelkit.calc.assembly import FailingPair, Placed, Within, assembly_order, failing_pairs
from labelkit.calc.codes import BLOCK_SIZE, make_code
from labelkit.calc.record import Record, record_of
from labelkit.calc.steps import Bin, Inside, Teardown, options_told, teardown
from labelkit.calc.trays import TrayPlan, lay_out, narrowed
from labelkit.language import gettext as _
from labelkit.load.stock import all_stock
from labelkit.model.events import Event
from labelkit.model.job import Job
from labelkit.model.laying import TrayKind
from labelkit.model.part import Part
from labelkit.model.profile import Profile
from labelkit.model.stock import Tray
from labelkit.sheets import wording
from labelkit.sheets.seen import as_seen

# Each place of the profile has two codes: the bin of the part that came out, and the new part that replaces it.
CODES_PER_PLACE: Final = 2


@dataclass(frozen=True)
class JobView:
    """Everything about one job that a sheet, a card or the manifest asks for.

    Attributes:
        job: the job.
        profile: the model of the job's own snapshot.
        secret: the store's key.
        alike: another job of the same profile with the same options and trays, whose orders and trays are this one's,
            too; None: they are worked out here.
        seen: parts with how they were seen to sit, where their profile does not say, by the ordinal of their place.
    """

    job: Job
    profile: Profile
    secret: bytes
    alike: JobView | None = field(default=None, repr=False, compare=False)
    seen: Mapping[int, Part] = field(default_factory=dict, repr=False, compare=False)

    @cached_property
    def state(self) -> str:
        """Everything of the job that may change while a unit is in pieces; another text when any of it has changed."""
        return f"{self.job!r} {self.job.sha256}"

    @cached_property
    def teardown(self) -> Teardown:
        """The removal order under the job's options."""
        if self.alike is not None:
            return self.alike.teardown
        removal = teardown(self.profile, self.job.options, self.job.numbering)
        if not self.seen:
            return removal
        bins = (replace(each, part=self.seen.get(each.ordinal, each.part)) for each in removal.bins)
        inside = (replace(each, part=self.seen.get(each.ordinal, each.part)) for each in removal.inside)
        return replace(removal, bins=tuple(bins), inside=tuple(inside))

    @cached_property
    def order(self) -> tuple[Placed, ...]:
        """The order of assembly."""
        return self.alike.order if self.alike is not None else assembly_order(self.profile, self.teardown)

    @cached_property
    def trays(self) -> TrayPlan:
        """Its trays, laid out for the options of the first print: what is chosen later moves nothing."""
        if self.alike is not None:
            return self.alike.trays
        if self.job.options == self.job.numbering:
            return lay_out(self.teardown, self.job.laying, _shelf)
        first = teardown(self.profile, self.job.numbering)
        return narrowed(lay_out(first, self.job.laying, _shelf), self.teardown)

    def record(self, events: Sequence[Event]) -> Record:
        """Return where the job is after these events."""
        return record_of(self.profile, self.teardown, self.order, events)

    def as_seen(self, record: Record) -> JobView:
        """Return the job with how parts were seen to sit where their profile does not say; itself where nobody did."""
        items = ((place.item, as_seen(place)) for place in record.places.values())
        seen = {now.ordinal: now.part for was, now in items if now is not was}
        return replace(self, alike=None, seen=seen) if seen else self

    @cached_property
    def out_of_turn(self) -> tuple[FailingPair, ...]:
        """What does not go in as plain reverse of the removal would have it."""
        return failing_pairs(self.profile, self.teardown)

    def tray_words(self, each: Bin) -> str:
        """Return the place of a bin's things, as `B7`: tray and place; empty when they are on no tray.

        Of a sub-assembly that is opened altogether, the trays of its parts, as `D` or `D-F`.
        """
        if each.step in self.trays.opened:
            return "-".join(self._of_parts(each))
        found = self.trays.places.get(each.step)
        return found[1].name if found else ""

    def place_words(self, each: Bin) -> str:
        """Return where a bin's things lie, in words: `B7 on tray B`, or that they are on no tray."""
        if each.step in self.trays.opened and (trays := self._of_parts(each)):
            told = _("in parts on tray {first}") if len(trays) == 1 else _("in parts on trays {first} to {last}")
            return told.format(first=trays[0], last=trays[-1])
        found = self.trays.places.get(each.step)
        if not found:
            return _("on no tray")
        return _("{place} on tray {tray}").format(place=found[1].name, tray=found[0].letter)

    def _of_parts(self, each: Bin) -> tuple[str, ...]:
        """Return the first and the last tray with parts of a sub-assembly, once where they are the same."""
        within = f"{each.step}."
        found = [tray.letter for tray in self.trays.trays if any(p.bin.step.startswith(within) for p in tray.places)]
        return tuple(dict.fromkeys((*found[:1], *found[-1:])))

    @cached_property
    def _by_code(self) -> Mapping[str, Bin]:
        return {self.code(each): each for each in self.teardown.bins}

    @cached_property
    def _by_new_code(self) -> Mapping[str, Bin | Inside]:
        return {self.new_code(each): each for each in self.teardown.items.values()}

    @cached_property
    def placed(self) -> Mapping[str, tuple[int, Placed]]:
        """Place in the order of assembly (from 0) and the entry, by step."""
        if self.alike is not None:
            return self.alike.placed
        return {entry.bin.step: (index, entry) for index, entry in enumerate(self.order)}

    def renewed_first(self, placed: Placed) -> tuple[Within, ...]:
        """Return the captured parts that are in before a bin where renewed, and before nothing else that it needs."""
        told = {each.item.ordinal for need in placed.needs for each in self.placed[need.step][1].within}
        return tuple(each for each in placed.within if each.item.ordinal not in told)

    @cached_property
    def inside(self) -> Mapping[str, tuple[Inside, ...]]:
        """Captured parts by the step of the bin they stay in; empty for the unit itself."""
        if self.alike is not None:
            return self.alike.inside
        found: dict[str, tuple[Inside, ...]] = {}
        for each in self.teardown.inside:
            step = self.teardown.step_holding(each)
            found[step] = (*found.get(step, ()), each)
        return found

    def parts_inside(self, each: Bin | Inside) -> tuple[Part, ...]:
        """Return the entries of what stays inside a bin."""
        return tuple(captured.part for captured in self.inside.get(each.step, ())) if isinstance(each, Bin) else ()

    def code(self, each: Bin) -> str:
        """Return the code of a bin: eleven characters."""
        return make_code(self.secret, self._serial(each))

    def url(self, each: Bin) -> str:
        """Return what a bin's symbol says when a server answers it."""
        return f"{self.job.address}/{self.code(each)}"

    def new_code(self, place: Bin | Inside) -> str:
        """Return the code of the new part that goes where a part was: eleven characters."""
        return make_code(self.secret, self._serial(place) + 1)

    def _serial(self, place: Bin | Inside) -> int:
        """Return the serial of a place's first code; a captured part keeps its own wherever it is moved to."""
        index = self.job.indices[place.ordinal] if self.job.indices else place.ordinal
        return self.job.block * BLOCK_SIZE + index * CODES_PER_PLACE

    def new_url(self, place: Bin | Inside) -> str:
        """Return what the symbol of a new part's sticker says."""
        return f"{self.job.address}/{self.new_code(place)}"

    def new_part(self, code: str) -> Bin | Inside | None:
        """Return the place of the new part whose code this is; None when it is no such code."""
        return self._by_new_code.get(code)

    def bin_of(self, code: str) -> Bin | None:
        """Return the bin of a code, its own or that of its new part; None when the job's options leave no such bin."""
        if found := self._by_code.get(code):
            return found
        new = self.new_part(code)
        return None if new is None else self.bin_holding(new)

    def bin_holding(self, each: Bin | Inside) -> Bin | None:
        """Return the bin on whose card a part stands: a captured one where it stays, else with what captures it."""
        if isinstance(each, Bin):
            return each
        if step := self.teardown.step_holding(each):
            return self.teardown.at(step)
        return next(iter(self.teardown.of(each.behind)), None)

    def option_names(self) -> str:
        """Return the options of this job by their names, in full."""
        return "; ".join(options_told(self.profile, self.job.options))

    def option_words(self) -> str:
        """Return the options of this job in short, in the order of the profile; open ones with a question mark."""
        options = self.profile.options.items()
        return ", ".join(wording.choice_brief(option, self.job.options[group]) for group, option in options)


def _shelf() -> list[TrayKind]:
    """Return the trays that the stock has."""
    return [TrayKind.of(stock) for stock in all_stock().values() if isinstance(stock, Tray)]
