"""Hints at fits that nobody can set, and at series that cannot reach them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Final

from labelkit.calc.selective import Pieces
from labelkit.errors import UsageError
from labelkit.load.yamltree import FieldPath
from labelkit.model.form import size
from labelkit.model.part import Part
from labelkit.model.profile import Fit, Series
from labelkit.model.ringform import FlatSpring
from labelkit.sheets.hints.subject import Found, Rule, Subject, at, listed, measured
from labelkit.units import number


def _fits(subject: Subject) -> Iterator[tuple[FieldPath, str, Fit, Part | None]]:
    """Yield each fit with its place, its name and the part that sets it."""
    for name, fit in subject.profile.fits.items():
        setter = subject.known.get(fit.set_by or "")
        yield ("fits", name), name, fit, setter.part if setter else None


def _series(subject: Subject, part: Part | None) -> Series | None:
    return subject.profile.series.get(part.series) if part and part.series else None


def fit_not_set(subject: Subject) -> Iterator[Found]:
    """A play that is measured, and nothing changes it."""
    for path, name, _, setter in _fits(subject):
        if setter is None:
            yield (
                path,
                f"nothing sets {name}: the page can only say that it is out; write set_by: the shim, plate or ring "
                f"that is chosen, and thicker: reduces or increases",
            )


def sign_missing(subject: Subject) -> Iterator[Found]:
    """With the sign reversed the play doubles instead of shrinking."""
    for path, name, fit, setter in _fits(subject):
        if setter and fit.thicker is None:
            yield (
                path,
                f"nothing says what a thicker {setter.id} does to {name}: no size can be chosen, and with the wrong "
                f"sign the play doubles; write thicker: reduces or thicker: increases",
            )


def series_missing(subject: Subject) -> Iterator[Found]:
    """Without the sizes there are the sum ends with a figure that nobody sells."""
    for path, name, _, setter in _fits(subject):
        if setter and setter.series is None:
            yield (
                (*path, "set_by"),
                f"{setter.id} sets {name} and has no series: which sizes there are is not known; write series: at "
                f"{setter.id}, and its sizes under series:",
            )


def pieces_missing(subject: Subject) -> Iterator[Found]:
    """A sum for one piece, where several lie together, is wrong by all the others."""
    for entry in subject.entries:
        series, qty = _series(subject, entry.part), entry.part.qty
        if series and qty != "set" and qty > series.pieces:
            yield (
                ("series", entry.part.series or "", "pieces"),
                f"{qty} {entry.part.id} lie together, and a choice from the series takes {series.pieces}; write "
                f"pieces: {qty}, or qty: 1 where they lie in several places",
            )


def setter_not_measured(subject: Subject) -> Iterator[Found]:
    """The sum starts from what was fitted; after the wash nobody knows it."""
    for path, name, _, setter in _fits(subject):
        if setter and not measured(setter):
            thick = any((check.measure or "").casefold().startswith("thickness") for check in setter.check)
            yield (
                (*path, "set_by"),
                f"{setter.id} sets {name}, and no check that measures it is kept for the sum, which starts from the "
                "thickness that was in; "
                + (
                    f"write keep: true at the check of the thickness of {setter.id}"
                    if thick
                    else f"write at {setter.id} check: [{{measure: thickness, at: apart, readings: 3, keep: true}}]"
                ),
            )


def too_coarse(subject: Subject) -> Iterator[Found]:
    """Steps wider than the target leave plays that no size brings into it.

    Where several pieces go in together, stacks up to the largest single size are looked at: beyond it gaps are wide in
    every series and nobody piles so high.
    """
    for path, _, fit, setter in _fits(subject):
        series = _series(subject, setter)
        low, high = fit.target
        totals = _totals(series) if series and low.kind == "length" else ()
        gap = max(pairwise(totals), key=lambda pair: pair[1] - pair[0], default=None)
        if gap and gap[1] - gap[0] > high.mm - low.mm:
            yield (
                (*path, "target"),
                f"the target is {high.mm - low.mm:f} mm wide, and from {gap[0]:f} to {gap[1]:f} mm the series "
                f"{setter.series if setter else ''} has no size: some readings have no answer; write the sizes "
                f"between into sizes:, or pieces: where several may go in together",
            )


def _totals(series: Series) -> Sequence[Decimal]:
    """Return the thicknesses that can be put in up to the largest single size, rising; none of what cannot be meant."""
    sizes = series.thicknesses()
    try:
        return [total for total in Pieces(sizes, most=series.pieces).totals if total <= max(sizes)]
    except UsageError:
        return ()


def tolerance_missing(subject: Subject) -> Iterator[Found]:
    """A size that is only stamped may bring the play to the wrong side of its limit."""
    for name, series in subject.profile.series.items():
        setters = [setter.id for _, _, _, setter in _fits(subject) if setter and setter.series == name]
        if setters and series.tol is None:
            yield (
                ("series", name),
                f"{name} has no tolerance: the choice of {listed(setters)} takes the sizes as exact, and does not warn "
                f'where a piece must be measured; write tol: "0.01", or what the sizes are made to',
            )


def size_left_out(subject: Subject) -> Iterator[Found]:
    """Equal steps with one that is twice or three times as wide: a size was forgotten."""
    for name, series in subject.profile.series.items():
        sizes = sorted(series.thicknesses())
        steps = [high - low for low, high in pairwise(sizes)]
        if series.pieces > 1 or len(steps) < 4:
            continue
        usual, times = Counter(steps).most_common(1)[0]
        wide = [(low, high) for low, high in pairwise(sizes) if high - low != usual]
        if times == len(steps) - 1 and wide[0][1] - wide[0][0] in (2 * usual, 3 * usual):
            low, high = wide[0]
            yield (
                ("series", name),
                f"{name} rises in steps of {usual:f} mm, but from {low:f} to {high:f} mm: is {low + usual:f} left "
                f"out? Add it to sizes:, or leave the list as it is where it is not made",
            )


def size_not_in_series(subject: Subject) -> Iterator[Found]:
    """What lies in the unit is one of the sizes there are, or was never one of them."""
    for entry in subject.entries:
        series, t = _series(subject, entry.part), size(entry.part.form, "t")
        if series is None or t is None or entry.part.qty not in (1, "set"):
            continue
        try:
            totals = Pieces(series.thicknesses(), most=series.pieces).totals
        except UsageError:
            continue
        if t.mm not in totals:
            yield (
                at(entry, "form"),
                f"{entry.part.id} is {t} thick, and its series {entry.part.series} has no such size: the wrong one "
                f"would be ordered; correct t:, or add the size to the series",
            )


def series_without_numbers(subject: Subject) -> Iterator[Found]:
    """A size that was chosen and cannot be ordered."""
    for name, series in subject.profile.series.items():
        numbered = {number(key) for key in series.numbers}
        missing = [str(size.value) for size in series.listed() if size.value not in numbered]
        if series.numbers and missing:
            yield (
                ("series", name, "numbers"),
                f"{name} has no number for {listed(missing)}: that size cannot be ordered; write it into numbers:",
            )


def series_without_fit(subject: Subject) -> Iterator[Found]:
    """A graded part is chosen by something."""
    setters = {fit.set_by for fit in subject.profile.fits.values()}
    for entry in subject.entries:
        if entry.part.series and entry.part.id not in setters:
            yield (
                at(entry, "series"),
                f"{entry.part.id} comes in sizes, and no fit says which is right: the rebuilder can only put back "
                f"what was in; write under fits: a fit with target: and set_by: {entry.part.id}",
            )


def stack_out_of_target(subject: Subject) -> Iterator[Found]:
    """With every plate at its own size, no size of the series brings the clearance into its target."""
    for path, name, fit, setter in _fits(subject):
        pack = subject.known.get(fit.of or "")
        series = _series(subject, setter)
        if fit.kind != "stack" or fit.depth is None or pack is None or setter is None or series is None:
            continue
        inside = {child.id: child.form for child in pack.part.parts}
        counted = [each for each in pack.part.stack if (not fit.chain or each in fit.chain) and each != setter.id]
        plates = [size(inside.get(each), "t") for each in counted]
        bends = any(isinstance(inside.get(each), FlatSpring) for each in counted)
        if bends or None in plates:
            continue
        rest = fit.depth.mm - sum((plate.mm for plate in plates if plate), Decimal(0))
        low, high = fit.target
        plays = [rest - thick for thick in series.thicknesses()]
        if plays and not any(low.mm <= play <= high.mm for play in plays):
            yield (
                (*path, "depth"),
                f"depth {fit.depth} less the plates leaves {rest:f} mm, and with {setter.id} from "
                f"{min(series.thicknesses()):f} to {max(series.thicknesses()):f} mm the clearance is {min(plays):f} to "
                f"{max(plays):f} mm, never {low} to {high}: correct depth:, stack:, chain: or a thickness of {name}",
            )


def wave_state_missing(subject: Subject) -> Iterator[Found]:
    """A clearance with the wave plate free is larger than with it flat by all that it springs."""
    for path, name, fit, _ in _fits(subject):
        pack = subject.known.get(fit.of or "")
        plates = (*(pack.part.parts if pack else ()), *(subject.known[each].part for each in fit.chain))
        springs = [part.id for part in plates if isinstance(part.form, FlatSpring)]
        told = set((fit.state or "").casefold().split())
        if fit.kind in ("clearance", "stack") and springs and not told & {"free", "flat"}:
            yield (
                path,
                f"{name} does not say whether {listed(springs)} is free or pressed flat when the clearance is "
                f"measured: the two differ by all that it springs; write state: wave free, or state: wave flat",
            )


def spread_too_wide(subject: Subject) -> Iterator[Found]:
    """Readings that may differ by more than the target is wide decide nothing."""
    for path, name, fit, _ in _fits(subject):
        low, high = fit.target
        if fit.spread and fit.spread.kind == low.kind and fit.spread.base >= high.base - low.base:
            yield (
                (*path, "spread"),
                f"readings of {name} may differ by {fit.spread}, and its target is {high.base - low.base:f} wide: they "
                f"decide nothing; write a smaller spread:, usual are 0.02 to 0.05 mm",
            )


def not_seated(subject: Subject) -> Iterator[Found]:
    """An end play that is read before the parts are seated reads false."""
    for path, name, fit, _ in _fits(subject):
        if fit.kind == "end_play" and not fit.seat:
            yield (
                path,
                f"nothing says how the parts are seated before {name} is read: unseated it reads false; write "
                f"seat: [turn the shaft, push down, set the dial to zero, pull up and read]",
            )


RULES: Final[Mapping[str, Rule]] = {
    "fit-not-set": fit_not_set,
    "sign-missing": sign_missing,
    "series-missing": series_missing,
    "pieces-missing": pieces_missing,
    "setter-not-measured": setter_not_measured,
    "series-too-coarse": too_coarse,
    "tolerance-missing": tolerance_missing,
    "size-left-out": size_left_out,
    "size-not-in-series": size_not_in_series,
    "size-without-number": series_without_numbers,
    "series-without-fit": series_without_fit,
    "stack-out-of-target": stack_out_of_target,
    "wave-state-missing": wave_state_missing,
    "spread-too-wide": spread_too_wide,
    "fit-not-seated": not_seated,
}
