"""Fit sheets: the sum that decides a shim, plate or ring, laid out box by box, from the readings to the check after."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from labelkit import units
from labelkit.calc.assembly import partners
from labelkit.calc.profilefit import SHIMS, shims
from labelkit.calc.steps import Bin
from labelkit.calc.taper import must_show
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.form import size
from labelkit.model.profile import Fit, fit_words
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.worksheet import HEADING, SMALL, WRITE, Sheet, Strip
from labelkit.sheets.worksheetcells import Boxes, Circle, Piece, Say, Sum, Ticks, bold
from labelkit.sheets.worksheetfacts import limit_pieces, name_of, series_boxes, spread_words, step_pieces
from labelkit.sheets.worksheetlimits import aim_of, fit_limits
from labelkit.sheets.worksheettable import Column, Table

# A series of more sizes is written, not circled.
_MOST_SIZES: Final = 84
# Kinds whose play a part that is missing or doubled changes by its thickness.
_PLAYS: Final = ("end_play", "clearance")
_GASKET: Final = (
    noop("gasket: none"),
    noop("gasket: new, not pressed"),
    noop("gasket: pressed"),
    noop("unit and gauge COLD"),
)
_EQUALS, _PLUS, _MINUS, _TIMES, _BY = "=", "+", "−", "×", "÷"
_TRIALS: Final = 2
_Terms = tuple[tuple[str, str] | str, ...]
_AIMS: Final = {"low": noop("low"), "middle": noop("the middle"), "high": noop("high")}
_THICKER: Final = {
    ("reduces", "play"): noop("reduces the play"),
    ("reduces", "preload"): noop("reduces the preload"),
    ("increases", "play"): noop("increases the play"),
    ("increases", "preload"): noop("increases the preload"),
}
# Width of the numbers of what is done, and of the sums beside the sizes, mm.
_NUMBERS: Final = 35.0
_SUMS: Final = 127.0
# And where a sum of four boxes and its result must stand on one line.
_LONG_SUMS: Final = 160.0


def fit_sheets(view: JobView, width: float) -> Iterator[Sheet]:
    """Yield a sheet for every fit that the unit has under its options."""
    for name, fit in view.profile.fits.items():
        if has_fit(view, fit):
            yield Sheet(_("FIT: {name}").format(name=fit_words(name).upper()), list(_fit(view, fit, width)))


def has_fit(view: JobView, fit: Fit) -> bool:
    """Say whether the unit has a fit under its options: what sets it is there, where the profile names it."""
    return fit.set_by is None or bool(view.teardown.of(fit.set_by))


def _fit(view: JobView, fit: Fit, width: float) -> Iterator[Strip]:
    yield from _facts(view, fit, width)
    form = Table((Column("", _NUMBERS), Column("", _SUMS), Column("", 0)), width, "fit")
    long = Table((Column("", _NUMBERS), Column("", _LONG_SUMS), Column("", 0)), width, "fit")
    across = Table((Column("", _NUMBERS), Column("", 0)), width, "fit")
    yield from across.row("seat", [[bold(_("1  Seat it"), HEADING)], _seat(fit)], rule=False)
    measure, work_out = bold(_("2  Measure"), HEADING), bold(_("3  Work it out"), HEADING)
    circle, sizes = bold(_("4  Circle the size"), HEADING), _choose(view, fit)
    if fit.kind == "stack":
        yield from across.row("measure", [[measure], _which_plates()], kept=True)
        yield from _plates(view, fit, width)
        yield from across.row("sums", [[work_out], _sums(fit)])
        yield from form.row("sizes", [[circle], sizes[:2], sizes[2:]])
    else:
        if _by_torque(fit):
            yield from across.row("measure", [[measure], _how_to_turn(fit)], kept=True)
            yield from _trials(fit, width)
        else:
            yield from form.row("measure", [[measure], *_readings(view, fit)])
        sums = long if _by_torque(fit) else form
        yield from sums.row("sums", [[work_out], _sums(fit), [circle, *sizes]])
    yield from form.row("after", [[bold(_("5  Fit it, measure again"), HEADING)], *_after(view, fit)])
    yield form.line_strip()


def _seat(fit: Fit) -> list[Piece]:
    seat = tuple(f"{number}. {step}" for number, step in enumerate(fit.seat, start=1))
    unknown = _("how to seat it: {unknown}").format(unknown=wording.not_recorded())
    first: Piece = Ticks(seat, columns=len(_GASKET)) if seat else bold(unknown)
    if fit.kind == "stack" or _by_torque(fit):
        return [first]
    return [first, Ticks(tuple(map(_, _GASKET if fit.kind == "end_play" else _GASKET[-1:])), columns=len(_GASKET))]


def _by_torque(fit: Fit) -> bool:
    """Say whether it is a preload that is read as a torque; one that is a length follows from a play."""
    return fit.kind == "preload" and units.FACTORS[fit.target[0].unit][0] != "length"


def _by_play(fit: Fit) -> bool:
    return fit.kind == "preload" and not _by_torque(fit)


def _facts(view: JobView, fit: Fit, width: float) -> Iterator[Strip]:
    columns = (
        Column(_("TARGET"), 50),
        Column(_("AIM"), 42),
        Column(_("SET BY"), 70),
        Column(_("A THICKER PIECE"), 38),
        Column(_("COUNTS TOO"), 0),
    )
    table = Table(columns, width, "fit facts")
    yield table.head
    aim = aim_of(fit)
    named = f"{_(_AIMS[fit.aim])}: " if isinstance(fit.aim, str) else ""
    setters = view.teardown.of(fit.set_by) if fit.set_by else ()
    by = [bold(f"{each.step_words} {each.name}") for each in setters]
    thicker = wording.not_recorded()
    if fit.thicker:
        thicker = _(_THICKER[fit.thicker, "preload" if fit.kind == "preload" else "play"])
    counted = [part for part in view.profile.counted(fit) if part != fit.set_by]
    others = view.teardown.of(*counted)
    told = "; ".join(f"{each.step_words} {name_of(each.part)}" for each in others)
    state = _("measured with {state}").format(state=fit.state) if fit.state else ""
    cells: list[list[Piece]] = [
        limit_pieces(fit_limits(fit)),
        [bold(f"{named}{aim}"), Say(state)],
        [*by] or [bold(wording.not_recorded())],
        [bold(thicker)],
        [Say(told or _("nothing else recorded"))],
    ]
    yield from table.row("row", cells, boxes=False)
    yield table.line_strip()


def _readings(view: JobView, fit: Fit) -> tuple[list[Piece], list[Piece]]:
    piece: list[Piece] = [bold(_("t fitted: the piece that is in, measured at 3 places")), series_boxes(3)]
    setter = _setter(view, fit)
    if setter is None:
        piece.insert(0, bold(_("what sets it is {unknown}").format(unknown=wording.not_recorded())))
    elif (most := _together(view, setter)) > 1:
        labels = (*map(str, range(1, most + 1)), _("t fitted"))
        piece = [bold(_("t fitted: all pieces that are in, each measured, and their sum")), Boxes(labels)]
    told = _("play: seat it again before every reading")
    if _by_play(fit):
        told = _("play with that piece; none to be felt: a thicker or thinner one first, until there is")
    play: list[Piece] = [
        bold(told),
        series_boxes(fit.times, spread_words(fit.spread)),
        Say(_("Spread too large: no mean; seat it again, take all readings anew. Every reading stays here."), SMALL),
    ]
    return piece, play


def _setter(view: JobView, fit: Fit) -> Bin | None:
    return next(iter(view.teardown.of(fit.set_by)), None) if fit.set_by else None


def _together(view: JobView, setter: Bin) -> int:
    return shims(setter.part, view.profile.series.get(setter.part.series or ""))


def _which_plates() -> list[Piece]:
    told = _("Measure every plate that lies between the two faces of the depth.")
    return [bold(told), Say(_("Tick those plates. Leave out the others, and the selective one."))]


def _plates(view: JobView, fit: Fit, width: float) -> Iterator[Strip]:
    packs = view.teardown.of(fit.of) if fit.of else ()
    columns = (
        Column(_("STEP"), 16.5),
        Column(_("PLATE"), 84),
        Column(_("COUNTS"), 14, "tick"),
        Column(_("PIECES"), 22),
        Column(_("× THICKNESS, MEAN"), 32, "count"),
        Column(_("= TOGETHER"), 32, "count"),
        Column(_("REMARK"), 0, "write"),
    )
    table = Table(columns, width, "fit plates")
    yield table.head
    for pack in packs:
        for part in view.profile.counted(fit):
            for each in partners(view.teardown, pack, part)[:1]:
                if part != fit.set_by:
                    told = f"× {pack.part.stack.count(part)}"
                    nominal = _("nominal {size}").format(size=wording.size_words(each.part.form))
                    name: list[Piece] = [bold(each.name), Say(nominal, SMALL)]
                    yield from table.row(each.step, [step_pieces(each), name, [bold(told)]])


def _sums(fit: Fit) -> list[Piece]:
    """Return the formula and its boxes: the wanted size, and the two ends of the window."""
    if _by_torque(fit):
        return _line_through_trials(fit)
    if fit.thicker is None:
        return [
            bold(_("Which way a thicker piece works is {unknown}.").format(unknown=wording.not_recorded())),
            Say(_("Find out before a size is taken: no sum is laid out here.")),
        ]
    if _by_play(fit):
        return _play_into_preload(fit)
    reduces = fit.thicker == "reduces"
    low, high = fit.target
    first, last = (high, low) if reduces else (low, high)
    end = _("end of target")
    ends = ((_("t new, wanted"), _("aim"), aim_of(fit)), (_("t from"), end, first), (_("t to"), end, last))
    told = _("a thicker piece reduces the play") if reduces else _("a thicker piece increases the play")
    stack = fit.kind == "stack"
    gap = ((_("rest") if stack else _("play, mean"), ""),)
    before: _Terms = () if stack else ((_("t fitted, mean"), ""), _PLUS)
    lines: list[_Terms] = []
    for label, name, value in ends:
        known = ((name, str(value)),)
        one, other = (gap, known) if reduces else (known, gap)
        lines.append(((label, ""), _EQUALS, *before, *one, _MINUS, *other))
    if not stack:
        formula = _("t new = t fitted + play − aim") if reduces else _("t new = t fitted + aim − play")
        return [bold(f"{formula}     ({told})"), *map(Sum, lines)]
    both = _("rest = depth − plates together"), _("t new = rest − aim") if reduces else _("t new = aim − rest")
    formula = f"{';  '.join(both)}     ({told})"
    rest = (*gap, _EQUALS, (_("depth"), str(fit.depth or "")), _MINUS, (_("plates together"), ""))
    return [bold(formula), Sum((*rest, *lines[0])), Sum((*lines[1], *lines[2]))]


def _play_into_preload(fit: Fit) -> list[Piece]:
    """Return the sum that takes a play away and squeezes the bearings by the aim: it changes by both together."""
    thinner = fit.thicker == "reduces"
    low, high = fit.target
    ends = (high, low) if thinner else (low, high)
    formula = _("t new = t fitted − play − aim") if thinner else _("t new = t fitted + play + aim")
    told = _("a thicker piece reduces the preload") if thinner else _("a thicker piece increases the preload")
    found: list[Piece] = [bold(f"{formula}     ({told})")]
    end = _("end of target")
    for label, name, value in (
        (_("t new, wanted"), _("aim"), aim_of(fit)),
        (_("t from"), end, ends[0]),
        (_("t to"), end, ends[1]),
    ):
        sign = _MINUS if thinner else _PLUS
        fitted, play = (_("t fitted, mean"), ""), (_("play, mean"), "")
        found.append(Sum(((label, ""), _EQUALS, fitted, sign, play, sign, (name, str(value)))))
    return found


def _how_to_turn(fit: Fit) -> list[Piece]:
    arms = {"N·m": [_("Pull in N × radius in m.")], "lbf·in": [_("Pull in lbf × radius in in.")]}
    told = _("Turn it some ten times first. Read while it turns, never the pull that starts it.")
    two = _("Measure with two spacers, or once and again after a first change.")
    return [bold(two), Say(" ".join((*arms.get(fit.target[0].unit, []), told)))]


def _trials(fit: Fit, width: float) -> Iterator[Strip]:
    unit = fit.target[0].unit
    columns = (
        Column(_("TRIAL"), 16),
        Column(_("SPACER t, MEAN"), 34, "count"),
        Column(_("PULL, WHILE IT TURNS"), 38, "count"),
        Column(_("× RADIUS OF THE WIRE"), 38, "count"),
        Column(_("= TORQUE, {unit}").format(unit=unit), 34, "count"),
        Column(_("− DRAG OF THE SEALS"), 38, "count"),
        Column(_("= PRELOAD T, {unit}").format(unit=unit), 36, "count"),
        Column(_("REMARK"), 0, "write"),
    )
    table = Table(columns, width, "fit trials")
    yield table.head
    for number in range(1, _TRIALS + 1):
        yield from table.row(str(number), [[bold(f"{number}", HEADING)]])


def _line_through_trials(fit: Fit) -> list[Piece]:
    known = (_("aim"), str(aim_of(fit)))
    return [
        bold(_("t new = t2 + (aim − T2) × (t1 − t2) ÷ (T1 − T2)")),
        Sum((("a", ""), _EQUALS, known, _MINUS, ("T2", ""))),
        Sum((("b", ""), _EQUALS, ("t1", ""), _MINUS, ("t2", ""))),
        Sum((("c", ""), _EQUALS, ("T1", ""), _MINUS, ("T2", ""))),
        Sum(((_("t new, wanted"), ""), _EQUALS, ("t2", ""), _PLUS, ("a", ""), _TIMES, ("b", ""), _BY, ("c", ""))),
        Say(_check_of_trials(fit), SMALL),
    ]


def _check_of_trials(fit: Fit) -> str:
    if fit.thicker is None:
        told = _("Which way a thicker piece works is {unknown}: the two trials must show it.")
        return told.format(unknown=wording.not_recorded())
    return must_show(fit.thicker)


def _choose(view: JobView, fit: Fit) -> list[Piece]:
    """Return the sizes that there are, to circle one, and boxes for what is taken."""
    window = not _by_torque(fit)
    nearest = _("the nearest to t new, between t from and t to") if window else _("the nearest to t new")
    pieces: list[Piece] = [Say(nearest)]
    setter = _setter(view, fit)
    taken = Boxes((_("t taken, as marked"), _("as measured"), _("gauge")), (26.0, WRITE[1]))
    if setter is None or setter.part.series is None:
        told = _("sizes {unknown}: write down what there is").format(unknown=wording.not_recorded())
        pieces.append(bold(told))
        return [*pieces, Boxes(("",) * SHIMS, (26.0, WRITE[1])), taken]
    series = view.profile.series[setter.part.series]
    sizes = series.listed()
    if len(sizes) <= _MOST_SIZES:
        pieces.append(Circle(tuple((str(size.value), series.numbers.get(str(size.value), "")) for size in sizes)))
    else:
        told = _("{count} sizes from {first} to {last}").format(count=len(sizes), first=sizes[0], last=sizes[-1])
        pieces.append(bold(told))
    told = _("in {unit}").format(unit=sizes[0].unit)
    told += _(", each within {tolerance}").format(tolerance=series.tol) if series.tol else ""
    told += ". " + _("Measure the piece itself: marks and colours are hints only.")
    if window:
        told += " " + _("None inside: is it seated, is a part missing or upside down?")
    pieces.append(Say(told, SMALL))
    if series.pieces > 1:
        told = _("up to {count} together, the fewest that do it; t taken is their sum").format(count=series.pieces)
        pieces.append(bold(told))
        numbers = range(1, shims(setter.part, series) + 1)
        labels = (*(_("piece {number}").format(number=number) for number in numbers), _("t taken"))
        return [*pieces, Boxes(labels, (24.0, 9.0))]
    return [*pieces, taken]


def _after(view: JobView, fit: Fit) -> tuple[list[Piece], list[Piece]]:
    if _by_play(fit):
        return _after_preload(fit)
    own, other = fit_limits(fit)
    first: list[Piece] = []
    if fit.thicker and fit.kind == "stack":
        sign = _MINUS if fit.thicker == "reduces" else _PLUS
        first.append(Sum(((_("predicted play"), ""), _EQUALS, (_("rest"), ""), sign, (_("t taken"), ""))))
    elif fit.thicker and fit.kind != "preload":
        fitted, taken = (_("t fitted"), ""), (_("t taken"), "")
        one, two = (fitted, taken) if fit.thicker == "reduces" else (taken, fitted)
        first.append(Sum(((_("predicted play"), ""), _EQUALS, (_("play, mean"), ""), _PLUS, one, _MINUS, two)))
    inside = _("inside {target}").format(target=own) + (f" ({other})" if other else "")
    first.append(Ticks((inside, _("outside: not accepted, back to 1")), columns=2, face="bold"))
    found: list[Piece] = [series_boxes(fit.times, spread_words(fit.spread))]
    if thin := _thin(view, fit):
        told = _(
            "Found minus predicted is one of these, or twice it? Look for that part missing, doubled or upside down:"
        )
        found.append(Say(f"{told} {thin}.", SMALL))
    return first, found


def _after_preload(fit: Fit) -> tuple[list[Piece], list[Piece]]:
    """Return what is looked at when a play has become a preload: no dial shows it any more."""
    own, other = fit_limits(fit)
    inside = _("inside {target}").format(target=own) + (f" ({other})" if other else "")
    first: list[Piece] = []
    if fit.thicker:
        fitted, taken = (_("t fitted"), ""), (_("t taken"), "")
        one, two = (fitted, taken) if fit.thicker == "reduces" else (taken, fitted)
        terms = ((_("predicted preload"), ""), _EQUALS, one, _MINUS, two, _MINUS, (_("play, mean"), ""))
        first.append(Sum(terms))
    first.append(Ticks((inside, _("outside: not accepted, back to 1")), columns=2, face="bold"))
    looked = (_("no play left"), _("turns evenly, no tight place"))
    torque = _("torque, while it turns; what it must be: {unknown}").format(unknown=wording.not_recorded())
    return first, [Ticks(looked, columns=2), Say(torque, SMALL), series_boxes(fit.times)]


def _thin(view: JobView, fit: Fit) -> str:
    """Return the nominal thickness of what counts for a play; empty where it is not about one, or none is known."""
    found = []
    for part in dict.fromkeys(filter(None, (fit.set_by, *fit.chain))) if fit.kind in _PLAYS else ():
        for each in view.teardown.of(part)[:1]:
            if thick := size(each.part.form, "t"):
                found.append(f"{each.step_words} {name_of(each.part)} ({thick})")
    return "; ".join(found)
