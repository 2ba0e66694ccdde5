"""The words that labels, cards and the terminal share, so that one fact reads the same everywhere."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Final, NamedTuple

from labelkit import units
from labelkit.calc.washing import Treatment, treatment
from labelkit.language import gettext as _
from labelkit.language import ngettext, noop, pgettext
from labelkit.model.form import Shaft, Toothed
from labelkit.model.formbase import Form
from labelkit.model.part import SIGNALS, Check, Fasten, Part, RenewWith
from labelkit.model.profile import Fit, Header, Option
from labelkit.units import Quantity

# Where words begin that explain those before them.
_EXPLAINS: Final = re.compile(r" \(|[,;:] ")
# What a cut name does not end in.
_ENDS: Final = " ,;:-"

# Letters of what was chosen, at most, where it is said in short.
_BRIEF: Final = 24


# The texts of these tables are translated when they are said.
WASH: Final = {
    "basket": noop("basket"),
    "small_basket": noop("small parts basket"),
    "wipe": noop("wipe by hand"),
    "no_solvent": noop("no solvent"),
    "not_washed": noop("do not wash"),
    "before": noop("out before wash"),
}
RENEW: Final = {"always": noop("always renewed"), "if_worn": noop("renewed if worn"), "never": noop("not renewed")}
HELD: Final = {
    "loose": noop("lies loose"),
    "slip": noop("slip fit"),
    "pressed": noop("pressed in or on"),
    "staked": noop("staked"),
    "screwed": noop("screwed"),
    "ring": noop("held by a ring"),
    "behind": noop("captured behind"),
}
CHECK_AT: Final = {
    "before": noop("before the teardown"),
    "removal": noop("at removal"),
    "apart": noop("when apart"),
    "clean": noop("when clean"),
    "assembled": noop("when assembled"),
}
HAZARD_AT: Final = {
    "teardown": noop("during the teardown"),
    "removal": noop("when it comes out"),
    "wash": noop("at the wash"),
    "inspection": noop("at inspection"),
    "assembly": noop("when it goes in"),
}
# Source: the signal words and their meanings are those of ANSI Z535.4 (from memory).
_SIGNAL: Final = {
    "danger": noop("DANGER"),
    "warning": noop("WARNING"),
    "caution": noop("CAUTION"),
    "notice": noop("NOTICE"),
}
FIT_KINDS: Final = {
    "end_play": noop("end play"),
    "clearance": noop("clearance"),
    "stack": noop("stack"),
    "preload": noop("preload"),
}
_AIMS: Final = {
    "low": noop("aim for the low"),
    "middle": noop("aim for the middle"),
    "high": noop("aim for the high"),
}
_PATTERNS: Final = {"circle": noop("crosswise"), "row": noop("middle first"), "two_rows": noop("middle first")}


def capital(words: str) -> str:
    """Return words with a capital letter at their beginning, the others as they are."""
    return words[:1].upper() + words[1:]


def job_words(number: int, serial: str | None = None) -> str:
    """Return which job it is: `job 3, serial A-17`."""
    job = _("job {number}").format(number=number)
    return f"{job}, " + _("serial {serial}").format(serial=serial) if serial else job


def whose_words(header: Header, *more: str | None) -> str:
    """Return of which profile a sheet is, and what is said after that: `KR2, revision 5, job 3`."""
    revision = _("revision {revision}").format(revision=header.revision)
    return ", ".join(filter(None, (header.mark, revision, *more)))


def source_words(header: Header) -> str:
    """Return where the figures of a profile are from, in its own words; empty where it does not say."""
    source = header.source or ""
    return _("invented") if source.casefold() == "invented" else source


def brief_words(header: Header, job: str = "") -> str:
    """Return whose a label or sticker is: `KR2 r5 · job 3`."""
    return " · ".join(filter(None, (f"{header.mark} r{header.revision}", job, _("invented") * header.invented)))


def whose_brief(header: Header, job: str) -> tuple[str, ...]:
    """Return whose a sticker is, from the fullest words to the shortest: `KR2 r5 · job 3`, `KR2 · job 3`, `job 3`."""
    own = header.model_copy(update={"source": None})
    return tuple(dict.fromkeys((brief_words(header, job), brief_words(own, job), f"{header.mark} · {job}", job)))


def choice_brief(option: Option, choice: str | None) -> str:
    """Return what was chosen of an option in short: `Splined shaft`, `Ratio 16.8`; of an open one `Breather ?`.

    Its words up to what explains them; the option is named before them where they are a figure alone. Where they are
    long, or another choice begins with them, the choice's own mark stands for them: `Output end splined`.
    """
    if choice is None:
        return f"{option.name} ?"
    begins = {each: _EXPLAINS.split(words)[0] for each, words in option.choices.items()}
    words = begins[choice]
    if len(words) > _BRIEF or list(begins.values()).count(words) > 1:
        words = choice
    elif any(map(str.isalpha, words)):
        return words
    return f"{option.name} {words}"


def frame_words(header: Header) -> str:
    """Return which end of the unit is up, and from where the clock is read."""
    told = _("Up is the {up}; clock read from {end}.")
    return told.format(up=header.up, end=header.clock_from or not_recorded())


def not_recorded() -> str:
    """Return what is said of a fact that nobody recorded."""
    return _("NOT RECORDED")


def signal_word(signal: str) -> str:
    """Return the signal word of a hazard, in capitals."""
    return _(_SIGNAL[signal])


def quantity_words(part: Part) -> str:
    """Return how many: `× 6`, or `SET` where there is no fixed count."""
    return _("SET") if part.qty == "set" else f"× {part.qty}"


def mass_words(part: Part) -> str:
    """Return what a part weighs: `0.12 kg`, or `0.12 kg each, 0.48 kg in all`; empty when not recorded.

    Where there is no fixed count it is the mass of one piece.
    """
    if part.mass is None or part.qty == 1:
        return str(part.mass or "")
    if part.qty == "set":
        return _("{mass} each").format(mass=part.mass)
    whole = Quantity(part.mass.value * part.qty, part.mass.unit)
    return _("{mass} each, {whole} in all").format(mass=part.mass, whole=whole)


class Loud(NamedTuple):
    """What must be shouted: in full, and in short for the smallest label."""

    words: str
    short: str


def loud_facts(part: Part, inside: Sequence[Part] = ()) -> tuple[Loud, ...]:
    """Return what a label must shout, the most dangerous first.

    Args:
        part: the part.
        inside: the captured parts that stay inside it; their cautions have no other label to stand on.
    """
    signals = [hazard.signal for each in (part, *inside) for hazard in each.hazards if hazard.hurts]
    if not signals:
        return tuple(_shouted(part, inside))
    word = signal_word(min(signals, key=SIGNALS.index))
    return (Loud(_("{signal}: SCAN FIRST").format(signal=word), word), *_shouted(part, inside))


def loud_words(part: Part, inside: Sequence[Part] = ()) -> tuple[str, ...]:
    """Return the same where the cautions themselves stand beside it, so that nobody is sent to scan for them."""
    return tuple(fact.words for fact in _shouted(part, inside))


def _shouted(part: Part, inside: Sequence[Part]) -> Iterator[Loud]:
    if part.thread == "left":
        yield Loud(_("LEFT-HAND THREAD"), _("LEFT-HAND"))
    if mass := part.lift:
        yield Loud(_("LIFT {mass}").format(mass=mass), pgettext("in short", "LIFT {mass}").format(mass=mass))
    if part.wash == "before":
        yield Loud(_("OUT BEFORE WASH"), _("BEFORE WASH"))
    if part.new_only:
        yield Loud(_("NEW ONLY"), _("NEW ONLY"))
    if count := len(inside):
        whole = ngettext("{count} STAYS INSIDE", "{count} STAY INSIDE", count).format(count=count)
        yield Loud(whole, _("{count} INSIDE").format(count=count))


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
    if isinstance(form, Toothed):
        module = form.module
        said = module.value if module.unit == "mm" else module
        return _("{teeth} teeth, module {module}").format(teeth=form.teeth, module=said)
    if isinstance(form, Shaft):
        lengths = [length for _, length in form.steps]
        total = sum((length.mm for length in lengths), Decimal(0)) / units.FACTORS[lengths[0].unit][1]
        return _("{length} long").format(length=f"{plain(round(total, 4))} {lengths[0].unit}")
    named = [getattr(form, name) for name in type(form).model_fields]
    sizes = [size for size in named if isinstance(size, Quantity)][:3]
    if len({size.unit for size in sizes}) > 1:
        return " × ".join(map(str, sizes))
    return f"{' × '.join(str(size.value) for size in sizes)} {sizes[0].unit}" if sizes else ""


def check_words(check: Check) -> str:
    """Return what to look at or to measure at an inspection point, without when and what else to do."""
    if check.look:
        words = _("Look: {look}").format(look=check.look)
    else:
        words = _("Measure {what}: {limits}").format(what=check.measure, limits=limit_words(check))
        if check.readings and check.readings > 1:
            words += _(", {count} readings").format(count=check.readings)
        if check.spread:
            words += _(", spread at most {spread}").format(spread=check.spread)
    if check.each:
        words += _(", at each of {count}").format(count=check.each)
    return words + (_(", with {tool}").format(tool=check.tool) if check.tool else "")


def limit_words(check: Check) -> str:
    """Return the limits of a measurement; where the profile gives none, say so, or that it is kept."""
    words = span_words(check.min, check.max) or (_("write it down") if check.keep else _("no limit given"))
    return f"{words} ({check.unit})" if check.unit else words


def span_words(low: Quantity | None, high: Quantity | None) -> str:
    """Return limits in words: `0.40 to 0.60 mm`, `at most 0.05 mm`; empty where there is none."""
    if low and high:
        return _("{low} to {high}").format(low=low.value if low.unit == high.unit else low, high=high)
    if low:
        return _("at least {low}").format(low=low)
    return _("at most {high}").format(high=high) if high else ""


def fit_words(fit: Fit) -> str:
    """Return a play, clearance or preload and where it must lie: `end play 0.40 to 0.60 mm, aim for the middle`."""
    words = f"{_(FIT_KINDS[fit.kind])} {span_words(*fit.target)}"
    if fit.state:
        words += f", {fit.state}"
    aim = _(_AIMS[fit.aim]) if isinstance(fit.aim, str) else _("aim for {size}").format(size=fit.aim)
    return f"{words}, {aim}"


def fasten_words(fasten: Fasten, pieces: int | str) -> str:
    """Return how it is tightened, the torque in three units."""
    words: list[str] = []
    if fasten.torque:
        words.append(torque_words(fasten.torque))
    if fasten.angle and fasten.angle.value:
        words.append(_("then {angle}°").format(angle=plain(fasten.angle.value)))
    if fasten.passes:
        shares = ", ".join(f"{plain(share * 100)} %" for share in fasten.passes)
        words.append(_("passes {shares}").format(shares=shares))
    if isinstance(fasten.pattern, tuple):
        words.append(_("order {places}").format(places="-".join(map(str, fasten.pattern))))
    elif fasten.pattern and pieces != 1:
        words.append(_(_PATTERNS[fasten.pattern]))
    if fasten.oiled is not None:
        words.append(_("oiled") if fasten.oiled else _("dry"))
    return ", ".join(words)


def torque_words(torque: Quantity) -> str:
    """Return a torque as it was written, and in the two other units: `25 N·m (18.4 lbf·ft, 221 lbf·in)`."""
    others = [
        f"{_three_digits(torque.newton_metres / units.FACTORS[unit][1])} {unit}"
        for unit in ("N·m", "lbf·ft", "lbf·in")
        if unit != torque.unit
    ]
    return f"{torque} ({', '.join(others)})"


def wash_words(part: Part, inside: Iterable[Part] = ()) -> str:
    """Return how the part is washed; empty where nobody says, and of what is thrown away once it is out.

    Args:
        part: an entry of the profile.
        inside: what stays inside it.
    """
    thrown_away = part.new_only and part.wash != "before"
    return "" if thrown_away else treatment_words(treatment(part, inside))


def treatment_words(how: Treatment) -> str:
    """Return how a part is washed, and because of what inside it where that is not its own class; empty: not said."""
    words = _(WASH[how.wash]) if how.wash else ""
    told = _("{how}, for what stays inside it: {parts}")
    return (
        told.format(how=words, parts=", ".join(dict.fromkeys(map(short_name, how.because)))) if how.because else words
    )


def renew_words(part: Part, names: dict[str, str]) -> str:
    """Return when the part is renewed; `names` gives part names by id."""
    if isinstance(part.renew, RenewWith):
        words = _("renewed with {name}").format(name=names.get(part.renew.part, part.renew.part))
    else:
        words = _(RENEW[part.renew]) if part.renew else ""
    if part.one_time:
        words += ("; " if words else "") + _("used once only")
    return words


def verdicts_of(part: Part) -> tuple[str, ...]:
    """Return what may become of an old part as a whole: of what is renewed in any case none is good, or repaired."""
    return ("replace", "ask") if part.new_only else ("replace", "ask", "repair", "reuse")


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
