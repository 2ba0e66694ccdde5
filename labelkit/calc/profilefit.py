"""What a profile says of a fit, by the names of the options of the fit's kind, as they would be typed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from labelkit.calc.clutchplay import Wave
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.model.form import size
from labelkit.model.part import Part
from labelkit.model.profile import Fit, Profile, Series
from labelkit.model.ringform import FlatSpring, FrictionPlate
from labelkit.units import Quantity

SHIMS: Final = 6
"""Room on forms for the pieces of a set that may have any number."""


def shims(part: Part, series: Series | None) -> int:
    """Return for how many pieces that lie together a form has room: those that are in, of the series, or of the set."""
    most = series.pieces if series else 1
    lie = part.qty if part.qty != "set" else SHIMS if most == 1 else 1
    return max(min(most, SHIMS), lie)


def given_of(
    profile: Profile, fit: Fit, options: dict[str, str | None], fitted: Sequence[Quantity] = ()
) -> dict[str, Any]:
    """Return what a profile says of a fit as it would be typed; what it does not say is left out.

    Args:
        profile: the profile.
        fit: one of its fits.
        options: of the job, by their group; None: open.
        fitted: sizes of the graded pieces that are in, where they are known: they count in the chain.

    Raises:
        UsageError: a stack with a plate whose thickness the profile does not give.
    """
    parts = {part.id: part for _, part in profile.walk() if part.matches(options) is not False}
    low, high = fit.target
    said: dict[str, Any] = {
        "target": f"{low}:{high}",
        "aim": str(fit.aim),
        "tie": fit.tie,
        "thicker": fit.thicker,
        "readings": fit.times,
        "spread": None if fit.spread is None else str(fit.spread),
        "seat": list(fit.seat),
        "depth": None if fit.depth is None else [str(fit.depth)],
        "unit": (fit.unit or low.unit) if fit.kind == "preload" else profile.unit.lengths,
        "chain": _chain(fit, parts, fitted),
    }
    said |= _series(profile, parts.get(fit.set_by or ""))
    if fit.kind in ("clearance", "stack"):
        said |= _pack(fit, parts)
    return {name: value for name, value in said.items() if value not in (None, [])}


def _series(profile: Profile, chosen: Part | None) -> dict[str, Any]:
    """Return the sizes there are of the part that sets a fit."""
    if chosen is None or chosen.series is None:
        return {}
    series = profile.series[chosen.series]
    # Steps stay steps: the answer then asks for the list of what there really is.
    stepped = ":".join(map(str, (series.first, series.to, series.step)))
    sizes = ",".join(map(str, series.listed())) if series.first is None else stepped
    return {"series": sizes, "tol": None if series.tol is None else str(series.tol), "pieces": series.pieces}


def _chain(fit: Fit, parts: Mapping[str, Part], fitted: Sequence[Quantity]) -> list[str]:
    """Return the parts of the chain that have a thickness, with it."""
    found: list[str] = []
    for each in fit.chain:
        part = parts.get(each)
        sign = f" {fit.thicker}" if each == fit.set_by and fit.thicker else ""
        thickness = _thickness(part) if part else None
        sizes = fitted if each == fit.set_by and fitted else (thickness,) if thickness else ()
        if part:
            found += [f"{part.name}={size}{sign}" for size in sizes]
    return found


def _pack(fit: Fit, parts: Mapping[str, Part]) -> dict[str, Any]:
    """Return the plates of the pack that a clearance is of, and the state of its wave plate."""
    pack = parts.get(fit.of or "")
    # A chain names those of a stack that count: what the depth is measured to lies in the pack, too.
    counted = Counter(each for each in pack.stack if not fit.chain or each in fit.chain) if pack else Counter(fit.chain)
    plates = [(parts[each], count) for each, count in counted.items() if each in parts]
    waves = [part.form for part, _ in plates if isinstance(part.form, FlatSpring)]
    lying = [parts[each].form for each in pack.stack if each in parts] if pack else waves
    has_wave = any(isinstance(form, FlatSpring) for form in lying)
    # A pack whose plates are all known and flat has none, whatever the limit says of its plates.
    state: Wave | None = (
        "none" if pack and not has_wave else _wave_state(fit.state or "", has_wave=has_wave or not plates)
    )
    frictions = (sum(count for part, count in plates if isinstance(part.form, FrictionPlate)) if pack else 0) or None
    said: dict[str, Any] = {"limit_state": state, "frictions": frictions}
    if len(waves) == 1:
        said["wave"] = str(_less(waves[0].h, waves[0].t))
    if fit.kind == "stack":
        said["state"] = state
        said["nominal"] = _nominal(fit, plates, state)
        # Typed by their ids, told as their labels call them.
        said["called"] = {part.id: part.short or part.name for part, _ in plates}
    elif state == "none":
        said["state"] = "none"
    return said


def _nominal(fit: Fit, plates: Iterable[tuple[Part, int]], state: Wave | None) -> list[str]:
    found: list[str] = []
    for part, count in plates:
        if part.id == fit.set_by:
            continue
        thickness = _thickness(part, free=state == "free")
        if thickness is None:
            told = _("the profile gives no thickness of {part}; use `labelkit fit stack` and name each plate")
            raise UsageError(told.format(part=part.id))
        found.append(f"{part.id}={count}x{thickness}")
    return found


def _wave_state(words: str, *, has_wave: bool) -> Wave | None:
    """Return how a limit means the wave plate by its words; None where there is one, and they do not tell."""
    told = words.casefold().split()
    if "free" in told:
        return "free"
    if "flat" in told:
        return "flat"
    return None if has_wave else "none"


def _thickness(part: Part, *, free: bool = False) -> Quantity | None:
    form = part.form
    if free and isinstance(form, FlatSpring):
        return form.h
    return size(form, "t")


def _less(height: Quantity, thickness: Quantity) -> Quantity:
    if height.unit == thickness.unit:
        return Quantity(height.value - thickness.value, height.unit)
    return Quantity(height.mm - thickness.mm, "mm")
