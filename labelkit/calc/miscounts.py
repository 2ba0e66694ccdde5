"""Another number of pieces came out than the profile has: what to ask, since it may be another version of the unit."""

from __future__ import annotations

from collections.abc import Iterator

from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.steps import Bin, Inside
from labelkit.language import gettext as _
from labelkit.model.acts import Deviation
from labelkit.model.part import Part


def count_question(record: Record, place: PlaceRecord) -> str:
    """Return what to ask when another number came out than the profile has; empty when it is right, or decided on."""
    if place.count is None or place.expected is None or place.count == place.expected:
        return ""
    if place.finding is not None and place.finding.verdict == "lost":
        return ""
    if any(isinstance(e.act, Deviation) and e.number >= place.since for e in place.events):
        return ""
    return count_text(record, place.item, place.count)


def count_text(record: Record, item: Bin | Inside, count: int) -> str:
    """Return the question for a count that is not the profile's: it may be the sign of another version of the unit."""
    name, expected = item.part.name, item.part.qty
    for group, choice, other in _versions(record, item.part):
        if other.qty == count:
            option = record.profile.options[group]
            told = _(
                "{part}: {count} came out, the profile has {expected}; {version} would have {count}: is the option set "
                "right? {option}: {tell}; if so set {setting} and print the label again"
            )
            return told.format(
                part=name,
                count=count,
                expected=expected,
                version=option.choices[choice],
                option=option.name,
                tell=option.tell or _("look again"),
                setting=f"{group}={choice}",
            )
    if count < int(expected):
        told = _("{part}: {count} came out, the profile has {expected}: look where the others are, or note a deviation")
    else:
        told = _(
            "{part}: {count} came out, the profile has {expected}: look where the others belong, or note a deviation"
        )
    return told.format(part=name, count=count, expected=expected)


def _versions(record: Record, part: Part) -> Iterator[tuple[str, str, Part]]:
    """Yield the same part in other versions: group, choice and the entry of the profile."""
    for other in (part for _place, part in record.profile.walk()):
        same = part.number is not None and other.number == part.number
        if other.id == part.id or not same or len(other.only) != 1 or other.only.keys() != part.only.keys():
            continue
        for group, wanted in other.only.items():
            choice = wanted if isinstance(wanted, str) else wanted[0]
            if choice != record.teardown.chosen.get(group):
                yield group, choice, other
