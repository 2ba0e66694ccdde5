"""What a fit offers to take, and what is written when it is taken: the reading and the choice."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final, cast

from labelkit.bench.acting import Wish
from labelkit.bench.fitdoubts import fit_doubts
from labelkit.bench.fitform import FitForm
from labelkit.bench.typed import in_one_unit
from labelkit.calc.answers import Answer
from labelkit.calc.notepieces import BETWEEN
from labelkit.language import gettext as _
from labelkit.sheets import keptnotes

NOTHING: Final = "readings only"


@dataclass(frozen=True, slots=True)
class Offer:
    """Pieces that may be taken: their sizes, what the fit is with them, and how far that is outside.

    Attributes:
        sizes: as texts.
        words: `3.20 mm`.
        predicted: `0.50 mm`; empty where it is not told.
        outside: `0.06 mm over`; empty inside.
        best: whether it is the one that the sum chose.
    """

    sizes: tuple[str, ...]
    words: str
    predicted: str
    outside: str = ""
    best: bool = False

    @property
    def value(self) -> str:
        """The sizes as a form sends them."""
        return "+".join(self.sizes)


def offers(form: FitForm, answer: Answer) -> tuple[Offer, ...]:
    """Return what the sum chose, and what lies next to it; nothing is chosen while it is together."""
    if form.at != "apart":
        return ()
    values, unit = answer.values, str(answer.values.get("unit", ""))
    found: list[Offer] = []
    choice = values.get("choice")
    if isinstance(choice, tuple) and choice:
        torque = values.get("predicted_torque")
        told = f"{torque} {values.get('torque_unit')}" if torque is not None else f"{values.get('predicted')} {unit}"
        found.append(_offer(choice, unit, told, Decimal(0), best=True))
    others = values.get("others")
    for each in others if isinstance(others, tuple) else ():
        near = cast(Mapping[str, Any], each)
        told = f"{near['predicted']} {unit}"
        told += ", " + _("inside, but by less than the guard") if near.get("risky") else ""
        found.append(_offer(near["choice"], unit, told, near["outside"], best=False))
    return tuple(found)


def _offer(sizes: tuple[Any, ...], unit: str, predicted: str, outside: Decimal, *, best: bool) -> Offer:
    texts = tuple(str(size) for size in sizes)
    words = " + ".join(f"{size} {unit}" for size in texts)
    over, under = _("{size} over"), _("{size} under")
    far = (over if outside > 0 else under).format(size=f"{abs(outside)} {unit}") if outside else ""
    return Offer(texts, words, predicted, far, best)


def wishes(form: FitForm, answer: Answer, faults: dict[str, str]) -> list[Wish]:
    """Return the acts that keep what was read and what is taken.

    Args:
        form: with what was read.
        answer: its sum.
        faults: gets a sentence where what is to be taken is not offered; then nothing is returned.
    """
    take = form.typed.get("take", NOTHING)
    kept = [Wish(_reading(form, answer))]
    if take == NOTHING:
        return kept
    offer = next((each for each in offers(form, answer) if each.value == take and not each.outside), None)
    if offer is None:
        wrong = _('found "{taken}"; allowed: one of the sizes that come out inside, or the readings only')
        faults["take"] = wrong.format(taken=take[:40])
        return []
    chosen = {"kind": "fit_chosen", "fit": form.name, "sizes": offer.sizes, "unit": str(answer.values["unit"])}
    if "predicted_torque" in answer.values:  # of another kind than the sizes: it stands in words
        return [*kept, Wish({**chosen, "note": keptnotes.THEN.format(size=offer.predicted)})]
    return [*kept, Wish({**chosen, "predicted": offer.predicted.partition(" ")[0]})]


def _reading(form: FitForm, answer: Answer) -> dict[str, Any]:
    """Return the reading as an act takes it, every figure in one unit."""
    unit, figures = in_one_unit((*form.values, *form.fitted), form.unit)
    told: dict[str, Any] = {
        "kind": "reading",
        "fit": form.name,
        "at": form.at,
        "values": tuple(str(each) for each in figures[: len(form.values)]),
        "fitted": tuple(str(each) for each in figures[len(form.values) :]),
        "unit": unit,
        "state": _state(form),
        "cold": {"yes": True, "no": False}.get(form.typed.get("cold", "")),
        "tool": form.typed.get("tool", ""),
        "verdict": answer.verdict,
        "note": BETWEEN.join(_notes(form)),
    }
    corrected = answer.values.get("torque" if form.torque else "mean")
    if isinstance(corrected, Decimal) and (form.given.get("added") or form.given.get("drag")):
        told["result"] = str(corrected) if answer.values["unit"] == unit else ""
    return told


def _state(form: FitForm) -> str:
    """Return in which state it was read: in the profile's words where it is the one that the profile wants."""
    if not form.wave:
        return form.state if form.typed.get("as_wanted") else ""
    was, wanted = form.given.get("state"), form.given.get("limit_state")
    if was == wanted and form.fit.state:
        return form.fit.state
    return keptnotes.WAVES[str(was)]


def _notes(form: FitForm) -> Iterator[str]:
    if gasket := keptnotes.GASKETS.get(form.typed.get("gasket", "")):
        yield gasket
    if added := form.given.get("added"):
        yield keptnotes.ADDED.format(size=added)
    if drag := form.given.get("drag"):
        yield keptnotes.DRAG.format(size=drag)
    if form.trials_read:
        yield keptnotes.TRIALS.format(list=", ".join(f"{size}: {torque}" for size, torque in form.trials_read))
    if form.kind == "stack":
        yield keptnotes.DEPTH_BY_PROFILE if form.given["depth_by_profile"] else keptnotes.DEPTH
        for plate, _equals, size in (text.partition("=") for text in form.given.get("plate", ())):
            yield keptnotes.PLATE.format(plate=f"{form.given['called'][plate]}: {size}")
    if form.typed.get("seated"):
        yield keptnotes.SEATED
    yield from keptnotes.stands(fit_doubts(form))
    if note := form.typed.get("note", "").strip():
        yield note
