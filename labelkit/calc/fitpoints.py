"""What is open about a fit: it is not read, outside its target, or not as the chosen pieces were to make it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Final

from labelkit.calc.answers import places_of, shown
from labelkit.calc.covering import hidden_all_the_same
from labelkit.calc.fingerprint import Suspect, ThinPart, suspects
from labelkit.calc.fitsizes import expected, measured_since
from labelkit.calc.grades import chosen_words, other_size_in
from labelkit.calc.limits import Limits
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.selective import Thicker
from labelkit.calc.showing import USUAL_SHOW
from labelkit.calc.verdicts import value_of
from labelkit.language import gettext as _
from labelkit.model.acts import Deviation, Signature
from labelkit.model.events import Event
from labelkit.model.form import size
from labelkit.model.profile import Fit, fit_words
from labelkit.model.readings import FitChosen, Reading
from labelkit.units import FACTORS, Quantity

# How far a play may be from what was predicted where the fit states no spread, mm. Common practice, no source.
_NEAR: Final = Decimal("0.05")


def fit_points(record: Record, name: str) -> Iterator[str]:
    """Yield what is open about a fit: not read after the assembly, outside its target, or not as predicted."""
    fit, seen = record.profile.fits[name], record.fits[name]
    words = fit_words(name)
    members = record.of(*fit.parts)
    if not members:
        return
    if (part := chosen_not_in(record, name)) is not None:
        told = _("{fit}: {sizes} chosen, not in yet; {part} comes out again")
        yield told.format(fit=words, sizes=chosen_words(record, part.item.ordinal), part=part.name)
        return
    if seen.after is None or not isinstance(seen.after.act, Reading):
        if any(place.stage != "left_in" for place in members):
            yield _("{fit} is not read after the assembly").format(fit=words)
        return
    wrong = [_off_words(fit, name, seen.after.act)] if _is_off(fit, seen.after.act) else []
    if hint := _not_as_predicted(record, name):
        wrong.append(f"{words}: {hint}")
    if wrong and not _is_agreed(record, name, seen.after):
        yield from wrong


def chosen_not_in(record: Record, name: str) -> PlaceRecord | None:
    """Return what sets a fit, while it is in and another size was chosen for it since; None where it is to stay so."""
    chosen = record.fits[name].chosen
    for place in record.of(record.profile.fits[name].set_by or "") if chosen else ():
        found = other_size_in(record, place)
        if found and chosen and found[0].number < chosen.number:
            return place
    return None


def stays_off(record: Record, name: str) -> str:
    """Return that a fit is outside its target after the assembly, while nobody agreed to that; else empty."""
    fit, after = record.profile.fits[name], record.fits[name].after
    if after is None or not isinstance(after.act, Reading) or not _is_off(fit, after.act):
        return ""
    return "" if _is_agreed(record, name, after) else _off_words(fit, name, after.act)


def _is_agreed(record: Record, name: str, after: Event) -> bool:
    """Say whether somebody agreed to what a fit was read as after the assembly.

    That is a deviation that was noted since, of the job or of the piece that sets it, and that something went in over
    it all the same.
    """
    about = {None, *(place.item.ordinal for place in record.of(record.profile.fits[name].set_by or ""))}
    later = (e for e in record.deviations if e.number > after.number and isinstance(e.act, Deviation | Signature))
    return any(e.place in about for e in later) or hidden_all_the_same(record, name, after.number)


def to_choose_again(record: Record, name: str) -> bool:
    """Say whether another size is to be chosen for a fit that a piece sets: it is outside its target, and stays so.

    Not while it is off by what a part makes that is missing or there twice: another size would hide that.
    """
    return bool(record.profile.fits[name].set_by and stays_off(record, name)) and not to_look_for(record, name)


def to_look_for(record: Record, name: str) -> bool:
    """Say whether a fit is off by what a part of its chain makes that is missing, or there twice."""
    found = _off_by(record, name)
    return found is not None and bool(found[1])


def unchosen(record: Record, ordinal: int) -> Iterator[tuple[str, str]]:
    """Yield the fits that are to be chosen before the piece that sets them goes in again, and why.

    They were outside their target when the unit was found so, or other parts that count in them are new, and nobody
    has chosen a size since: with the old piece they are outside it again, or nobody knows what they are.

    Args:
        record: of the job.
        ordinal: of the place of the piece.
    """
    part = record.at(ordinal).item.part
    for name, fit in record.profile.fits.items():
        seen = record.fits[name]
        if fit.set_by != part.id or seen.chosen or seen.after:
            continue
        act = seen.before.act if seen.before else None
        others = (each for each in record.of(*record.profile.counted(fit)) if each.item.part.id != part.id)
        renewed = [each.name for each in others if each.item.ordinal in record.uses and not each.item.part.new_only]
        if isinstance(act, Reading) and _is_off(fit, act):
            low, high = fit.target
            told = _("{fit} was {value} before the teardown, the target is {low} to {high}: no size is chosen yet")
            yield name, told.format(fit=fit_words(name), value=_value_words(fit, act), low=low, high=high)
        elif renewed:
            told = _("{fit}: {parts} count in it and are new: no size is chosen yet")
            yield name, told.format(fit=fit_words(name), parts=", ".join(renewed))


def _is_off(fit: Fit, act: Reading) -> bool:
    """Say whether a reading, or what its sum came to, is outside the target of its fit."""
    return act.verdict in ("out", "none", "refused", "ask") or not Limits(*fit.target).allow(act.value, act.unit)


def _off_words(fit: Fit, name: str, act: Reading) -> str:
    low, high = fit.target
    told = _("{fit} is {value}, the target is {low} to {high}")
    return told.format(fit=fit_words(name), value=_value_words(fit, act), low=low, high=high)


def _value_words(fit: Fit, act: Reading) -> str:
    return f"{value_of(act, Limits(*fit.target))} {act.unit}"


def _not_as_predicted(record: Record, name: str) -> str:
    """Return what a play that is not as predicted looks like; empty when it is as predicted, or nothing was."""
    after, found = record.fits[name].after, _off_by(record, name)
    if after is None or not isinstance(after.act, Reading) or found is None:
        return ""
    off, parts = found
    told = _("measured {measured}, predicted {predicted}: difference {off}").format(
        measured=_value_words(record.profile.fits[name], after.act),
        predicted=expected(record, name),
        off=f"{shown(off, places_of(*after.act.values)):+} mm",
    )
    return f"{told}; {parts[0].words(USUAL_SHOW)}" if parts else told


def _off_by(record: Record, name: str) -> tuple[Decimal, tuple[Suspect, ...]] | None:
    """Return by how much a play is not as predicted, mm, and which parts of the chain, missing or there twice, make so.

    These are only hints. Tolerance: the fit's spread, else 0.05 mm. None when it is as predicted, or nothing was.
    """
    fit, seen, predicted = record.profile.fits[name], record.fits[name], expected(record, name)
    if seen.chosen is None or seen.after is None or predicted is None:
        return None
    chosen, after = seen.chosen.act, seen.after.act
    if not isinstance(chosen, FitChosen) or not isinstance(after, Reading):
        return None
    if fit.kind == "preload" or "length" not in (kinds := _kinds(chosen.unit, after.unit)) or len(kinds) > 1:
        return None
    off = Quantity(after.value, after.unit).mm - predicted.mm
    near = fit.spread.mm if fit.spread is not None else _NEAR
    if abs(off) <= near:
        return None
    sizes = measured_since(record, name) or tuple(Quantity(each, chosen.unit) for each in chosen.sizes)
    return off, tuple(suspects(off, tuple(_chain(record, fit, sizes)), near))


def _kinds(*names: str) -> set[str]:
    return {FACTORS[name][0] if name in FACTORS else "" for name in names}


def _chain(record: Record, fit: Fit, sizes: Iterable[Quantity]) -> Iterator[ThinPart]:
    """Yield the thin parts of a fit's chain: graded ones with the sizes of their pieces."""
    thicker: Thicker = fit.thicker or "reduces"
    for part in (part for _place, part in record.profile.walk() if part.id in {fit.set_by, *fit.chain}):
        thickness = size(part.form, "t")
        if part.series is not None:
            yield from (ThinPart(part.name, each.mm, thicker) for each in sizes)
        elif thickness is not None:
            yield ThinPart(part.name, thickness.mm, thicker)
