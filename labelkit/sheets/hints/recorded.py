"""Hints at what nobody wrote down, so that labels, cards and worksheets say less than they could."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby
from typing import Final

from labelkit import forms
from labelkit.load.companions import Entry
from labelkit.load.profile import bare_figures
from labelkit.model.endwords import end_words
from labelkit.model.facewords import points, tells_itself
from labelkit.model.formbase import Form
from labelkit.model.scalars import HEADER_UNITS
from labelkit.model.unrecorded import Unrecorded, of_part
from labelkit.sheets import waywords, wording
from labelkit.sheets.hints.subject import Found, Rule, Subject, at, listed
from labelkit.sheets.hints.words import PLACES

# What a label, a card or a tray lacks without it.
_LACKS: Final = {
    "form": "no drawing, a plain cup on the tray",
    "sits.up": "the label says NOT RECORDED",
    "sits.clock": "the label says NOT RECORDED",
    "mass": "nobody knows what its tray weighs",
}
_FRAME: Final = {"clock_from": "from which end it is read", "twelve": "what stands at 12 o'clock"}
# Bytes; own choice: `cards.html` holds all pictures, and a phone has to load it.
LARGE_PHOTO: Final = 4_000_000


def _sided(form: Form | None) -> bool:
    return form is not None and forms.sided(form)


def not_recorded(subject: Subject) -> Iterator[Found]:
    """Size, way up, clock and mass: what a label is there to say and does not.

    Parts that stay inside others have no label. The way up of a part with two ends is a hint of its own.
    """
    for entry in subject.labelled:
        points = [
            point
            for point in of_part(entry.part)
            if point.field in _LACKS and not (point.field == "sits.up" and _sided(entry.part.form))
        ]
        if points:
            missing = ", ".join(f"{point.words} ({_LACKS[point.field]})" for point in points)
            yield at(entry), f"not recorded of {entry.part.id}: {missing}; write {'; '.join(_to_write(points))}"


def _to_write(points: Iterable[Unrecorded]) -> Iterator[str]:
    """Yield what to write for some open points of a part, each field of it once."""
    for name, group in groupby(points, key=lambda point: point.field.partition(".")[0]):
        inside = ", ".join(point.write for point in group)
        yield f"sits: {{{inside}}}, or free where any is right" if name == "sits" else inside


def side_not_recorded(subject: Subject) -> Iterator[Found]:
    """A part with two different ends and no way up can go in turned over."""
    for entry in subject.labelled:
        part = entry.part
        if part.form and _sided(part.form) and waywords.way(part).known == "missing":
            yield (
                at(entry),
                f"which way up {part.id} sits is not recorded, and its ends differ: it can go in turned over; write "
                f"sits: {{up: the face that is up, opens: up}} or opens: down, for where its {part.form.way} points",
            )


def end_not_recorded(subject: Subject) -> Iterator[Found]:
    """A face has a name, but the drawing of the form cannot show it: nobody said where its end points."""
    for entry in subject.labelled:
        part, sits = entry.part, entry.part.sits
        if sits is None or sits.opens or sits.up in (None, "free") or not part.form or not _sided(part.form):
            continue
        if not tells_itself(str(sits.up)):
            yield (
                at(entry, "sits", "up"),
                f'"{sits.up}" is up, but the drawing of {part.id} cannot show which end that is; write opens: up where '
                f"it is {end_words(str(part.form.way), 'up')}, else opens: down",
            )


def way_for_a_face(subject: Subject) -> Iterator[Found]:
    """`up` names the face that is up; `lip down` there is a way, and no drawing shows which end is up."""
    for entry in subject.labelled:
        part, sits = entry.part, entry.part.sits
        if sits and sits.up and points(sits.up):
            end = end_words(str(part.form.way), "up") if part.form and _sided(part.form) else ""
            yield (
                at(entry, "sits", "up"),
                f'"{sits.up}" says a way and names no face: labels print "{waywords.way(part).text}"; write up: the '
                f"face that is up, as in up: ground face{f', and opens: up for {end}, else opens: down' * bool(end)}",
            )


def name_cut(subject: Subject) -> Iterator[Found]:
    """A name that labels must cut may lose the word that tells it from its neighbour."""
    for entry in subject.labelled:
        part = entry.part
        printed = wording.short_name(part)
        if part.short is None and printed != part.name:
            yield (
                at(entry, "name"),
                f'the name has {len(part.name)} letters; labels print "{printed}"; give the part a short, '
                f"at most 24 letters",
            )


def names_alike(subject: Subject) -> Iterator[Found]:
    """Two bins that may stand side by side bear one name."""
    first: dict[str, list[Entry]] = {}
    for entry in subject.labelled:
        name = wording.short_name(entry.part)
        same = next((other for other in first.get(name, []) if other.meets(entry)), None)
        if same is not None:
            yield (
                at(entry, "short" if entry.part.short else "name"),
                f'labels print "{name}" for {same.part.id} and for {entry.part.id}; give each a short of its own',
            )
        first.setdefault(name, []).append(entry)


def clock_without_frame(subject: Subject) -> Iterator[Found]:
    """A clock position read from the other end is mirrored: five becomes seven."""
    header = subject.profile.unit
    missing = [name for name in ("clock_from", "twelve") if getattr(header, name) is None]
    clocked = [e.part.id for e in subject.entries if waywords.clock_words(e.part)[1] == "known"]
    if missing and clocked:
        write = {"clock_from": "clock_from: above", "twelve": "twelve: fill plug"}
        yield (
            ("unit",),
            f"{listed(clocked)}: a clock position is recorded, but not "
            f"{' nor '.join(_FRAME[name] for name in missing)}: read from the other end it is mirrored; write "
            f"{' and '.join(write[name] for name in missing)}",
        )


def version_untold(subject: Subject) -> Iterator[Found]:
    """Whoever stands before the unit must choose a version, and nothing says what to look at."""
    for group, option in subject.profile.options.items():
        if option.tell is None:
            yield (
                ("options", group),
                f"nothing says how to tell {' from '.join(option.choices)}: the wrong version prints the wrong labels; "
                f"write tell: what to look at or to count",
            )


def unit_not_stated(subject: Subject) -> Iterator[Found]:
    """A figure whose unit nobody wrote down is read in that of the format: 40 lbf·ft become 40 N·m.

    One hint for all lengths, one for all masses, one for all torques.
    """
    for field, figures in bare_figures(subject.tree):
        path, text = figures[0]
        others = f" and {len(figures) - 1} more" if len(figures) > 1 else ""
        yield (
            path,
            f"{text}{others} without a unit, and the header does not say which: read as {text} "
            f"{getattr(subject.profile.unit, field)}; write {field}: in unit:, allowed: "
            f"{', '.join(HEADER_UNITS[field][1])}",
        )


def limits_without_source(subject: Subject) -> Iterator[Found]:
    """A limit condemns or passes a part: whoever signs must be able to look it up."""
    if subject.profile.unit.source is not None:
        return
    limits = sum(1 for _, _, check in subject.checks() if check.min or check.max) + len(subject.profile.fits)
    if limits:
        yield (
            ("unit",),
            f"{limits} limit{'s' * (limits != 1)} without a source: nobody can look up whether a figure is right; "
            f"write source: the manual and its edition, or shop notes with their date",
        )


def measured_for_nothing(subject: Subject) -> Iterator[Found]:
    """A reading that is neither held against a limit nor kept for a sum helps nobody."""
    for entry, path, check in subject.checks():
        if check.measure and not (check.min or check.max or check.keep):
            yield (
                path,
                f"{check.measure} of {entry.part.id} is measured, but there is no limit and it is not kept: the page "
                f"judges nothing; write min: or max:, or keep: true where a sum needs it",
            )


def no_verdict(subject: Subject) -> Iterator[Found]:
    """A limit that is missed, and nobody knows what then."""
    for entry, path, check in subject.checks():
        if check.measure and (check.min or check.max) and check.otherwise is None:
            yield (
                path,
                f"{check.measure} of {entry.part.id} has a limit, but not what is done with a part that misses it; "
                f"write else: replace, or what else is right",
            )


def places_not_asked(subject: Subject) -> Iterator[Found]:
    """Sheet and card ask for one figure, where the words ask for several."""
    for entry, path, check in subject.checks():
        if check.readings is None and (places := PLACES.search(check.measure or "")):
            yield (
                path,
                f'"{check.measure}" of {entry.part.id}: one figure is asked for, not those of {places[0]}; write '
                f"readings: how many, as in readings: 3, and each: the pieces where there are several",
            )


def large_photo(subject: Subject) -> Iterator[Found]:
    """A picture as the camera took it makes every card slow."""
    for entry in subject.entries:
        if entry.part.photo and subject.folder:
            try:
                weighs = (subject.folder / entry.part.photo).stat().st_size
            except OSError:
                continue  # a missing file is a fault and told as one
            if weighs > LARGE_PHOTO:
                yield (
                    at(entry, "photo"),
                    f"the photo has {weighs / 1e6:.1f} MB, and cards.html holds every photo; save it at about "
                    f"1600 pixels, below {LARGE_PHOTO / 1e6:.0f} MB",
                )


RULES: Final[Mapping[str, Rule]] = {
    "not-recorded": not_recorded,
    "side-not-recorded": side_not_recorded,
    "end-not-recorded": end_not_recorded,
    "way-for-a-face": way_for_a_face,
    "name-cut": name_cut,
    "names-alike": names_alike,
    "clock-without-frame": clock_without_frame,
    "version-untold": version_untold,
    "unit-not-stated": unit_not_stated,
    "limits-without-source": limits_without_source,
    "measured-for-nothing": measured_for_nothing,
    "no-verdict": no_verdict,
    "places-not-asked": places_not_asked,
    "large-photo": large_photo,
}
