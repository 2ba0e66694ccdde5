"""The words that labels, cards and the terminal share, so that one fact reads the same everywhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from labelkit import forms, units
from labelkit.model.form import Form
from labelkit.model.part import Check, Fasten, Part, RenewWith
from labelkit.model.profile import Fit
from labelkit.model.scalars import Clock
from labelkit.units import Quantity

# What a cut name does not end in.
_ENDS: Final = " ,;:-"

Known = Literal["known", "free", "missing"]

NOT_RECORDED: Final = "NOT RECORDED"
# From here on a part is lifted with care: its mass is said aloud. Common practice, no source.
HEAVY_KG: Final = Decimal(10)

WASH: Final = {
    "basket": "BASKET",
    "small_basket": "SMALL PARTS BASKET",
    "wipe": "WIPE BY HAND",
    "no_solvent": "NO SOLVENT",
    "not_washed": "DO NOT WASH",
    "before": "OUT BEFORE WASH",
}
RENEW: Final = {"always": "always renewed", "if_worn": "renewed if worn", "never": "not renewed"}
HELD: Final = {
    "loose": "lies loose",
    "slip": "slip fit",
    "pressed": "pressed in or on",
    "staked": "staked",
    "screwed": "screwed",
    "ring": "held by a ring",
    "behind": "captured behind",
}
CHECK_AT: Final = {
    "before": "before the teardown",
    "removal": "at removal",
    "apart": "when apart",
    "clean": "when clean",
    "assembled": "when assembled",
}
HAZARD_AT: Final = {
    "teardown": "during the teardown",
    "removal": "when it comes out",
    "wash": "at the wash",
    "inspection": "at inspection",
    "assembly": "when it goes in",
}


# Forms whose end has a name that everybody in the trade uses; of the others the profile's own words say more.
_OWN_WORDS: Final = ("lip_seal", "thrust_bearing", "taper_cone", "taper_cup", "disc_spring", "snap_ring")


@dataclass(frozen=True, slots=True)
class Way:
    """Which way a part sits.

    Attributes:
        text: two or three words in capitals.
        known: whether it is known, free or not recorded.
        opens: where the form's characteristic end points, None when that is not recorded or it has none.
        face: the words of the profile for the face that is up, or for where a face looks; empty when there are none.
    """

    text: str
    known: Known
    opens: Literal["up", "down"] | None
    face: str


def looks_toward(face: str) -> bool:
    """Say whether a face tells for itself where it looks, as `bronze toward planet`, whichever end that is.

    The pieces of one bin may lie opposite ways up: one each side of a planet, the bronze of both toward it.
    """
    return "toward" in face.lower().split()


def way(part: Part) -> Way:
    """Return which way a part sits; what is not recorded says so."""
    sits = part.sits
    if sits is None or (sits.up is None and sits.opens is None):
        return Way(NOT_RECORDED, "missing", None, "")
    if sits.up == "free":
        return Way("EITHER WAY", "free", None, "")
    face = sits.up or ""
    named = part.form is not None and (part.form.kind in _OWN_WORDS or not face)
    if sits.opens and part.form and named and forms.direction(part.form):
        return Way(f"{part.form.way} {sits.opens.upper()}", "known", sits.opens, face)
    if face:
        return Way(face.upper() if looks_toward(face) else f"{face.upper()} UP", "known", sits.opens, face)
    return Way(f"OPEN {str(sits.opens).upper()}", "known", sits.opens, face)


def clock_words(part: Part) -> tuple[str, Known]:
    """Return a part's clock position: `6 o'clock`, `6:30`, `FREE` or `NOT RECORDED`."""
    clock = part.sits.clock if part.sits else None
    if clock is None:
        return NOT_RECORDED, "missing"
    if clock == "free" or not isinstance(clock, Clock):
        return "FREE", "free"
    hour, minute = str(clock).split(":")
    return (f"{hour} o'clock" if minute == "00" else str(clock)), "known"


def hour_words(part: Part) -> str:
    """Return the hour beside a dial: `6:30`, `FREE` or `NOT REC.`"""
    sits = part.sits
    return "NOT REC." if sits is None or sits.clock is None else str(sits.clock).upper()


def sits_words(part: Part) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return way and clock as pieces of one line, short and in full; only the short leave out that the clock is free.

    A clock that is not recorded is told from one that is free also on the smallest label.
    """
    words, known = way(part), clock_words(part)[1]
    if words.known == known == "missing":
        return (NOT_RECORDED,), (NOT_RECORDED,)
    if known == "free":
        return (words.text,), (f"{words.text},", "FREE")
    if known == "known":
        hour = (f"{words.text},", hour_words(part))
        return hour, hour
    return (f"{words.text},", "CLOCK ?"), (f"{words.text},", "CLOCK NOT RECORDED")


def quantity_words(part: Part) -> str:
    """Return how many: `× 6`, or `SET` where there is no fixed count."""
    return "SET" if part.qty == "set" else f"× {part.qty}"


def mass_of(part: Part) -> Quantity | None:
    """Return the mass of all pieces of a part, as far as it is known."""
    if part.mass is None or part.qty == "set":
        return None
    return Quantity(part.mass.value * part.qty, part.mass.unit)


def mass_words(part: Part) -> str:
    """Return what a part weighs: `0.12 kg`, or `0.12 kg each, 0.48 kg in all`; empty when not recorded.

    Where there is no fixed count it is the mass of one piece.
    """
    whole = mass_of(part)
    if part.mass is None or part.qty == 1:
        return str(part.mass or "")
    return f"{part.mass} each" + (f", {whole} in all" if whole else "")


def loud_words(part: Part, *, inside: Sequence[Part] = (), on_card: bool = False) -> tuple[str, ...]:
    """Return what must be shouted, the most dangerous first.

    Args:
        part: the part.
        inside: the captured parts that stay inside it; their cautions have no other label to stand on.
        on_card: the cautions themselves stand beside these words, so that nobody is sent to scan for them.
    """
    words: list[str] = []
    if part.thread == "left":
        words.append("LEFT-HAND THREAD")
    signals = [hazard.signal for each in (part, *inside) for hazard in each.hazards if hazard.signal != "notice"]
    if signals and not on_card:
        worst = min(signals, key=("danger", "warning", "caution").index)
        words.append(f"{worst.upper()}: SCAN FIRST")
    each = part.mass
    if each is not None and each.kg >= HEAVY_KG:
        words.append(f"LIFT {plain(each.value)} {each.unit}")
    if part.wash == "before":
        words.append("OUT BEFORE WASH")
    if part.renew == "always" or part.one_time:
        words.append("NEW ONLY")
    if inside:
        words.append(f"{len(inside)} STAY{'S'[: len(inside) == 1]} INSIDE")
    return tuple(words)


def short_name(part: Part) -> str:
    """Return the label's name: `short`, or the name cut at a word to 24 letters."""
    if part.short:
        return part.short
    if len(part.name) <= 24:
        return part.name
    kept = part.name[:24] if part.name[24].isspace() else part.name[:24].rpartition(" ")[0]
    kept = kept.rstrip(_ENDS)
    if len(kept) == 24:  # no room for the ellipsis
        kept = kept.rpartition(" ")[0].rstrip(_ENDS)
    return (kept or part.name[:23].rstrip(_ENDS)) + "…"


def size_words(form: Form | None) -> str:
    """Return a form's sizes as a person writes them: `72 × 50 × 2.60 mm`."""
    if form is None:
        return ""
    if form.kind in ("gear", "ring_gear"):
        module = form.module  # type: ignore[attr-defined]
        return f"{form.teeth} teeth, module {module.value if module.unit == 'mm' else module}"  # type: ignore[attr-defined]
    if form.kind == "shaft":
        lengths = [length for _, length in form.steps]  # type: ignore[attr-defined]
        total = sum((length.mm for length in lengths), Decimal(0)) / units.FACTORS[lengths[0].unit][1]
        return f"{plain(round(total, 4))} {lengths[0].unit} long"
    named = [getattr(form, name) for name in type(form).model_fields]
    sizes = [size for size in named if isinstance(size, Quantity)][:3]
    if len({size.unit for size in sizes}) > 1:
        return " × ".join(map(str, sizes))
    return f"{' × '.join(str(size.value) for size in sizes)} {sizes[0].unit}" if sizes else ""


def check_words(check: Check) -> str:
    """Return what to look at or to measure at an inspection point, without when and what else to do."""
    if check.look:
        words = f"Look: {check.look}"
    else:
        words = f"Measure {check.measure}: {limit_words(check)}"
        if check.readings:
            words += f", {check.readings} readings"
        if check.spread:
            words += f", spread at most {check.spread}"
    if check.each:
        words += f", at each of {check.each}"
    return words + (f", with {check.tool}" if check.tool else "")


def limit_words(check: Check) -> str:
    """Return the limits of a measurement; where the profile gives none, say so, or that it is kept."""
    if check.min and check.max and check.min.unit == check.max.unit:
        return f"{check.min.value} to {check.max.value} {check.max.unit}"
    if check.min and check.max:
        return f"{check.min} to {check.max}"
    if check.min:
        return f"at least {check.min}"
    if check.max:
        return f"at most {check.max}"
    return "write it down" if check.keep else "no limit given"


def fit_words(fit: Fit) -> str:
    """Return a play, clearance or preload and where it must lie: `end play 0.40 to 0.60 mm, aim for the middle`."""
    low, high = fit.target
    band = f"{low.value} to {high.value} {high.unit}" if low.unit == high.unit else f"{low} to {high}"
    words = f"{fit.kind.replace('_', ' ')} {band}"
    if fit.state:
        words += f", {fit.state}"
    return f"{words}, aim for {'the ' * isinstance(fit.aim, str)}{fit.aim}"


def fasten_words(fasten: Fasten, pieces: int | str) -> str:
    """Return how it is tightened, the torque in three units."""
    words: list[str] = []
    if fasten.torque:
        words.append(torque_words(fasten.torque))
    if fasten.angle and fasten.angle.value:
        words.append(f"then {plain(fasten.angle.value)}°")
    if fasten.passes:
        words.append("passes " + ", ".join(f"{plain(share * 100)} %" for share in fasten.passes))
    if isinstance(fasten.pattern, tuple):
        words.append("order " + "-".join(map(str, fasten.pattern)))
    elif fasten.pattern and pieces != 1:
        words.append({"circle": "crosswise", "row": "middle first", "two_rows": "middle first"}[fasten.pattern])
    if fasten.oiled is not None:
        words.append("oiled" if fasten.oiled else "dry")
    return ", ".join(words)


def torque_words(torque: Quantity) -> str:
    """Return a torque as it was written, and in the two other units: `25 N·m (18.4 lbf·ft, 221 lbf·in)`."""
    others = [
        f"{_three_digits(torque.newton_metres / units.FACTORS[unit][1])} {unit}"
        for unit in ("N·m", "lbf·ft", "lbf·in")
        if unit != torque.unit
    ]
    return f"{torque} ({', '.join(others)})"


def renew_words(part: Part, names: dict[str, str]) -> str:
    """Return when the part is renewed; `names` gives part names by id."""
    if isinstance(part.renew, RenewWith):
        words = f"renewed with {names.get(part.renew.part, part.renew.part)}"
    else:
        words = RENEW[part.renew] if part.renew else ""
    if part.one_time:
        words += ("; " if words else "") + "used once only"
    return words


def plain(value: Decimal) -> str:
    """Return a decimal without an exponent or needless zeros behind the point.

    >>> plain(Decimal("12.50")), plain(Decimal("1E+2"))
    ('12.5', '100')
    """
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _three_digits(value: Decimal) -> str:
    """Round to three significant digits, half up."""
    exponent = value.adjusted() - 2
    return plain(value.quantize(Decimal(1).scaleb(exponent), rounding="ROUND_HALF_UP"))
