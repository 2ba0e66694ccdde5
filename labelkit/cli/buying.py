"""What `labelkit order` says of buying, and the options that it shares with `labelkit kit`.

A line for each number, what is short, whom it blocks, and what can be built all the same.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import Any, Final, cast

import click

from labelkit.calc.listed import first_of
from labelkit.calc.needs import Needs
from labelkit.calc.pulling import Finding, Verdict
from labelkit.calc.renewal import Use
from labelkit.calc.supply import Progress
from labelkit.errors import UsageError
from labelkit.load.catalogue import LoadedCatalogue, load_catalogue
from labelkit.model.catalogue import NO_CATALOGUE, DecimalSign
from labelkit.sheets.jobview import JobView
from labelkit.sheets.lookup import Lookup
from labelkit.sheets.newparts import NewParts, new_parts
from labelkit.sheets.picklist import (
    build_words,
    number_words,
    reason_words,
    unjudged_words,
    waited_words,
    when_words,
)
from labelkit.sheets.picklistdata import needs_data, pick_data, shortage_data
from labelkit.store.jobs import open_store


@dataclass(frozen=True, slots=True)
class Buying:
    """What was asked for.

    Attributes:
        verdicts: by step or part.
        catalogue: file of the parts counter; None: there is none.
        decimal: its decimal sign, where it does not tell.
        currency: of its prices, where it does not tell.
    """

    verdicts: Mapping[str, Finding]
    catalogue: Path | None
    decimal: DecimalSign | None
    currency: str | None

    def read(self) -> LoadedCatalogue:
        """Read the catalogue, and say what it lacks; an empty one where no file is named."""
        if self.catalogue is None:
            return LoadedCatalogue(NO_CATALOGUE, (), ",")
        found = load_catalogue(self.catalogue, decimal=self.decimal, currency=self.currency)
        if not found.catalogue.entries:
            click.echo(f"labelkit: {self.catalogue}: holds no line below the names of its columns", err=True)
        if found.ignored:
            click.echo(f"labelkit: {self.catalogue}: not read: {', '.join(found.ignored)}", err=True)
        return found


_NAMED: Final = 6  # of the parts that nobody has judged
_OPTIONS: Final = (
    click.option(
        "--condemned",
        multiple=True,
        metavar="STEP[=N]",
        help="Inspected and not to be used again, N of its pieces or all; repeat for more.",
    ),
    click.option("--lost", multiple=True, metavar="STEP[=N]", help="Not there any more; repeat for more."),
    click.option(
        "--catalogue", type=click.Path(path_type=Path), metavar="FILE.csv", help="Numbers, packs, prices, shelf."
    ),
    click.option(
        "--decimal", type=click.Choice([".", ","]), help="Decimal sign of the catalogue, where it is unclear."
    ),
    click.option("--currency", metavar="CODE", help="Currency of the catalogue, where it does not tell, as EUR."),
)


def buying_options(command: Callable[..., None]) -> Callable[..., None]:
    """Add the options of what is condemned and of what the counter has; the command takes them all as `buying`."""

    @wraps(command)
    def packed(**given: Any) -> None:
        condemned, lost, catalogue, decimal, currency = (
            given.pop(name) for name in ("condemned", "lost", "catalogue", "decimal", "currency")
        )
        buying = Buying(_verdicts_of({"condemned": condemned, "lost": lost}), catalogue, decimal, currency)
        command(buying=buying, **given)

    for option in reversed(_OPTIONS):
        packed = option(packed)
    return packed


def _verdicts_of(given: Mapping[str, tuple[str, ...]]) -> dict[str, Finding]:
    """Return verdicts by step or part.

    Args:
        given: texts such as `9` or `22.1=2` by verdict.

    Raises:
        UsageError: not such a text, or two verdicts for one step.

    >>> _verdicts_of({"condemned": ("9", "22.1=2"), "lost": ()})
    {'9': Finding(verdict='condemned', pieces=None), '22.1': Finding(verdict='condemned', pieces=2)}
    """
    found: dict[str, Finding] = {}
    for verdict, texts in given.items():
        for text in texts:
            step, equals, pieces = (piece.strip() for piece in text.partition("="))
            if not step or (equals and not (pieces.isascii() and pieces.isdecimal() and len(pieces) < 6)):
                raise UsageError(f'--{verdict} "{text}": allowed: a step, or a step and how many, as in 9 or 22.1=2')
            finding = Finding(cast(Verdict, verdict), int(pieces) if equals else None)
            if found.setdefault(step, finding) != finding:
                raise UsageError(f"--{verdict} {text}: step {step} has another verdict already; keep one of them")
    return found


def buying_text(number: int, buying: Buying, *, as_json: bool) -> str:
    """Return what to order for a job, less what its record says was ordered or came.

    Args:
        number: of the job.
        buying: verdicts besides those of the record, and the catalogue.
        as_json: as data instead of lines.

    Raises:
        NotFoundError: no store, or no such job.
        UsageError: no such step.
        InputErrors: faults of the catalogue.
    """
    with open_store(create=False) as store:
        view = Lookup(store).view(number)
        record = view.record(store.journal.events(number))
    new = new_parts(view, buying.verdicts, buying.read().catalogue, record)
    if as_json:
        picked = {"picks": [pick_data(pick, new.needs) for pick in new.picks]}
        stand = {"supply": [_progress_data(each) for each in new.progress]}
        data = {"job": number, **needs_data(new.needs), **stand, **picked, **shortage_data(new.short)}
        return json.dumps(data, indent=1, ensure_ascii=False)
    return "\n".join(_lines(view, new))


def _lines(view: JobView, new: NewParts) -> Iterator[str]:
    needs, short = new.needs, new.short
    if not needs.lines:
        yield f"Job {view.job.number} needs no new part"
    for at in new.progress:
        each = at.line
        yield f"{number_words(each)}  {each.name}"
        yield from (f"    {words}" for words in _counts(view, at))
        for use in each.uses:
            pieces = "as needed" if use.pieces is None else f"× {use.pieces}"
            blocks = f", blocks step {use.step}" if use.step and _waits(new, use) else ""
            when = when_words(view.profile, needs.when(use))
            only = f", only if {when}" if when else ""
            held = ", ON HOLD" * any(pick.held for pick in new.picks if pick.use is use)
            yield f"    {pieces} {use.name}: {reason_words(use)}{held}{blocks}{only}"
        if each.uses[0].pairs:
            yield "    matched: write down its serial number"
        yield from (f"    {note}" for note in each.notes)
    for number, others in new.besides.items():
        counts = ((others.coming(0), "on the way"), (others.loose, "came, at no place"))
        yield f"{number}  in no list: {', '.join(f'{count} {words}' for count, words in counts if count)}"
    yield from _totals(view, needs)
    for why, parts in unjudged_words(needs):
        yield f"{why}: {first_of([each.full_name for each in parts], _NAMED, '; ')}"
    if short.missing:
        first = short.missing[0]
        yield f"Short: the first step that waits is {first.use.step or 'none'}, for {waited_words(first)}"
    yield from (f"{group.name}: {build_words(group)}" for group in short.groups)
    yield from needs.notes


def _waits(new: NewParts, use: Use) -> bool:
    """Say whether something of a use is not here, or on hold; what has no fixed count is here when any of it came."""
    if any(each.use == use for each in new.short.missing):
        return True
    as_needed = use.pieces is None and not use.unsized
    return as_needed and not any(each.arrivals.here for each in new.progress if use in each.line.uses)


def _totals(view: JobView, needs: Needs) -> Iterator[str]:
    for total in needs.totals:
        when = when_words(view.profile, [total.when])
        unpriced = f"; no price for {'; '.join(total.unpriced)}" if total.cost and total.unpriced else ""
        yield f"Total{f' if {when}' if when else ''}: {total.cost or 'no price known'}{unpriced}"


def _progress_data(at: Progress) -> dict[str, Any]:
    return {
        "number": at.line.number,
        "ordered": at.arrivals.ordered,
        "came": at.came,
        "from_shelf": at.taken,
        "returned": at.arrivals.returned,
        "used": at.arrivals.used,
        "spare": at.arrivals.spare,
        "former": at.arrivals.former,
        "formerly": list(at.arrivals.formerly),
        "ready": at.ready,
        "coming": at.coming,
    }


def _counts(view: JobView, at: Progress) -> Iterator[str]:
    """Yield how many to order, for each way in which open options may be chosen."""
    each = at.line
    counts = (
        (at.shelf, "on the shelf"),
        (at.coming, "on the way"),
        (at.came, "came"),
        (at.taken, "from the shelf"),
        (at.arrivals.returned, "sent back"),
        (at.arrivals.used, "out of use"),
        (at.arrivals.spare, "not wanted any more"),
    )
    former = (at.arrivals.former, f"came as {' and '.join(at.arrivals.formerly)}")
    known = "".join(f", {count} {words}" for count, words in (*counts, former) if count)
    for way in each.ways:
        when = when_words(view.profile, [way.when])
        packs = "size to be chosen" if way.packs is None else f"order {way.packs}"
        packed = each.pack > 1 and way.packs is not None
        pack = f" {'pack' if way.packs == 1 else 'packs'} of {each.pack}" if packed else ""
        spare = f", {way.spare} left over" if way.spare else ""
        cost = f", {way.cost}" if way.cost else ""
        yield f"{f'if {when}: ' if when else ''}{packs}{pack} (need {way.need}{known}{spare}){cost}"
