"""Where the fits of a job are: a row for each, as the list of fits and the cards of their parts show it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from labelkit.calc.answers import beside
from labelkit.calc.fitpoints import chosen_not_in, fit_points
from labelkit.calc.fitsizes import expected, measured_since
from labelkit.calc.limits import Limits
from labelkit.calc.record import Record
from labelkit.calc.verdicts import VERDICT_WORDS, value_of
from labelkit.language import gettext as _
from labelkit.model.profile import Fit, fit_words
from labelkit.model.readings import FitChosen, Reading
from labelkit.sheets import keptnotes, wording
from labelkit.sheets.fitsheet import has_fit
from labelkit.sheets.jobview import JobView
from labelkit.sheets.worksheetlimits import fit_limits


@dataclass(frozen=True, slots=True)
class State:
    """Where a fit is: a word for its mark, and what was read or chosen last.

    Attributes:
        mark: `not measured`, `read before`, `chosen`, `read again`, or `not in this unit`.
        told: the figures of it.
        wrong: what is open about it after the assembly.
    """

    mark: str
    told: str = ""
    wrong: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A fit with where it is: its id, the id in words, its kind, its target, and its state."""

    name: str
    words: str
    kind: str
    target: str
    state: State


def fit_rows(view: JobView, record: Record, names: Iterable[str]) -> Iterator[Row]:
    """Yield fits of a job by their ids, each with where it is."""
    for name in names:
        fit = view.profile.fits[name]
        words, kind = fit_words(name), _(wording.FIT_KINDS[fit.kind])
        yield Row(name, words, kind, fit_limits(fit)[0], fit_state(view, record, name))


def fit_state(view: JobView, record: Record, name: str) -> State:
    """Return where a fit is."""
    fit, seen = view.profile.fits[name], record.fits[name]
    if not has_fit(view, fit):
        return State(_("not in this unit"))
    if seen.after is not None and isinstance(seen.after.act, Reading):
        wrong = "; ".join(fit_points(record, name))
        return State(_("read again"), _read_words(fit, seen.after.act), wrong)
    if seen.chosen is not None and isinstance(seen.chosen.act, FitChosen):
        wrong = "; ".join(fit_points(record, name)) if chosen_not_in(record, name) else ""
        return State(_("chosen"), _chosen_words(record, name, seen.chosen.act), wrong)
    if seen.before is not None and isinstance(seen.before.act, Reading):
        return State(_("read before"), _read_words(fit, seen.before.act))
    return State(_("not measured"))


def _read_words(fit: Fit, act: Reading) -> str:
    told = f"{value_of(act, Limits(*fit.target))} {act.unit}"
    return told + (f", {_(VERDICT_WORDS[act.verdict])}" if act.verdict else "")


def _chosen_words(record: Record, name: str, act: FitChosen) -> str:
    """Return what was chosen, and what the fit will be: with the pieces that came in its stead, where others did."""
    predicted, measured = expected(record, name), measured_since(record, name)
    sizes = " + ".join(f"{size} {act.unit}" for size in act.sizes)
    then = keptnotes.then_in(act.note) if predicted is None else str(predicted)
    if measured and predicted is not None:
        told = _("{pieces}; measured {measured}, then {predicted}")
        came = " + ".join(f"{beside(each.value, *act.sizes)} {act.unit}" for each in measured)
        return told.format(pieces=sizes, measured=came, predicted=then)
    return _("{pieces}, then {predicted}").format(pieces=sizes, predicted=then) if then else sizes
