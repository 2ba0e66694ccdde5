"""`labelkit job`: the jobs of the store, where each is, out of it and into it, and closing them."""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click

from labelkit.calc.allowed import Assembly
from labelkit.calc.apart import next_out
from labelkit.calc.gate import judge
from labelkit.calc.openpoints import open_points
from labelkit.calc.record import Record
from labelkit.cli.groups import ToldGroup
from labelkit.cli.newfile import check_ending
from labelkit.cli.openjob import STOCKS, Use
from labelkit.cli.options import DEFAULT_PAPER, a_name, a_reason, counted, job_language_option, language_of
from labelkit.datafiles import is_path
from labelkit.errors import InputError, OutputError, UsageError
from labelkit.language import speaking
from labelkit.model.act import LONGEST_TEXT
from labelkit.model.events import Entry, Event, act_of
from labelkit.sheets.actwords import event_words
from labelkit.sheets.joblist import job_entry
from labelkit.sheets.jobview import JobView
from labelkit.sheets.lookup import Lookup
from labelkit.sheets.placewords import STAGES, stage_of
from labelkit.store.events import Glance
from labelkit.store.exchange import copies_of, export_job, goes_on, import_job, read_job_file
from labelkit.store.files import replace_file
from labelkit.store.jobs import Store, open_store


@click.group(cls=ToldGroup)
def job() -> None:
    """List the jobs of the store, show where one is, export, import and close it.

    \b
    Example: labelkit job list
             labelkit job show 1
    """


@job.command("list")
@click.option("--open", "only_open", is_flag=True, help="Leave out jobs that are closed.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def list_jobs(only_open: bool, as_json: bool) -> None:
    """List all jobs: unit, serial number, how many events, who did the last one, and whether it is closed.

    \b
    Example: labelkit job list --open
    """
    with open_store(create=False) as store:
        glances, lookup, capturing = store.journal.glances(), Lookup(store), store.drafts.open_jobs()
        entries = [(job_entry(each, lookup.of_job), glances.get(each.number)) for each in store.jobs()]
    entries = [(entry, glance) for entry, glance in entries if not (only_open and glance and glance.closed)]
    if as_json:
        rows = [
            {"job": entry.number, "serial": entry.serial, "unit": entry.unit, "mark": entry.mark, "fault": entry.fault}
            | _glance_data(glance)
            for entry, glance in entries
        ]
        click.echo(json.dumps({"jobs": rows}, indent=1, ensure_ascii=False))
        return
    for entry, glance in entries:
        last = (
            f"{counted(glance.events, 'event')}, last {_when(glance.when)} by {glance.who}"
            if glance
            else "nothing recorded"
        )
        state = f"{last}{', closed' if glance and glance.closed else ''}{f'; {entry.fault}' if entry.fault else ''}"
        if entry.number in capturing:  # without a part its profile is none yet
            state = f"being captured, {counted(entry.bin_count, 'bin')} so far"
        serial = f", serial number {entry.serial}" if entry.serial else ""
        click.echo(f"{entry.number}  {entry.unit}{serial}: {state}")
    if not entries:
        click.echo("labelkit: no job", err=True)


@job.command()
@click.argument("number", type=int)
@click.option("--events", "with_events", is_flag=True, help="List every event, who did it and when.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def show(number: int, with_events: bool, as_json: bool) -> None:
    """Show where a job is: last verified, what comes next, what is open, what is held, what is not as it should be.

    \b
    Example: labelkit job show 1 --events
    """
    with open_store(create=False) as store:
        view, record = _record(store, number)
    if as_json:
        click.echo(json.dumps(_data(view, record), indent=1, ensure_ascii=False))
        return
    click.echo("\n".join(_lines(view, record)))
    if with_events:
        click.echo("\n".join(_event_line(record, event) for event in record.events))


@job.command()
@click.argument("number", type=int)
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE", help="The file to write; default: job-N.json.")
def export(number: int, out: Path | None) -> None:
    """Write everything that is kept of a job to one JSON file: profile, options, pictures, every event.

    With - as the file it goes to the standard output.

    \b
    Example: labelkit job export 1 --out archive/job-1.json
    """
    with open_store(create=False) as store:
        data = export_job(store, number)
    text = json.dumps(data, indent=1, ensure_ascii=False) + "\n"
    if str(out) == "-":
        click.echo(text, nl=False)
        return
    file = out or Path(f"job-{number}.json")
    if file.is_file() and not goes_on(text, file.read_bytes()):
        raise OutputError(f"{file}: holds something else than an earlier export of job {number}; name another file")
    replace_file(file, text.encode())
    events, pictures = counted(len(data["events"]), "event"), counted(len(data["pictures"]), "picture")
    photos = counted(len(data["photos"]), "photo of the profile", "photos of the profile")
    click.echo(f"{file}: job {number}, {events}, {pictures}, {photos}")


@job.command()
@click.argument("number", type=int)
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE", help="The file to write; default: job-N.pdf.")
@click.option("--paper", metavar="NAME", default=DEFAULT_PAPER, show_default=True, help="What it is printed on.")
@job_language_option
def report(number: int, out: Path | None, paper: str, language: str | None) -> None:
    """Write the report of a job as PDF: readings before and after, what is replaced and why, deviations, signatures.

    \b
    Example: labelkit job report 1 --out archive/job-1.pdf
    """
    from labelkit.load.stock import find_stock  # these load for the report only
    from labelkit.sheets.reportsheet import report_pdf

    if out is not None:
        check_ending(out, ".pdf", "a report")
    with open_store(create=False) as store:
        view, record = _record(store, number)
        with speaking(language or language_of(view.job)):
            data = report_pdf(view, record, find_stock(paper, ("paper",)))
    file = out or Path(f"job-{number}.pdf")
    replace_file(file, data)
    signed = ", ".join(event.who for event in record.signatures)
    told = f"signed by {signed}" if signed else f"NOT SIGNED, {len(open_points(record))} points open"
    click.echo(f"{file}: report of job {number}, {told}")


@job.command("import")
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False, allow_dash=True))
@click.option("--job", "number", type=int, metavar="N", help="Give it this number instead of its own.")
def import_(file: Path, number: int | None) -> None:
    """Put an exported job into this store, with its number and its record.

    Its labels are printed again: codes are made with this store's key, and those of the other store open nothing here.
    A job that is here already is not changed; with --job it comes in beside itself, as another job.

    \b
    Example: labelkit job import archive/job-1.json --job 12
    """
    try:
        with click.open_file(str(file), encoding="utf-8") as stream:
            text = str(stream.read())
    except UnicodeDecodeError as error:
        raise InputError(f"{file}: is no text: byte {error.start}; make it with `labelkit job export`") from error
    data = read_job_file(text, str(file))
    with open_store() as store:
        here = copies_of(store, data)
        if here and number in (None, *here):
            click.echo(_here_already(store, data, number or here[0]))
            return
        try:
            done = import_job(store, data, number=number)
        except InputError as error:
            raise InputError(f"{file}: {error}") from error
        events = store.journal.last(done.number)
    for what, name in _paths(data):
        click.echo(
            f"labelkit: {file}: its {what.words} were printed on {name} of another computer, which is not opened here: "
            f"copy that file into layouts/, or name another with {what.option}",
            err=True,
        )
    if here:
        others = ", ".join(f"job {each}" for each in here)
        click.echo(f"labelkit: {file}: the same job is here as {others}: from now on each goes its way", err=True)
    click.echo(
        f"job {done.number}, {counted(events, 'event')}; print its labels again: labelkit kit --job {done.number}\n"
        f"They lead to {done.address}, as before; where this bench answers elsewhere, add --address and its address"
    )


