"""Fit sheets: the sum that decides a shim, plate or ring, laid out box by box, from the readings to the check after."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from labelkit.calc.assembly import partners
from labelkit.calc.steps import Bin
from labelkit.model.profile import Fit
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.worksheet import HEADING, SMALL, Sheet, Strip, note_strip, title_strip
from labelkit.sheets.worksheetcells import Boxes, Circle, Piece, Say, Sum, Ticks, bold
from labelkit.sheets.worksheetfacts import SHIMS, name_of, series_boxes, step_pieces
from labelkit.sheets.worksheetlimits import aim_of, fit_limits
from labelkit.sheets.worksheettable import Column, Table
from labelkit.units import Quantity

# A series of more sizes is written, not circled.
MOST_SIZES: Final = 84
# Kinds whose play a part that is missing or doubled changes by its thickness.
_PLAYS: Final = ("end_play", "clearance")
_GASKET: Final = ("gasket: none", "gasket: new, not pressed", "gasket: pressed", "unit and gauge COLD")
_EQUALS, _PLUS, _MINUS, _TIMES, _BY = "=", "+", "−", "×", "÷"
_TRIALS: Final = 2
# Width of the numbers of what is done, and of the sums beside the sizes, mm.
_NUMBERS: Final = 33.0
_SUMS: Final = 129.0


def fit_sheets(view: JobView, width: float) -> Iterator[Sheet]:
    """Yield a sheet for every fit that the unit has under its options."""
    for name, fit in view.profile.fits.items():
        if has_fit(view, fit):
            yield Sheet(f"FIT: {name.replace('-', ' ').upper()}", list(_fit(view, fit, width)))


def has_fit(view: JobView, fit: Fit) -> bool:
    """Say whether the unit has a fit under its options: what sets it is there, where the profile names it."""
    return fit.set_by is None or bool(view.teardown.of(fit.set_by))


def _fit(view: JobView, fit: Fit, width: float) -> Iterator[Strip]:
    yield from _facts(view, fit, width)
    form = Table((Column("", _NUMBERS), Column("", _SUMS), Column("", 0)), width, "fit")
    seat = tuple(f"{number}. {step}" for number, step in enumerate(fit.seat, start=1))
    first: list[Piece] = [Ticks(seat, columns=2)] if seat else [bold(f"how to seat it: {wording.not_recorded()}")]
    yield from form.row("seat", [[bold("1  Seat it", HEADING)], first, [Ticks(_GASKET, columns=2)]], rule=False)
    if fit.kind == "preload":
        yield from _trials(fit, width)
    elif fit.kind == "stack":
        yield from _plates(view, fit, width)
    else:
        yield from form.row("measure", [[bold("2  Measure", HEADING)], *_readings(view, fit)])
    title = bold("3  Work it out", HEADING)
    yield from form.row("sums", [[title], _sums(fit), _choose(view, fit)])
    yield from form.row("after", [[bold("5  Fit it, measure again", HEADING)], *_after(view, fit)])
    yield form.line_strip()


def _facts(view: JobView, fit: Fit, width: float) -> Iterator[Strip]:
    columns = (
        Column("TARGET", 58),
        Column("AIM", 44),
        Column("SET BY", 74),
        Column("A THICKER PIECE", 40),
        Column("COUNTS TOO", 0),
    )
    table = Table(columns, width, "fit facts")
    yield table.head
    own, other = fit_limits(fit)
    aim = aim_of(fit)
    named = f"{'the ' * (fit.aim == 'middle')}{fit.aim}: " if isinstance(fit.aim, str) else ""
    setters = view.teardown.of(fit.set_by) if fit.set_by else ()
    by = [bold(f"{each.step}{'?' * each.doubtful} {each.name}") for each in setters]
    what = "preload" if fit.kind == "preload" else "play"
    thicker = f"{fit.thicker} the {what}" if fit.thicker else wording.not_recorded()
    others = [each for part in (*fit.chain, fit.of) if part and part != fit.set_by for each in view.teardown.of(part)]
    told = "; ".join(f"{each.step} {name_of(each.part)}" for each in others)
    cells: list[list[Piece]] = [
        [bold(own), Say(f"= {other}" if other else ""), Say(f"measured with {fit.state}" if fit.state else "")],
        [bold(f"{named}{aim}")],
        [*by] or [bold(wording.not_recorded())],
        [bold(thicker)],
        [Say(told or "nothing else recorded")],
    ]
    yield from table.row("row", cells, boxes=False)
    yield table.line_strip()


def _spread(fit: Fit) -> str:
    return f"spread, at most {fit.spread}" if fit.spread else "spread"


def _readings(view: JobView, fit: Fit) -> tuple[list[Piece], list[Piece]]:
    piece: list[Piece] = [bold("t fitted: the piece that is in, measured at 3 places"), series_boxes(3)]
    setter = _setter(view, fit)
    if setter is None:
        piece.insert(0, bold(f"what sets it is {wording.not_recorded()}"))
    elif setter.part.qty == "set" or _pieces(view, setter) > 1:
        labels = (*(str(number) for number in range(1, SHIMS)), "t fitted")
        piece = [bold("t fitted: all pieces that are in, each measured, and their sum"), Boxes(labels)]
    play: list[Piece] = [
        bold("play: seat it again before every reading"),
        series_boxes(fit.readings or 3, _spread(fit)),
        Say("Spread too large: no mean; seat it again, take all readings anew. Every reading stays here.", SMALL),
    ]
    return piece, play


def _setter(view: JobView, fit: Fit) -> Bin | None:
    return next(iter(view.teardown.of(fit.set_by)), None) if fit.set_by else None


def _pieces(view: JobView, setter: Bin) -> int:
    return view.profile.series[setter.part.series].pieces if setter.part.series else 1


def _plates(view: JobView, fit: Fit, width: float) -> Iterator[Strip]:
    packs = view.teardown.of(fit.of) if fit.of else ()
    columns = (
        Column("STEP", 16.5),
        Column("PLATE", 84),
        Column("COUNTS", 14, "tick"),
        Column("PIECES", 22),
        Column("× THICKNESS, MEAN", 32, "count"),
        Column("= TOGETHER", 32, "count"),
        Column("REMARK", 0, "write"),
    )
    table = Table(columns, width, "fit plates")
    yield title_strip("2  Measure every plate that lies between the two faces of the depth", width)
    yield note_strip("Tick those plates. Leave out the others, and the selective one.", width)
    yield table.head
    for pack in packs:
        for part in dict.fromkeys(pack.part.stack):
            for each in partners(view.teardown, pack, part)[:1]:
                if part != fit.set_by:
                    told = f"× {pack.part.stack.count(part)}"
                    name: list[Piece] = [bold(each.name), Say(f"nominal {wording.size_words(each.part.form)}", SMALL)]
                    yield from table.row(each.step, [step_pieces(each), name, [bold(told)]])
    yield table.line_strip()


def _sums(fit: Fit) -> list[Piece]:
    """Return the formula and its boxes: the wanted size, and the two ends of the window."""
    if fit.kind == "preload":
        return _line_through_trials(fit)
    if fit.thicker is None:
        return [
            bold(f"Which way a thicker piece works is {wording.not_recorded()}."),
            Say("Find out before a size is taken: no sum is laid out here."),
        ]
    reduces = fit.thicker == "reduces"
    aim = aim_of(fit)
    low, high = fit.target
    first, last = (high, low) if reduces else (low, high)
    ends = (("t new, wanted", "aim", aim), ("t from", "end of target", first), ("t to", "end of target", last))
    found: list[Piece] = []
    if fit.kind == "stack":
        gap = (("rest", ""),)
        found.append(bold("rest = depth − plates together"))
        depth = ("depth", str(fit.depth or ""))
        found.append(Sum((("rest", ""), _EQUALS, depth, _MINUS, ("plates together", ""))))
        formula = "t new = rest − aim" if reduces else "t new = aim − rest"
        before: tuple[tuple[str, str] | str, ...] = ()
    else:
        gap = (("play, mean", ""),)
        formula = "t new = t fitted + play − aim" if reduces else "t new = t fitted + aim − play"
        before = (("t fitted, mean", ""), _PLUS)
    found.append(bold(f"{formula}     (a thicker piece {fit.thicker} the play)"))
    for label, name, value in ends:
        known = ((name, str(value)),)
        one, other = (gap, known) if reduces else (known, gap)
        found.append(Sum(((label, ""), _EQUALS, *before, *one, _MINUS, *other)))
    return found


def _trials(fit: Fit, width: float) -> Iterator[Strip]:
    unit = fit.target[0].unit
    columns = (
        Column("TRIAL", 16),
        Column("SPACER t, MEAN", 34, "count"),
        Column("PULL, WHILE IT TURNS", 38, "count"),
        Column("× RADIUS OF THE WIRE", 38, "count"),
        Column(f"= TORQUE, {unit}", 34, "count"),
        Column("− DRAG OF THE SEALS", 38, "count"),
        Column(f"= PRELOAD T, {unit}", 36, "count"),
        Column("REMARK", 0, "write"),
    )
    table = Table(columns, width, "fit trials")
    yield title_strip("2  Measure with two spacers, or once and again after a first change", width)
    arms = {"N·m": "Pull in N × radius in m. ", "lbf·in": "Pull in lbf × radius in in. "}.get(unit, "")
    told = "Turn it some ten times first. Read while it turns, never the pull that starts it."
    yield note_strip(f"{arms}{told}", width)
    yield table.head
    for number in range(1, _TRIALS + 1):
        yield from table.row(str(number), [[bold(f"{number}", HEADING)]])
    yield table.line_strip()


def _line_through_trials(fit: Fit) -> list[Piece]:
    known = ("aim", str(aim_of(fit)))
    return [
        bold("t new = t2 + (aim − T2) × (t1 − t2) ÷ (T1 − T2)"),
        Sum((("a", ""), _EQUALS, known, _MINUS, ("T2", ""))),
        Sum((("b", ""), _EQUALS, ("t1", ""), _MINUS, ("t2", ""))),
        Sum((("c", ""), _EQUALS, ("T1", ""), _MINUS, ("T2", ""))),
        Sum((("a × b ÷ c", ""), _EQUALS, ("a", ""), _TIMES, ("b", ""), _BY, ("c", ""))),
        Sum((("t new, wanted", ""), _EQUALS, ("t2", ""), _PLUS, ("a × b ÷ c", ""))),
        Say(_check_of_trials(fit), SMALL),
    ]


def _check_of_trials(fit: Fit) -> str:
    if fit.thicker is None:
        return f"Which way a thicker piece works is {wording.not_recorded()}: the two trials must show it."
    less = "less" if fit.thicker == "reduces" else "more"
    return f"The thicker spacer must have given {less} preload; otherwise a trial is wrong: seat it and read again."


def _choose(view: JobView, fit: Fit) -> list[Piece]:
    """Return the sizes that there are, to circle one, and boxes for what is taken."""
    window = "" if fit.kind == "preload" else ", between t from and t to"
    pieces: list[Piece] = [bold("4  Circle the size", HEADING), Say(f"the nearest to t new{window}")]
    setter = _setter(view, fit)
    name = setter.part.series if setter else None
    taken = Boxes(("t taken, as marked", "as measured", "gauge"), (32.0, 9.0))
    if name is None:
        pieces.append(bold(f"sizes {wording.not_recorded()}: write down what there is"))
        return [*pieces, Boxes(("",) * SHIMS, (32.0, 9.0)), taken]
    series = view.profile.series[name]
    sizes = series.listed()
    if len(sizes) <= MOST_SIZES:
        pieces.append(Circle(tuple((str(size.value), series.numbers.get(str(size.value), "")) for size in sizes)))
    else:
        pieces.append(bold(f"{len(sizes)} sizes from {sizes[0]} to {sizes[-1]}"))
    tol = f", each within {series.tol}" if series.tol else ""
    told = f"in {sizes[0].unit}{tol}. Measure the piece itself: marks and colours are hints only."
    if window:
        told += " None inside: is it seated, is a part missing or upside down?"
    pieces.append(Say(told, SMALL))
    if series.pieces > 1:
        pieces.append(bold(f"up to {series.pieces} together, the fewest that do it; t taken is their sum"))
        labels = (*(f"piece {number}" for number in range(1, min(series.pieces, SHIMS) + 1)), "t taken")
        return [*pieces, Boxes(labels, (24.0, 9.0))]
    return [*pieces, taken]


def _after(view: JobView, fit: Fit) -> tuple[list[Piece], list[Piece]]:
    own, other = fit_limits(fit)
    first: list[Piece] = []
    if fit.thicker and fit.kind == "stack":
        sign = _MINUS if fit.thicker == "reduces" else _PLUS
        first.append(Sum((("predicted play", ""), _EQUALS, ("rest", ""), sign, ("t taken", ""))))
    elif fit.thicker and fit.kind != "preload":
        one, two = ("t fitted", "t taken") if fit.thicker == "reduces" else ("t taken", "t fitted")
        first.append(Sum((("predicted play", ""), _EQUALS, ("play, mean", ""), _PLUS, (one, ""), _MINUS, (two, ""))))
    inside = f"inside {own}" + (f" ({other})" if other else "")
    first.append(Ticks((inside, "outside: not accepted, back to 1"), face="bold"))
    found: list[Piece] = [series_boxes(fit.readings or 3, _spread(fit))]
    if thin := _thin(view, fit):
        told = "Found minus predicted is one of these, or twice it? Look for that part missing, doubled or upside down:"
        found.append(Say(f"{told} {thin}.", SMALL))
    return first, found


def _thin(view: JobView, fit: Fit) -> str:
    """Return the nominal thickness of what counts for a play; empty where it is not about one, or none is known."""
    found = []
    for part in dict.fromkeys(filter(None, (fit.set_by, *fit.chain))) if fit.kind in _PLAYS else ():
        for each in view.teardown.of(part)[:1]:
            size = getattr(each.part.form, "t", None)
            if isinstance(size, Quantity):
                found.append(f"{each.step} {name_of(each.part)} {size}")
    return "; ".join(found)
