"""The sign-off: every bin empty, old parts kept, readings before and after, what deviates, and who signs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.profile import Fit, fit_words
from labelkit.sheets import wording
from labelkit.sheets.fitsheet import has_fit
from labelkit.sheets.jobview import JobView
from labelkit.sheets.worksheet import SMALL, WORDS, Sheet, Strip, title_strip, titled
from labelkit.sheets.worksheetcells import OneLine, Piece, Say, Ticks, bold, ticks_across
from labelkit.sheets.worksheetfacts import limit_pieces, step_pieces
from labelkit.sheets.worksheetlimits import check_limits, fit_limits
from labelkit.sheets.worksheettable import Column, Table, pieces_strip

_DEVIATIONS: Final = 3
_SIGN: Final = (noop("Taken apart by"), noop("Put together by"), noop("Inspected by"), noop("Owner"))


def sign_off_sheet(view: JobView, width: float) -> Sheet:
    """Return what is looked at before anybody signs."""
    return Sheet(_("SIGN-OFF"), list(_sign_off(view, width)))


def _sign_off(view: JobView, width: float) -> Iterator[Strip]:
    yield title_strip(_("Every bin is empty: a tick for each"), width)
    steps = tuple(each.step_words for each in view.teardown.bins)
    yield from pieces_strip([Ticks(steps, columns=ticks_across(steps, width), face="bold")], width, name="bins empty")
    yield title_strip(_("Before anybody signs"), width)
    yield from pieces_strip([Ticks(tuple(_points(view)), columns=2)], width, name="points")
    if readings := list(_readings(view, width)):
        yield from titled(_("Readings before and after"), readings, width)
    yield from _deviations(width)
    yield from _signatures(width)


def _points(view: JobView) -> Iterator[str]:
    yield _("nothing is left over on bench, trays or floor")
    yield _("old parts kept and tagged until now")
    yield _("no option is open any more; what was found is written down")
    yield _("every torque and every last check has its ticks")
    oil = view.profile.unit.oil
    if oil is None:
        yield _("oil filled, kind and quantity {unknown}").format(unknown=wording.not_recorded()) + ": ____________"
    else:
        unknown = _("quantity {unknown}").format(unknown=wording.not_recorded()) + ": ________"
        much = f"{oil.volume_l} l" if oil.volume_l else unknown
        yield _("oil filled: {oil}").format(oil=f"{oil.kind}, {much}")
    yield _("unit turned by hand, no leak, no noise; serial plate on")


def _readings(view: JobView, width: float) -> Iterator[Strip]:
    """Yield the readings before and after: every fit, and every measurement that is kept."""
    fits = view.profile.fits
    kept = [(each, check) for each in view.teardown.bins for check in each.part.check if check.measure and check.keep]
    if not fits and not kept:
        return
    columns = (
        Column(_("STEP"), 16.5),
        Column(_("WHAT"), 92),
        Column(_("LIMITS"), 62),
        Column(_("BEFORE"), 24, "count"),
        Column(_("AFTER"), 24, "count"),
        Column(_("OK"), 12, "tick"),
        Column(_("REMARK"), 0, "write"),
    )
    table = Table(columns, width, "readings")
    yield table.head
    for name, fit in fits.items():
        if has_fit(view, fit):
            yield from table.row(f"fit {name}", _fit(name, fit))
    for each, check in kept:
        what: list[Piece] = [bold(each.name), Say(str(check.measure), SMALL)]
        cells = [step_pieces(each), what, limit_pieces(check_limits(check), SMALL)]
        yield from table.row(f"{each.step} {check.measure}", cells)
    yield table.line_strip()


def _fit(name: str, fit: Fit) -> list[list[Piece]]:
    what: list[Piece] = [bold(fit_words(name)), Say(_(wording.FIT_KINDS[fit.kind]), SMALL)]
    return [[OneLine(_("FIT"), WORDS)], what, limit_pieces(fit_limits(fit), SMALL)]


def _deviations(width: float) -> Iterator[Strip]:
    columns = (
        Column(_("STEP"), 22, "write"),
        Column(_("WHAT IS NOT AS THE PROFILE SAYS, AND WHY"), 0, "write"),
        Column(_("AGREED BY"), 50, "write"),
        Column(_("DATE"), 30, "write"),
    )
    table = Table(columns, width, "deviation")
    yield title_strip(_("Deviations"), width)
    yield table.head
    for number in range(1, _DEVIATIONS + 1):
        yield from table.row(str(number), [])


def _signatures(width: float) -> Iterator[Strip]:
    columns = (
        Column(_("WHO"), 50),
        Column(_("NAME"), 80, "write"),
        Column(_("DATE"), 36, "write"),
        Column(_("SIGNATURE"), 0, "write"),
    )
    table = Table(columns, width, "signature")
    yield title_strip(_("Signatures: what these sheets say was seen, not supposed"), width)
    yield table.head
    for who in _SIGN:
        yield from table.row(who, [[bold(_(who))]], kept=who != _SIGN[-1])
