"""What `labelkit order` says of buying: a line for each number, what is short, and whom it blocks."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import cast

from labelkit.calc.needs import Line, Needs, Shortage, findings, roll_up, shortage
from labelkit.calc.renewal import Verdict
from labelkit.load.catalogue import load_catalogue
from labelkit.model.catalogue import NO_CATALOGUE, Catalogue, DecimalSign
from labelkit.sheets.jobview import JobView
from labelkit.sheets.lookup import Lookup
from labelkit.sheets.picklist import needs_data, number_words, reason_words, shortage_data, when_words
from labelkit.store.jobs import open_store


@dataclass(frozen=True, slots=True)
class Counter:
    """The parts counter's list: its file, and what the file does not tell."""

    file: Path | None
    decimal: DecimalSign | None
    currency: str | None

    def read(self) -> Catalogue:
        """Read it; an empty one where no file is named."""
        if self.file is None:
            return NO_CATALOGUE
        return load_catalogue(self.file, decimal=self.decimal, currency=self.currency).catalogue


def buying_text(number: int, verdicts: Mapping[str, str], counter: Counter, *, as_json: bool) -> str:
    """Return what to order for a job.

    Args:
        number: of the job.
        verdicts: `condemned` or `lost` by step or part.
        counter: the parts counter's list.
        as_json: as data instead of lines.

    Raises:
        NotFoundError: no store, or no such job.
        UsageError: no such step, or one that is condemned and lost.
        InputErrors: faults of the catalogue.
    """
    with open_store(create=False) as store:
        view = Lookup(store).view(number)
    found = findings(view.teardown, cast(Mapping[str, Verdict], verdicts))
    needs = roll_up(view.profile, view.teardown, view.order, found=found, catalogue=counter.read())
    short = shortage(needs, view.order, needs.shelf, None)
    if as_json:
        data = {"job": number, **needs_data(needs), **shortage_data(short)}
        return json.dumps(data, indent=1, ensure_ascii=False)
    return "\n".join(_lines(view, needs, short))


def _lines(view: JobView, needs: Needs, short: Shortage) -> Iterator[str]:
    for each in needs.lines:
        yield f"{number_words(each)}  {each.name}"
        yield from (f"    {words}" for words in _counts(view, each))
        for use in each.uses:
            pieces = "as needed" if use.pieces is None else f"× {use.pieces}"
            blocks = f", blocks step {use.step}" if use.step else ""
            yield f"    {pieces} {use.name}: {reason_words(use)}{blocks}"
        yield from (f"    {note}" for note in each.notes)
    for total in needs.totals:
        when = when_words(view.profile, [total.when])
        unpriced = f"; no price for {', '.join(total.unpriced)}" if total.cost and total.unpriced else ""
        yield f"Total{f' if {when}' if when else ''}: {total.cost or 'no price known'}{unpriced}"
    if needs.unjudged:
        yield f"Not judged yet, so the order is not final: {len(needs.unjudged)} parts that are renewed if worn"
    if short.missing:
        first = short.missing[0].use
        yield f"Short: the first step that waits is {first.step or 'none'}, for {first.name}"
    yield from needs.notes


def _counts(view: JobView, each: Line) -> Iterator[str]:
    """Yield how many to order, for each way in which open options may be chosen."""
    for way in each.ways:
        when = when_words(view.profile, [way.when])
        packs = "size to be chosen" if way.packs is None else f"order {way.packs}"
        pack = f" packs of {each.pack}" if each.pack > 1 and way.packs is not None else ""
        shelf = f", {each.shelf} on the shelf" if each.shelf else ""
        spare = f", {way.spare} left over" if way.spare else ""
        cost = f", {way.cost}" if way.cost else ""
        yield f"{f'if {when}: ' if when else ''}{packs}{pack} (need {way.need}{shelf}{spare}){cost}"
