"""How a part sits by its card, how somebody saw it to sit, and whether the two agree.

What was seen is free text: what the card says is compared with it in every language, by letters and blanks alone.
"""

from __future__ import annotations

from collections.abc import Iterator

from labelkit import forms
from labelkit.calc.clock import seen_at
from labelkit.calc.placerecord import PlaceRecord
from labelkit.language import LANGUAGES, speaking
from labelkit.language import gettext as _
from labelkit.model.acts import Deviation, SideSeen
from labelkit.model.endwords import end_told, end_words, usual
from labelkit.model.facewords import looking, tells_itself
from labelkit.model.part import Part, Sits
from labelkit.model.scalars import Clock


def card_words(part: Part) -> tuple[str, str]:
    """Return which way up and at which clock position a card says that a part sits; empty where it does not know."""
    clock = part.sits.clock if part.sits else None
    return up_words(part), hour_words(clock) if isinstance(clock, Clock) else ""


def up_words(part: Part) -> str:
    """Return which way up a part sits, in capitals: `LIP UP`; empty where nobody recorded it or either way is right."""
    sits = part.sits
    if sits is None or sits.up == "free":
        return ""
    end = _end(part, sits)
    named = end is not None and usual(end) and part.form is not None and forms.sided(part.form)
    if sits.opens and (named or not sits.up):
        return end_words(end or "OPEN", sits.opens)
    return face_words(sits.up) if sits.up else ""


def face_words(face: str) -> str:
    """Return the face that is up in capitals: `GROUND FACE UP`; what says itself where it looks stands alone."""
    return (face if tells_itself(face) else _("{face} UP").format(face=face)).upper()


def hour_words(clock: Clock) -> str:
    """Return a clock position: `6 o'clock`, `6:30`."""
    hour, minute = str(clock).split(":")
    return _("{hour} o'clock").format(hour=hour) if minute == "00" else str(clock)


def _end(part: Part, sits: Sits) -> str | None:
    """Return the word for the end whose way the profile gives; None where neither form nor remark name one."""
    return part.form.way if part.form else end_told(sits.tell)


def look_words(up: str | None, clock: str | None) -> str:
    """Return how something was seen to sit: `stamped side up, at 7`.

    Args:
        up: the face, as it was written; what the card says is in capitals, with its own "up" or "down".
        clock: the hour, or what was there, as it was written.
    """
    face = up if not up or up.isupper() or tells_itself(up) else _("{face} up").format(face=up)
    # Whoever writes more than the hour says what is there.
    hour = _("at {clock}").format(clock=clock) if clock and clock[0].isdigit() else clock
    return ", ".join(filter(None, (face, hour)))


def seen_last(place: PlaceRecord) -> tuple[str | None, str | None]:
    """Return which face was seen up, and what at which hour, each as it was told last; None where nobody did.

    One person may have told the face, another one the hour.
    """
    face, hour = (told for told, _number in _last_told(place))
    return face, hour


def _last_told(place: PlaceRecord) -> Iterator[tuple[str | None, int]]:
    """Yield the face, then the hour, as it was told last, with the number of the event; None and 0 without one."""
    for field in ("up", "clock"):
        looks = (event for event in reversed(place.events) if isinstance(event.act, SideSeen))
        yield next(((told, look.number) for look in looks if (told := getattr(look.act, field))), (None, 0))


def otherwise(part: Part, up: str | None, clock: str | None) -> tuple[str, str]:
    """Return what of a look is otherwise than the profile says, and what that says; both empty where they agree.

    Args:
        part: by its profile.
        up: the face that was seen up; None: nobody looked.
        clock: what was seen at which hour.
    """
    says_up, says_hour = card_words(part)
    face = up if up and says_up and _pointing(up) not in _faces(part) else None
    hour = clock if clock and says_hour and not _is_at(part, clock) else None
    return look_words(face, hour), ", ".join(filter(None, (says_up if face else "", says_hour if hour else "")))


def _faces(part: Part) -> Iterator[tuple[str, str]]:
    """Yield the faces by which the profile says how a part sits, each with where it looks: both ends of some."""
    sits = part.sits or Sits()
    if sits.up:
        yield _pointing(sits.up)
    for language in LANGUAGES if sits.opens else ():
        with speaking(language):
            words = end_words(_end(part, sits) or "OPEN", str(sits.opens))
        yield _pointing(words)


def _pointing(words: str) -> tuple[str, str]:
    """Return a face, alike however it is written, and where it looks: alone it is the one that is up."""
    face, where = looking(words.strip())
    return _alike(face), where or "up"


def _is_at(part: Part, clock: str) -> bool:
    """Say whether an hour is that of the profile; without one, whether what was seen is what the profile has there."""
    sits, (hour, what) = part.sits or Sits(), seen_at(clock)
    return hour == sits.clock if hour else _alike(what) == _alike(sits.feature or "")


def _alike(text: str) -> str:
    return " ".join(text.casefold().split())


def otherwise_words(place: PlaceRecord, up: str | None, clock: str | None) -> str:
    """Return both statements where a look is otherwise than the card says; empty where they agree."""
    seen, says = otherwise(place.item.part, up, clock)
    told = _("{part}: seen otherwise, {seen}; its card says {says}")
    return told.format(part=place.name, seen=seen, says=says) if seen else ""


def look_again(told: str) -> str:
    """Return what to do about both statements, as a question asks it."""
    return _("{told}: look again how it sits and record it, or note a deviation").format(told=told)


def unsettled(place: PlaceRecord) -> str:
    """Return both statements where a part was seen last to sit otherwise than its card says, until that is settled.

    A later look that agrees settles it, a deviation that was noted since, and that the part is condemned since.
    """
    face, hour = (None if _is_settled(place, number) else told for told, number in _last_told(place))
    return otherwise_words(place, face, hour) if face or hour else ""


def _is_settled(place: PlaceRecord, look: int) -> bool:
    """Say whether what a look told, by the number of its event, is answered."""
    gone = place.is_gone and place.judged_by is not None and place.judged_by.number > look
    return gone or any(isinstance(e.act, Deviation) and e.number > look for e in place.events)