def _here_already(store: Store, data: Any, number: int) -> str:
    """Return that an exported job is here, and how its record here and in the file differ."""
    here, there = store.journal.last(number), len(data["events"])
    told = f"job {number} is this job already, with {counted(here, 'event')}"
    if here < there:
        raise UsageError(
            f"{told}, and the file goes on to {there}: a record is never put over another. "
            "To have both, give the file another number with --job"
        )
    since = f", {here - there} of them since the export" if here > there else ""
    return f"{told}{since}; nothing was changed. For a second copy give it another number with --job"


def _paths(data: Any) -> Iterator[tuple[Use, str]]:
    """Yield what of an exported job was printed on the stock of a file, and the file."""
    told = data["job"].get("stocks") or {}
    for what, use in STOCKS.items():
        if is_path(name := told.get(what, "")):
            yield use, name


@job.command()
@click.argument("number", type=int)
@click.option("--by", "who", required=True, metavar="NAME", callback=a_name, help="Who closes it.")
@click.option(
    "--because", metavar="TEXT", callback=a_reason, help="Close it although it is not signed, for this reason."
)
@click.option("--agreed", metavar="NAME", callback=a_name, help="Who agreed to that; needed with --because.")
@click.option("--reopen", metavar="TEXT", callback=a_reason, help="Open a closed job again instead.")
def close(number: int, who: str, because: str | None, agreed: str | None, reopen: str | None) -> None:
    """Close a job that is signed: nothing is recorded in it any more.

    What is still open is listed, and the job stays open, unless there is a reason and somebody who agreed. Both stay
    in the record.

    \b
    Example: labelkit job close 1 --by "A. Fitter"
             labelkit job close 1 --by "A. Fitter" --because "scrapped" --agreed "The owner"
    """
    if (because is None) != (agreed is None):
        raise UsageError("--because and --agreed go together: a reason, and who agreed to it")
    with open_store(create=False) as store:
        _, record = _record(store, number)
        if record.closed and reopen is None:
            raise UsageError(
                f"job {number} is closed already, by {record.closed.who}; to open it again: "
                f'labelkit job close {number} --by "{who}" --reopen WHY'
            )
        data: dict[str, Any] = {"kind": "closed"} if reopen is None else {"kind": "reopened", "why": reopen}
        entry = Entry(act_of(data), who, datetime.now(UTC), uuid.uuid4().hex)
        assembly = Assembly(record)
        ruling = judge(assembly, entry.act, None, who)
        if because is not None and ruling.refusal and ruling.overridable:
            data["override"] = {"reason": because, "agreed": agreed, "refusal": ruling.refusal[:LONGEST_TEXT]}
            entry = replace(entry, act=act_of(data))
            ruling = judge(assembly, entry.act, None, who)
        if not ruling.allowed:
            for point in ruling.points:
                click.echo(f"  {point.text}", err=True)
            click.echo(f"labelkit: job {number}: {ruling.refusal}", err=True)
            raise click.exceptions.Exit(1)
        store.journal.append(number, [entry])
    click.echo(f"job {number} is {'closed' if reopen is None else 'open again'}")


