"""What `labelkit scan` writes at a sticker: a new part came, it was measured, it lies ready at its place."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import UTC, datetime
from functools import wraps
from pathlib import Path
from typing import Any, Final

import click

from labelkit.bench.delivery import SIZE, delivery
from labelkit.bench.parts import tray_of
from labelkit.calc.allowed import Assembly
from labelkit.calc.codes import grouped
from labelkit.calc.gate import judge
from labelkit.calc.newsizes import size_named, sizes_of
from labelkit.calc.record import Record
from labelkit.calc.steps import Bin, Inside
from labelkit.calc.supply import Supply, supply
from labelkit.cli.options import a_name
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.load.catalogue import load_catalogue
from labelkit.model.catalogue import NO_CATALOGUE, Catalogue
from labelkit.model.events import ActFaults, Entry, act_of
from labelkit.sheets.actwords import event_words
from labelkit.sheets.jobview import JobView
from labelkit.sheets.lookup import Lookup, read_scan
from labelkit.store.jobs import open_store

_ALL: Final = "all"
_OPTIONS: Final = {
    "pieces": "--received",
    "accept": "--accept",
    "serial": "--serial",
    "sure-serial": "--serial",
    "note": "--serial",
    "source": "--from",
}


@dataclass(frozen=True, slots=True)
class Arrival:
    """What was asked for.

    Attributes:
        received: how many came, `all` that the place gets; None: nothing is said to have come.
        staged: they lie ready.
        measured: sizes as `thickness=2.35`.
        serial: of a matched part.
        accepted: it is the right part although it differs.
        source: `order` or `shelf`: where it is from; None: nobody says.
        catalogue: file of the parts counter, which knows the shelf; None: there is none.
        who: says so.
    """

    received: str | None
    staged: bool
    measured: tuple[str, ...]
    serial: str | None
    accepted: bool
    source: str | None
    catalogue: Path | None
    who: str | None

    @property
    def wanted(self) -> bool:
        """Whether anything is to be written."""
        return self.received is not None or self.staged

    def check(self) -> None:
        """Refuse what belongs together and does not stand together.

        Raises:
            UsageError: no name, or nothing that came.
        """
        if self.wanted and self.who is None:
            raise UsageError("--received and --staged need --by NAME: the record says who did it")
        rest = {
            "--measured": self.measured,
            "--accept": self.accepted,
            "--serial": self.serial,
            "--from": self.source,
            "--catalogue": self.catalogue,
            "--by": self.who,
        }
        if (lonely := [name for name, given in rest.items() if given]) and not self.wanted:
            raise UsageError(f"{lonely[0]}: say what came with --received N, or that it lies ready with --staged")

    def counter(self) -> Catalogue:
        """Read the catalogue; an empty one where no file is named."""
        return NO_CATALOGUE if self.catalogue is None else load_catalogue(self.catalogue).catalogue


def receive(code: str, arrival: Arrival, *, as_json: bool) -> str:
    """Write what came at a sticker, all of it or nothing, and return it in words.

    Args:
        code: of the sticker, as for `Lookup.find`.
        arrival: what was asked for.
        as_json: as the events of the record.

    Raises:
        UsageError: not a sticker, wrong figures, or a part that differs and was not accepted.
    """
    with open_store(create=False) as store:
        view, found = Lookup(store).find(code)
        new = view.new_part(read_scan(code))
        if new is None:
            raise UsageError(
                f"{code}: this is the label of the bin of {found.name}; scan the sticker of the new part, "
                f"{grouped(view.new_code(found))}"
            )
        number = view.job.number
        record = view.record(store.journal.events(number))
        came = delivery(record, new.ordinal, _form(record, new, arrival), arrival.counter())
        if came.faults:
            raise _wrong(came.faults)
        stem, now = uuid.uuid4().hex, datetime.now(UTC)
        try:
            acts = [act_of({name: value for name, value in act.items() if value}) for act in came.acts]
        except ActFaults as error:
            raise _wrong(error.faults) from error
        entries = [Entry(act, arrival.who or "", now, f"{stem}.{k}", new.ordinal) for k, act in enumerate(acts)]
        assembly = Assembly(record)
        for entry in entries:
            if refusal := judge(assembly, entry.act, new.ordinal, entry.who).refusal:
                raise UsageError(refusal)
        kept = [each.event for each in store.journal.append(number, entries)]
        if as_json:
            return "\n".join(json.dumps({"job": number, **event.data()}, ensure_ascii=False) for event in kept)
        told = _("event {number}: {words}")
        words = [
            told.format(number=event.number, words=event_words(event, view.profile, view.teardown)) for event in kept
        ]
        after = view.record(store.journal.events(number))
    return "\n".join(
        (_("Job {number}").format(number=number), *words, *came.tells, *_standing(view, supply(after), new))
    )


def _form(record: Record, new: Bin | Inside, arrival: Arrival) -> dict[str, str]:
    """Return what was asked for as the page of a sticker would send it."""
    what = "both" if arrival.received is not None and arrival.staged else "received"
    form = {"do": what if arrival.received is not None else "staged", "accept": "yes" if arrival.accepted else ""}
    form |= {"serial": arrival.serial or "", "source": arrival.source or ""}
    form["sure-serial"] = form["serial"] if arrival.accepted else ""
    at = supply(record).awaited(new.ordinal)
    wanted = at.wanted or record.at(new.ordinal).expected or 1
    usual = max(wanted - at.came, 1) if arrival.received is not None else at.to_lay or wanted
    form["pieces"] = str(usual) if arrival.received in (None, _ALL) else str(arrival.received)
    sizes = sizes_of(record, new.ordinal)
    for text in arrival.measured:
        name, equals, figures = text.partition("=")
        if not equals or not figures.strip():
            raise UsageError(f'--measured "{text}": allowed: SIZE=FIGURE, as thickness=2.35')
        form[f"{SIZE}{size_named(sizes, name.strip()).name}"] = figures
    return form


def _wrong(faults: Mapping[str, str]) -> UsageError:
    """Return what is wrong with fields of the page of a sticker, by the options that gave them."""
    named = {name: "--measured" if name.startswith(SIZE) else _OPTIONS.get(name, name) for name in faults}
    return UsageError("\n".join(f"{named[name]}: {text}" for name, text in faults.items()))


def _standing(view: JobView, found: Supply, new: Bin | Inside) -> Iterator[str]:
    """Yield how far the place and its tray are."""
    at = found.awaited(new.ordinal)
    if at.held:
        yield _("ON HOLD")
    elif at.wanted:
        yield _("{count} of {total} ready").format(count=at.laid, total=at.wanted)
    if tray := tray_of(view, found, new.ordinal):
        ready = _("{count} of {total} ready").format(count=tray.ready, total=tray.wanted)
        yield f"{tray.name}: " + (_("COMPLETE") if tray.complete else ready)


_CLICKS: Final = (
    click.option(
        "--received", is_flag=False, flag_value=_ALL, metavar="[N]", help="N new pieces came; without N all that lack."
    ),
    click.option("--staged", is_flag=True, help="They lie ready at their place; the old label is retired."),
    click.option(
        "--measured", multiple=True, metavar="SIZE=FIGURE", help="A size of the new part, as thickness=2.35; repeat."
    ),
    click.option("--serial", metavar="TEXT", help="Serial number or pair mark of a matched part."),
    click.option(
        "--accept",
        "accepted",
        is_flag=True,
        help="It is the right part although it differs, in its serial number, too.",
    ),
    click.option(
        "--from",
        "source",
        type=click.Choice(["order", "shelf"]),
        help="What came is of what was ordered, or from the shelf; needed where it may be either.",
    ),
    click.option(
        "--catalogue", type=click.Path(path_type=Path), metavar="FILE.csv", help="Of the counter: what is on its shelf."
    ),
    click.option("--by", "who", metavar="NAME", callback=a_name, help="Who says so."),
)


def arrival_options(command: Callable[..., None]) -> Callable[..., None]:
    """Add the options of a new part that came; the command takes them all as `arrival`."""

    @wraps(command)
    def packed(**given: Any) -> None:
        arrival = Arrival(**{each.name: given.pop(each.name) for each in fields(Arrival)})
        arrival.check()
        command(arrival=arrival, **given)

    for option in reversed(_CLICKS):
        packed = option(packed)
    return packed
