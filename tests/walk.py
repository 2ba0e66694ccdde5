"""A job that is worked through in memory: acts by part, judged by the gate, recorded as the store would."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from labelkit.calc.allowed import Assembly
from labelkit.calc.gate import Ruling, judge
from labelkit.calc.record import Record, record_of
from labelkit.calc.refusals import refusals
from labelkit.calc.steps import Bin
from labelkit.load.profile import LoadedProfile
from labelkit.model.act import Gated
from labelkit.model.events import Entry, Event, act_of
from tests.shop import demo, view_of

START = datetime(2026, 3, 2, 7, 30, tzinfo=UTC)


class Walk:
    """A job on a profile.

    Args:
        unit: a shipped one by its name, or one that a test wrote.
        options: choices that are not the defaults.
        who: does everything that no one else is named for.
    """

    def __init__(self, unit: str | LoadedProfile, options: Mapping[str, str] | None = None, who: str = "Ana") -> None:
        self.view = view_of(demo(unit) if isinstance(unit, str) else unit, options)
        self.who = who
        self.events: list[Event] = []

    def choose(self, **options: str) -> None:
        """Set options of the job, as its owner does after a look at the unit."""
        job = replace(self.view.job, options={**self.view.job.options, **options})
        self.view = type(self.view)(job, self.view.profile, self.view.secret)

    @property
    def record(self) -> Record:
        return record_of(self.view.profile, self.view.teardown, self.view.order, self.events)

    def bin(self, part: str, copy: int = 1) -> Bin:
        return self.view.teardown.of(part)[copy - 1]

    def place(self, part: str) -> int:
        """Return the ordinal of a part, also of a captured one."""
        found = [each for each in self.view.teardown.items.values() if each.part.id == part]
        return found[0].ordinal

    def ask(self, kind: str, part: str | None = None, *, who: str | None = None, **fields: Any) -> Ruling:
        """Return what the gate says to an act, with all cautions ticked unless `ticked` says otherwise."""
        place = None if part is None else self.place(part)
        act = act_of({"kind": kind, **fields})
        ruling = judge(Assembly(self.record), act, place, who or self.who)
        if isinstance(act, Gated) and "ticked" not in fields and ruling.unticked:
            return self.ask(kind, part, who=who, **fields, ticked=ruling.unticked)
        return ruling

    def refused(self, kind: str, part: str, **fields: Any) -> str:
        """Return all that stands against an act of a part, not only the weightiest."""
        act = act_of({"kind": kind, **fields})
        assert isinstance(act, Gated)
        return "\n".join(refusals(Assembly(self.record), act, self.place(part), ()))

    def do(self, kind: str, part: str | None = None, *, who: str | None = None, **fields: Any) -> Event:
        """Record an act whatever the gate would say."""
        number = len(self.events) + 1
        place = None if part is None else self.place(part)
        when = START + timedelta(minutes=number)
        entry = Entry(act_of({"kind": kind, **fields}), who or self.who, when, f"token-{number:06}", place)
        event = Event(1, number, entry.act, entry.who, entry.when, entry.token, entry.place)
        self.events.append(event)
        return event

    def allowed(self, kind: str, part: str | None = None, **fields: Any) -> Event:
        """Record an act that the gate must allow."""
        ruling = self.ask(kind, part, **fields)
        assert ruling.allowed, ruling
        return self.do(kind, part, **fields)

    def take_apart(self, *, but: tuple[str, ...] = (), until: str | None = None) -> None:
        """Record that everything came out and was counted, in removal order, but for some parts."""
        for each in self.view.teardown.bins:
            if each.part.id == until:
                return
            if each.part.id not in but and not each.doubtful:
                count = each.part.qty if each.part.qty != "set" else 1
                self.do("removed", each.part.id, count=count)

    def put_in(self, *parts: str, new: bool = False) -> None:
        """Record that parts were installed, tightened and verified, whatever the gate would say."""
        for part in parts:
            self.do("installed", part, new=new)
            if self.bin(part).part.fasten:
                self.do("torque_signed", part)
            self.do("verified", part)

    def put_in_until(self, part: str) -> None:
        """Record that everything before a part in the order of assembly is in."""
        for placed in self.view.order:
            if placed.bin.part.id == part:
                return
            if not placed.bin.doubtful:
                self.put_in(placed.bin.part.id)