def _record(store: Store, number: int) -> tuple[JobView, Record]:
    view = Lookup(store).view(number)
    return view, view.record(store.journal.events(number))


def _glance_data(glance: Glance | None) -> dict[str, Any]:
    if glance is None:
        return {"events": 0, "last": None, "closed": False}
    return {
        "events": glance.events,
        "last": {"who": glance.who, "when": glance.when.isoformat()},
        "closed": glance.closed,
    }


def _when(when: datetime) -> str:
    return when.strftime("%Y-%m-%d %H:%M UTC")


def _counts(record: Record) -> Iterator[str]:
    """Yield how many places are at each stage, and of how many of them nobody has counted the pieces."""
    for stage, words in STAGES.items():
        at = [place for place in record.places.values() if stage_of(record, place) == stage]
        uncounted = sum(place.is_out and place.is_uncounted for place in at) if stage != "removed" else 0
        if at:
            yield f"{words} {len(at)}" + (f", {uncounted} of them not counted" if uncounted else "")


def _lines(view: JobView, record: Record) -> Iterator[str]:
    serial = f", serial number {view.job.serial}" if view.job.serial else ""
    yield f"Job {view.job.number}: {view.profile.unit.name}{serial}, profile revision {view.profile.unit.revision}"
    yield "Places: " + "; ".join(_counts(record))
    if closed := record.closed:
        yield f"Closed by {closed.who}, {_when(closed.when)}"
    for signed in record.signatures:
        yield f"Signed by {signed.who}, {_when(signed.when)}"
    if last := record.last_verified:
        yield f"Last verified: {record.at(last.place or 0).name}, by {last.who}, {_when(last.when)}"
    if out := next_out(record):
        yield f"Next out: {out.full_name}"
    if any(place.is_out for place in record.places.values()):
        yield f"Allowed now: {Assembly(record).now_words()}"
    for event in record.deviations:
        yield f"Deviation: {_event_line(record, event)}"
    points = open_points(record)
    yield f"Open: {len(points)}"
    yield from (f"  {point.text}" for point in points)


def _event_line(record: Record, event: Event) -> str:
    told = event_words(event, record.profile, record.teardown)
    void = f" (corrected by event {record.corrected[event.number].number})" if event.number in record.corrected else ""
    return f"{event.number}  {_when(event.when)}  {event.who}: {told}{void}"


def _data(view: JobView, record: Record) -> dict[str, Any]:
    last, out = record.last_verified, next_out(record)
    return {
        "job": view.job.number,
        "serial": view.job.serial,
        "unit": {
            "mark": view.profile.unit.mark,
            "name": view.profile.unit.name,
            "revision": view.profile.unit.revision,
        },
        "options": dict(view.job.options),
        "closed": record.closed is not None,
        "signed": record.signed is not None,
        "last_verified": None if last is None else last.data(),
        "next_out": out.step if out else None,
        "allowed": [{"what": each.what, "text": each.text} for each in Assembly(record).allowed()],
        "open": [{"kind": point.kind, "text": point.text} for point in open_points(record)],
        "places": [
            {
                "step": getattr(place.item, "step", None),
                "part": place.item.part.id,
                "stage": stage_of(record, place),
                "count": place.count,
                "held": bool(place.holds),
            }
            for place in record.places.values()
        ],
        "events": [event.data() | {"corrected": event.number in record.corrected} for event in record.events],
    }
