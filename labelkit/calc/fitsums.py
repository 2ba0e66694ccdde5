"""The fits of a profile, worked out from what was typed by the names of the options of `labelkit fit`.

The command and the bench both come here, so that one fit has one answer.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, Final

from labelkit.calc import clutchplay
from labelkit.calc.answers import Answer
from labelkit.calc.clutchplay import Plates, wave_question
from labelkit.calc.readings import USUAL_SPREAD, Taking, take
from labelkit.calc.selecting import Asked, selective
from labelkit.calc.showing import LengthUnit
from labelkit.calc.typedplay import Play, Typed, checked
from labelkit.calc.typedpreload import preload
from labelkit.errors import UsageError, allowed_text
from labelkit.language import gettext as _


def end_play(given: Mapping[str, Any], unit: LengthUnit) -> Answer:
    """Return which shim sets an end play; with `predicted`, the check after fitting.

    Raises:
        UsageError: something is missing or is not what it should be.
    """
    typed = Typed(given, unit)
    predicted, chain = typed.length("predicted"), typed.chain()
    play = Play.of(typed, "end_play", "play")
    answer = selective(play.taken, play.target, play.gap, play.pieces, play.asked, play.resolution)
    return _without_size(play, answer) if predicted is None else checked(typed, play, answer, predicted, chain)


def clearance(given: Mapping[str, Any], unit: LengthUnit) -> Answer:
    """Return which ring or plate sets the clearance of a pack; with `predicted`, the check after fitting.

    Raises:
        UsageError: something is missing or is not what it should be.
    """
    typed = Typed({**given, "readings": clutchplay.places_wanted(given.get("readings"))}, unit)
    question, predicted, chain = _asked_of_wave(typed), typed.length("predicted"), typed.chain()
    play = Play.of(typed, "clearance", "clearance", usual_spread=None)
    answer = clutchplay.clearance(
        play.taken,
        play.target,
        play.gap,
        play.pieces,
        play.asked,
        play.resolution,
        question=question,
        frictions=typed.given["frictions"],
    )
    return _without_size(play, answer) if predicted is None else checked(typed, play, answer, predicted, chain)


def _without_size(play: Play, answer: Answer) -> Answer:
    """Return an answer that asks for the piece that was in where only that is missing to choose another."""
    if play.pieces is None or play.gap is not None or answer.verdict in ("refused", "ask"):
        return answer
    return replace(
        answer, notes=(_("how thick is the piece that was in? Without it no size can be chosen"), *answer.notes)
    )


def stack(given: Mapping[str, Any], unit: LengthUnit) -> Answer:
    """Return the selective plate of a pack by the depth of its housing and the height of its stack.

    Raises:
        UsageError: something is missing or is not what it should be.
    """
    typed = Typed(given, unit)
    read = typed.lengths("depth")
    if not read:
        raise UsageError("--depth is missing; write it as --depth 34.22, once for each place")
    called = given.get("called") or {}
    plates = tuple(
        replace(each, name=called.get(each.name, each.name))
        for each in _plates_of(typed, typed.given["plate"], typed.given["nominal"])
    )
    target, pieces, question = typed.target(), typed.pieces(), _asked_of_wave(typed)
    taken = take(read, Taking(spread=USUAL_SPREAD, least=1), typed.show)
    if taken.refused:
        wide = _(
            "--depth: the readings lie {apart} apart, over {most}: not averaged; "
            "clean both faces, hold the gauge square to them and read all places again"
        )
        apart = typed.show.apart(taken.spread, USUAL_SPREAD)
        raise UsageError(wide.format(apart=apart, most=typed.show.text(USUAL_SPREAD)))
    series = typed.given["series"]
    answer = clutchplay.stack(
        taken.mean,
        plates,
        target,
        pieces,
        Asked("stack", "clearance", typed.show, stepped=series is not None and ":" in series),
        question=question,
        frictions=typed.given["frictions"],
        uncertainty=taken.uncertainty or Decimal(0),
    )
    show = typed.show
    unread = [f"{show.size(each.thickness)} {show.unit} ({each.name})" for each in plates if each.by_profile]
    if typed.given["depth_by_profile"]:
        unread.insert(0, _("depth {size}").format(size=f"{show.size(taken.mean)} {show.unit}"))
    told = _("by the profile, not measured: {sizes}").format(sizes=", ".join(unread))
    return replace(answer, sums=(*taken.sums, *answer.sums), notes=(*((told,) if unread else ()), *answer.notes))


def _asked_of_wave(typed: Typed) -> str | None:
    """Return what must be asked of the wave plate; None where all is said. Errors as for `Typed.length`."""
    return wave_question(typed.given["state"], typed.given["limit_state"], typed.length("wave"), typed.show)


def _plates_of(typed: Typed, measured: Sequence[str], nominal: Sequence[str]) -> tuple[Plates, ...]:
    """Return the plates of a stack: those of the profile, with what was measured in their place.

    Args:
        typed: reads the lengths.
        measured: as `friction=5x2.52`; without a count it is the profile's.
        nominal: the same, as a profile has them.

    Raises:
        UsageError: not written so, a plate that the profile does not have, or another count.
    """
    by_profile = [replace(_plates(typed, "--nominal", text), by_profile=True) for text in nominal]
    known = {each.name: each for each in by_profile}
    found = dict(known)
    for text in measured:
        each = _plates(typed, "--plate", text)
        before = known.get(each.name)
        if known and before is None:
            raise UsageError(f"--plate {text}: the stack has no such plate; {allowed_text(each.name, known)}")
        if before is not None:
            if each.count not in (1, before.count):
                raise UsageError(f"--plate {text}: the profile has {before.count} of them, not {each.count}")
            each = replace(each, count=before.count, nominal=before.thickness)
        elif each.name in found:
            raise UsageError(f"--plate {text}: {each.name} is named twice; name each kind once, with its count")
        found[each.name] = each
    return tuple(found.values())


def _plates(typed: Typed, option: str, text: str) -> Plates:
    name, equals, rest = text.partition("=")
    match = re.fullmatch(r"\s*(?:(\d{1,3})\s*[x×]\s*)?(.+?)\s*", rest)
    if not equals or not name.strip() or match is None:
        raise UsageError(f'{option} "{text}": allowed: NAME=LENGTH or NAME=COUNTxLENGTH, as friction=5x2.52')
    thickness = typed.one(option, match[2])
    if thickness <= 0 or match[1] == "0":
        raise UsageError(_('{option} "{text}": count and thickness are more than 0').format(option=option, text=text))
    return Plates(name.strip(), int(match[1] or 1), thickness)


SUMS: Final[Mapping[str, Callable[[Mapping[str, Any], LengthUnit], Answer]]] = {
    "end_play": end_play,
    "clearance": clearance,
    "stack": stack,
    "preload": lambda given, _unit: preload(given),
}
"""The sum of each kind of fit."""


def work_out(kind: str, given: Mapping[str, Any]) -> Answer:
    """Return the answer of a fit of a profile.

    Args:
        kind: of the fit.
        given: what was typed by the names of the options of its kind, `unit` among them.

    Raises:
        UsageError: something is missing or is not what it should be.
    """
    return SUMS[kind](given, given["unit"])
