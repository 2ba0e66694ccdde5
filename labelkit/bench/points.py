"""Inspection points of a part on a form: what is typed and chosen becomes readings with their verdicts, and looks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final, cast

from labelkit.bench.acting import Wish
from labelkit.bench.typed import figures_alike
from labelkit.calc.answers import Answer
from labelkit.calc.apart import measure_now
from labelkit.calc.limits import Limits, judge_each
from labelkit.calc.notepieces import BETWEEN
from labelkit.calc.openpoints import is_done, readings_wanted
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.readings import Taking, readings
from labelkit.calc.record import Record
from labelkit.calc.slips import odd_at_point
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.language import noop, pgettext
from labelkit.model.acts import Inspected
from labelkit.model.part import Check, CheckTime
from labelkit.model.readings import Reading
from labelkit.sheets import keptnotes, wording
from labelkit.sheets.actwords import act_words
from labelkit.sheets.worksheetlimits import check_limits
from labelkit.units import Quantity

_OUTCOMES: Final = {"out": noop("OUT OF LIMITS"), "borderline": noop("BORDERLINE"), "ask": noop("NOT ALL READ")}


@dataclass(frozen=True, slots=True)
class Point:
    """One point as a form shows it.

    Attributes:
        number: among the part's points, from 0.
        what: is looked at or measured.
        measured: it is measured, not looked at.
        limits: in the profile's unit and in the other one; empty for a look.
        more: how many readings, with which tool, what to do otherwise.
        unit: of bare figures.
        wanted: how many figures.
        hint: how they are typed; empty where nothing is to be said.
        when: in the job; empty when the profile does not say.
        last: what was recorded last, in words; empty when nothing was.
        done: nothing is missing.
        now: it can be judged only while the unit comes apart.
    """

    number: int
    what: str
    measured: bool
    limits: str
    more: str
    unit: str
    wanted: int
    hint: str
    when: str
    last: str
    done: bool
    now: bool

    @property
    def words(self) -> str:
        """What to do."""
        return _("Measure {what}").format(what=self.what) if self.measured else self.what


def points_of(record: Record, ordinal: int, lengths: str) -> tuple[Point, ...]:
    """Return the points of a part that can be judged by now; those that can be judged only now come first.

    What is judged when it is assembled is left out while the part lies on the bench.

    Args:
        record: of the job.
        ordinal: of the place.
        lengths: unit of a bare figure where the point has no limits.
    """
    place = record.at(ordinal)
    now = {number for number, _ in measure_now(record, ordinal)}
    checks = [each for each in enumerate(place.item.part.check) if not (place.is_out and each[1].at == "assembled")]
    found = [_point(place, number, check, lengths, number in now) for number, check in checks]
    return tuple(sorted(found, key=lambda point: (not point.now, point.done)))


def point_fields(place: PlaceRecord) -> dict[str, str]:
    """Return what the fields of a form of points are called: each by what is read or looked at there."""
    points = {str(number): check.measure or check.look or "" for number, check in enumerate(place.item.part.check)}
    return {f"{kind}-{number}": words for number, words in points.items() for kind in ("value", "sure", "verdict")}


def _point(place: PlaceRecord, number: int, check: Check, lengths: str, now: bool) -> Point:
    own, other = check_limits(check) if check.measure else ("", "")
    told = (
        (_("{count} readings"), check.readings if check.readings != 1 else None),
        (_("at each of {count}"), check.each),
        (_("spread at most {spread}"), check.spread),
        (_("with {tool}"), check.tool),
        (_("otherwise: {what}"), check.otherwise),
    )
    more = [words.format(count=what, spread=what, tool=what, what=what) for words, what in told if what]
    acts = [e for e in place.events if isinstance(e.act, Reading | Inspected) and e.act.check == number]
    last = f"{act_words(acts[-1].act, place.item.part)} ({acts[-1].who})" if acts else ""
    wanted = readings_wanted(place, check)
    hint = _("read several times: the figures with blanks between") if wanted == 1 else ""
    if check.each and check.readings and check.each > 1 < check.readings:
        hint = _("one after the other: of each all {count}").format(count=check.readings)
    return Point(
        number=number,
        what=check.look or check.measure or "",
        measured=check.measure is not None,
        limits=f"{own} ({other})" if other else own,
        more="; ".join(more),
        unit=_unit_of(check, lengths),
        wanted=wanted,
        hint=hint,
        when=_(wording.CHECK_AT[check.at]) if check.at else "",
        last=last,
        done=is_done(place, number, check),
        now=now,
    )


def _unit_of(check: Check, lengths: str) -> str:
    """Return the unit of a bare figure at a point: its own, or that of its limits, else the unit's own for lengths."""
    given = check.max or check.min or check.spread
    return check.unit or (given.unit if given else lengths)


