"""`labelkit diff`: what a new revision of a profile changes, and which prints of open jobs are out of date with it."""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

import click

from labelkit.calc.arrivals import numbers_by_size
from labelkit.calc.listed import first_of
from labelkit.calc.notepieces import RENUMBERED, RENUMBERED_HERE
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.revision import Change, changes
from labelkit.calc.steps import Bin, Teardown, choose, teardown
from labelkit.cli.openjob import photos_of, stock_of, stocks_named
from labelkit.cli.options import (
    DEFAULT_PAPER,
    LABEL_STOCK,
    a_name,
    job_language_option,
    language_of,
    started_sheet_options,
)
from labelkit.errors import LabelkitError, NotFoundError, UsageError
from labelkit.language import speaking
from labelkit.load.profile import LoadedProfile, load_profile
from labelkit.load.stock import find_stock
from labelkit.model.acts import Hold, Noted
from labelkit.model.events import Entry
from labelkit.model.job import Job
from labelkit.model.profile import Profile
from labelkit.sheets.jobview import JobView
from labelkit.sheets.keptnotes import REVISED
from labelkit.sheets.kit import KitOrder, make_kit, placing_kit
from labelkit.sheets.lookup import Lookup
from labelkit.sheets.newparts import new_parts
from labelkit.sheets.picklist import Pick
from labelkit.sheets.stale import Stale, as_recorded, changed_parts, revised, stale
from labelkit.sheets.wording import choice_brief
from labelkit.store.jobs import Store, open_store

_WIDEST: Final = 12  # steps that are named one by one