def read_points(
    record: Record, ordinal: int, lengths: str, form: Mapping[str, str], *, new: bool
) -> tuple[list[Wish], list[str], dict[str, str]]:
    """Return what a form says of the points of a part.

    Its fields are `value-0` for the figures of the first point, `verdict-0` for what was decided on it, and `sure-0`,
    which holds the figures once more where they look like a slip and stand all the same.

    Args:
        record: of the job.
        ordinal: of the place.
        lengths: unit of a bare figure where a point has no limits.
        form: what was sent.
        new: it is about the new part, not that of the bin.

    Returns:
        The acts, what to say of the readings, and what is wrong by field.
    """
    wishes: list[Wish] = []
    told: list[str] = []
    faults: dict[str, str] = {}
    place = record.at(ordinal)
    for number, check in enumerate(place.item.part.check):
        text, verdict = form.get(f"value-{number}", "").strip(), form.get(f"verdict-{number}", "").strip()
        if text and check.measure:
            try:
                act, answer = reading_of(place, number, _unit_of(check, lengths), text)
            except UsageError as error:
                faults[f"value-{number}"] = str(error)
                continue
            if odd := odd_reading(place, act):
                act["note"] = BETWEEN.join(keptnotes.stands(odd))
                if form.get(f"sure-{number}") != text:
                    faults[f"sure-{number}"] = keptnotes.asked(odd)
            told += _outcome_words(check, answer)
            act["new"] = new
            wishes.append(Wish(act, ordinal, dict.fromkeys(("values", "unit", "at", "verdict"), f"value-{number}")))
        if verdict:
            data = {"kind": "inspected", "verdict": verdict, "check": number, "new": new}
            wishes.append(Wish(data, ordinal, {"verdict": f"verdict-{number}"}))
    return wishes, told, faults


def reading_of(place: PlaceRecord, number: int, unit: str, text: str) -> tuple[dict[str, Any], Answer]:
    """Return a reading of a point with its verdict.

    Args:
        place: where it was read.
        number: of the point.
        unit: of bare figures.
        text: as typed.

    Raises:
        UsageError: no figures, too many, of another kind than the limits, or too far apart.
    """
    check = place.item.part.check[number]
    read = figures_alike(text, unit)
    wanted, whole = readings_wanted(place, check), (check.each or 1) * (check.readings or 1)
    if wanted < len(read) <= whole:  # those of the pieces that do not stay were read, too
        wanted = whole
    if check.spread and not check.each and len(read) > 1:
        seat = (noop("set the gauge to zero"), noop("clean both faces"))
        taken = readings([each.mm for each in read], Taking(spread=check.spread.mm, least=wanted, seat=seat))
        if taken.verdict == "refused":
            raise UsageError(taken.notes[-1])
    answer = judge_each(
        read,
        Limits(check.min, check.max),
        wanted=wanted if wanted > 1 else None,
        places=_places(place, check),
        apiece=(check.readings or 1) if check.each else None,
    )
    data = {
        "kind": "reading",
        "check": number,
        "at": _time_of(place, check),
        "values": tuple(str(each.value) for each in read),
        "unit": read[0].unit,
        "verdict": answer.verdict,
    }
    return data, answer


def _places(place: PlaceRecord, check: Check) -> str | None:
    """Return what one reading of a point is called: of one thing, of each piece, or of each place."""
    if check.each is None:
        return pgettext("where it is read", "reading")
    whole = check.each == place.item.part.qty and check.readings in (None, 1)
    return pgettext("where it is read", "piece") if whole else None


def _time_of(place: PlaceRecord, check: Check) -> CheckTime:
    """Return when in the job a point is read: when the profile wants it; before it came out it is as found."""
    if check.at == "assembled" and place.stage == "in_unit":
        return "before"
    return check.at or ("apart" if place.stage in ("in_unit", "removed", "binned") else "clean")


def odd_reading(place: PlaceRecord, act: Mapping[str, Any]) -> tuple[str, ...]:
    """Return in English what of a reading of a point looks like a slip."""
    part = place.item.part
    read = (Quantity(Decimal(value), act["unit"]) for value in act["values"])
    series = place.grades.series if place.grades else None
    return tuple(dict.fromkeys(odd_at_point(part, part.check[act["check"]], series, read)))


def _outcome_words(check: Check, answer: Answer) -> Iterator[str]:
    """Yield what to say of a reading that is not simply good."""
    word = _OUTCOMES.get(answer.verdict)
    if word is None:
        return
    # The first line has the limits, the others the readings in their order: said are those that somebody must see.
    told = {*cast(tuple[int, ...], answer.values["out"]), *cast(tuple[int, ...], answer.values["borderline"])}
    lines = [line for k, line in enumerate(answer.sums) if k in told]
    said = "; ".join((*answer.notes[:1], *lines) if answer.verdict == "ask" else (*lines, *answer.notes[:1]))
    todo = _(". Otherwise: {what}").format(what=check.otherwise) if answer.verdict == "out" and check.otherwise else ""
    yield f"{check.measure}: {_(word)}: {said}{todo}"