@click.command()
@click.argument("old")
@click.argument("new")
@click.option("--job", "number", type=int, metavar="N", help="Let this job take the new revision up.")
@click.option("--by", "who", metavar="NAME", callback=a_name, help="Who lets it; kept in the job's record.")
@click.option("--label-stock", metavar="NAME", help=f"{LABEL_STOCK}  [default: that of the job]")
@started_sheet_options
@click.option("--offline-cards", is_flag=True, help="The labels' symbols carry the cards' own words.")
@click.option(
    "--out",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    help="Folder for the labels and stickers that are out of date.",
)
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@job_language_option
def diff(
    old: str,
    new: str,
    number: int | None,
    who: str | None,
    label_stock: str | None,
    first_label: int,
    first_sticker: int,
    offline_cards: bool,
    out: Path | None,
    as_json: bool,
    language: str | None,
) -> None:
    """Say what a new revision of a profile changes, and which labels and stickers of open jobs are out of date with it.

    OLD and NEW are names of profiles or paths to YAML files. A job keeps the profile that it was opened with until
    --job lets it take the new one up: every part keeps its code, and only the labels and stickers that say something
    else are printed, into the folder --out, but no label whose place the sticker of a new part has taken. Once its
    record speaks of a part, all keep their order; new ones come last.

    \b
    Example: labelkit diff archive/kr2-5.yaml unit_profiles/kr2.yaml
             labelkit diff archive/kr2-5.yaml unit_profiles/kr2.yaml --job 3 --by "A. Fitter" --out again
    """
    one, other = load_profile(old), load_profile(new)
    stocks = stocks_named(labels=label_stock)
    found = changes(one.profile, other.profile)
    if number is None:
        if out is not None or who is not None:
            raise UsageError("--by and --out are of the job that takes the revision up; add --job N")
        told = list(_open_jobs(other, stocks, offline=offline_cards))
        orders = [teardown(each.profile, choose(each.profile, {})) for each in (one, other)]
    elif out is None or who is None:
        missing = ["who lets it, with --by"] * (who is None) + ["the folder for its labels, with --out"] * (out is None)
        raise UsageError(f"--job {number}: name {', and '.join(missing)}")
    else:
        firsts = first_label, first_sticker
        told, orders = _taken_up(_Wanted(number, one, other, who, stocks, language, firsts, offline_cards, out))
    click.echo(
        _data(found, told) if as_json else "\n".join([*_lines(one.profile, other.profile, found, orders), *told])
    )


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A job that takes a revision up: which, what, by whom, and how its labels and stickers are printed.

    Attributes:
        firsts: first free label, and first free sticker, of a started sheet.
    """

    number: int
    old: LoadedProfile
    new: LoadedProfile
    who: str
    stocks: Mapping[str, str]
    language: str | None
    firsts: tuple[int, int]
    offline: bool
    out: Path


def _lines(old: Profile, new: Profile, found: tuple[Change, ...], orders: Sequence[Teardown]) -> Iterator[str]:
    """Yield the changes for people, by topic, with the steps of these orders of removal, the last one first."""
    mark, before, after = new.unit.mark, old.unit.revision, new.unit.revision
    if old.unit.mark != mark:
        yield (
            f"{old.unit.mark}, revision {before}, to {mark}, revision {after}: marks of two units; a job of "
            f"{old.unit.mark} takes up only what has its mark"
        )
    else:
        yield f"{mark}: revision {after} in both" if before == after else f"{mark}: revision {before} to {after}"
    if not found:
        yield "nothing is changed"
    elif before == after and old.unit.mark == mark:
        yield "raise the revision, so that a label tells which of the two it was made from"
    if found and new.options:
        chosen = orders[-1].chosen
        taken = ", ".join(choice_brief(option, chosen[group]) for group, option in new.options.items())
        yield f"steps as they are with {taken}"
    names = {**old.names, **new.names}
    steps = {each.part.id: each.step for order in orders for each in reversed(order.bins)}
    topic = ""
    for change in found:
        if change.topic != topic:
            topic = change.topic
            yield topic
        step = f"step {steps[change.part]} " if change.part in steps else ""
        where = f"{step}{names[change.part]}: " if change.part else ""
        yield f"  {where}{change.words}"


def _data(found: tuple[Change, ...], told: list[str]) -> str:
    plain: list[dict[str, Any]] = [
        {"topic": each.topic, "part": each.part, "field": each.field, "was": each.was, "now": each.now}
        for each in found
    ]
    return json.dumps({"changes": plain, "jobs": told}, indent=1, ensure_ascii=False)


def _open_jobs(new: LoadedProfile, stocks: Mapping[str, str], *, offline: bool) -> Iterator[str]:
    """Yield a line for each open job of the unit that has another revision."""
    try:
        store = open_store(create=False)
    except NotFoundError:
        return
    with store:
        glances = store.journal.glances()
        lookup = Lookup(store)
        alike: dict[str, tuple[JobView, Stale]] = {}  # units of one kind, with the same options and trays
        for job in store.jobs():
            glance = glances.get(job.number)
            if job.sha256 == new.sha256 or (glance is not None and glance.closed):
                continue
            try:
                view = lookup.of_job(job)
            except LabelkitError:
                continue  # its profile cannot be read any more; `labelkit job list` says so
            if view.profile.unit.mark != new.profile.unit.mark:
                continue
            try:
                later = _revised(view, new, stocks, recorded=store.journal.names_places(job.number))
                kind = replace(view, job=replace(job, number=0, serial=None, block=0)).state
                now = JobView(later, new.profile, store.secret, alike[kind][0] if kind in alike else None)
                stickers = stock_of(later, "stickers")
                if kind not in alike:
                    found = stale(view, now, stock_of(later, "labels"), offline=offline)
                    alike[kind] = now, as_recorded(found, view, now, (), stickers)
                found = alike[kind][1]
                if glance is not None:
                    found = as_recorded(found, view, now, store.journal.events(job.number), stickers)
                yield from _out_of_date(found, job.number)
            except UsageError as error:
                yield f"job {job.number} keeps its revision: {error}"


def _taken_up(wanted: _Wanted) -> tuple[list[str], list[Teardown]]:
    """Let a job take a revision up, and print what is out of date; return what to tell, and its orders of removal."""
    number, new = wanted.number, wanted.new
    with open_store(create=False) as store, placing_kit(wanted.out) as put, store.changing():
        view = Lookup(store).view(number)
        language = wanted.language or language_of(view.job)
        events = store.journal.events(number)
        _refuse(store, view, new, view.record(events))
        if not changes(view.profile, new.profile):
            return [f"job {number}: nothing is taken up, its profile says the same"], [view.teardown]
        job = _revised(view, new, wanted.stocks, recorded=store.journal.names_places(number))
        job = replace(job, language=language)
        later, stock = JobView(job, new.profile, store.secret), stock_of(job, "labels")
        with speaking(language):
            found = stale(view, later, stock, offline=wanted.offline)
            found = as_recorded(found, view, later, events, stock_of(job, "stickers"))
        photos = photos_of(new)
        # Only some labels are printed: how that is done is for this print.
        kept = replace(job, stocks=view.job.stocks, language=view.job.language)
        store.revise_job(replace(kept, changed=changed_parts(view, later, found)), photos)
        was, now = view.profile.unit.revision, new.profile.unit.revision
        note = Noted(note=REVISED.format(now=now, was=was))
        changed = list(_renumbered(view.record(events), later.record(events)))
        acts: list[tuple[int | None, Hold | Noted]] = [(None, note)]
        acts += ((place.item.ordinal, act) for place, act in changed)
        stem, at = uuid.uuid4().hex, datetime.now(UTC)
        entries = [Entry(act, wanted.who, at, f"{stem}.{k}", ordinal) for k, (ordinal, act) in enumerate(acts)]
        store.journal.append(number, entries)
        held = [f"job {number}: on hold: {each.name}: {act.why}" for each, act in changed if isinstance(act, Hold)]
        told = [
            *_out_of_date(found, number),
            *held,
            f"job {number}: cards and worksheets on paper are of revision {was}",
        ]
        if changes(view.profile, wanted.old.profile):
            told.insert(
                0, f"job {number} had another profile than {wanted.old.file}; its labels are compared with its own"
            )
        orders = [view.teardown, later.teardown]
        if not found.labels and not found.stickers:
            return told, orders
        record = later.record(events)
        prints = (("labels", found.labels), ("stickers", found.stickers))
        parts = new_parts(later, {}, record=record) if found.stickers else None
        later = later.as_seen(record)
        order = KitOrder(
            view=later,
            bins=tuple(later.teardown.at(each.step) for each in found.labels),
            label_stock=stock,
            first_label=wanted.firsts[0],
            offline_cards=wanted.offline,
            documents=frozenset(name for name, some in prints if some),
            new=parts,
            stickers=found.stickers,
            sticker_stock=stock_of(job, "stickers"),
            first_sticker=wanted.firsts[1],
            photo=photos.__getitem__,
            paper=find_stock(DEFAULT_PAPER, ("paper",)),
        )
        with speaking(language):
            files, warnings = make_kit(order)
        put(files)
    return [*told, *warnings, f"{wanted.out}: {', '.join(files)}"], orders


def _renumbered(was: Record, now: Record) -> Iterator[tuple[PlaceRecord, Hold | Noted]]:
    """Yield each place to which new pieces came whose number is another now, with what is kept of that there.

    It is a hold while some are here, since people say whether these still do, and a note where none is any more.
    """
    for ordinal, place in was.places.items():
        later = numbers_by_size(now.at(ordinal)) if ordinal in now.places else {}
        for size, number in numbers_by_size(place).items():
            if (renamed := later.get(size, number)) != number:
                fields = {"was": number, "now": renamed}
                here = place.lot(size).here
                held = Hold(why=RENUMBERED_HERE.format(**fields))
                yield place, held if here else Noted(note=RENUMBERED.format(**fields))


def _revised(view: JobView, new: LoadedProfile, stocks: Mapping[str, str], *, recorded: bool) -> Job:
    """Return a job as it takes a revision up, printed on the stock that is named."""
    job = revised(view.job, view.profile, new, recorded=recorded)
    return replace(job, stocks=replace(job.stocks, **stocks))


def _refuse(store: Store, view: JobView, new: LoadedProfile, record: Record) -> None:
    """Refuse what is no later revision for this job, or comes too late or too early."""
    number = view.job.number
    if view.job.sha256 == new.sha256:
        raise UsageError(f"job {number} has this very profile already, revision {new.profile.unit.revision}")
    if store.drafts.is_open(number):
        raise UsageError(f"job {number} is being captured at the bench; finish that first")
    if record.closed is not None:
        raise UsageError(f"job {number} is closed and keeps the revision that it was signed with")


def _out_of_date(found: Stale, number: int) -> Iterator[str]:
    """Yield what is to be printed again, taken off and laid otherwise."""
    steps = [each.step for each in found.labels]
    if steps:
        yield f"job {number}: labels out of date: {_steps(steps)}"
    else:
        yield f"job {number}: no label is out of date"
    if found.stickers:
        # A place has a sticker for each size that was chosen for it.
        steps = list(dict.fromkeys(map(_sticker_step, found.stickers)))
        yield f"job {number}: stickers out of date: {_steps(steps)}"
    if found.void:
        yield f"job {number}: take off the labels of {', '.join(f'{e.step} {e.part.name}' for e in found.void)}"
    if found.trays:
        letters = ", ".join(found.trays)
        yield f"job {number}: tray sheets out of date: {letters}; labelkit kit --job {number} --only trays"


def _steps(steps: Sequence[str]) -> str:
    return f"{'step' if len(steps) == 1 else 'steps'} {first_of(steps, _WIDEST)}"


def _sticker_step(pick: Pick) -> str:
    """Return the step that stands on a sticker; what is behind a part without a bin has none, but a name."""
    if not pick.step:
        return pick.use.name
    return pick.step if isinstance(pick.use.item, Bin) else f"in {pick.step}"
