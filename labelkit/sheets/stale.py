"""A job that takes up a later revision of its profile: what it keeps, and which of its prints are out of date then."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from labelkit.calc.codes import BLOCK_SIZE
from labelkit.calc.revision import changes
from labelkit.calc.steps import Bin, Inside, teardown
from labelkit.calc.usedup import is_retired
from labelkit.drawing.page import Box, Group, Item
from labelkit.errors import UsageError
from labelkit.load.profile import LoadedProfile
from labelkit.model.events import Event
from labelkit.model.job import Job
from labelkit.model.media import Printable
from labelkit.model.profile import Profile
from labelkit.sheets.jobview import CODES_PER_PLACE, JobView
from labelkit.sheets.kit import label_texts
from labelkit.sheets.labelface import Face
from labelkit.sheets.newparts import new_parts
from labelkit.sheets.picklist import Pick, short_when
from labelkit.sheets.stickerface import StickerFace
from labelkit.sheets.traydrawing import tray_drawing

# A part and which one it is of those with its id.
_Name = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Stale:
    """What is printed and not right any more.

    Attributes:
        labels: bins whose label says something else now, or that have none yet; of the job as it is now.
        void: bins that are gone: their labels come off; of the job as it was.
        trays: letters of the trays on which something lies otherwise.
        stickers: new parts whose sticker says something else now, or that have none yet; of the job as it is now.
    """

    labels: tuple[Bin, ...]
    void: tuple[Bin, ...]
    trays: tuple[str, ...]
    stickers: tuple[Pick, ...] = ()


def revised(job: Job, old: Profile, new: LoadedProfile, *, recorded: bool) -> Job:
    """Return the job as it is with a later revision: every part keeps its code, a new one takes the next that is free.

    Args:
        job: as it is; `old` is its profile.
        old: the profile it has.
        new: the one it takes up.
        recorded: its record speaks of parts, which it knows by their order in the profile.

    Raises:
        UsageError: it has another mark; the record speaks of parts that would move; or no code is free.
    """
    if new.profile.unit.mark != old.unit.mark:
        raise UsageError(
            f"job {job.number} is a {old.unit.mark}, {new.file} is of {new.profile.unit.mark}: "
            "a revision has the mark of the unit"
        )
    before, after = _names(old), _names(new.profile)
    if recorded and after[: len(before)] != before:
        at = next(i for i, name in enumerate(before) if after[i : i + 1] != [name])
        raise UsageError(
            f"the record of job {job.number} speaks of parts, which it knows by their order, and {new.file} has "
            f"another order from {before[at][0]} on. Add new parts as the last ones, or finish the job with revision "
            f"{old.unit.revision}"
        )
    numbers = dict(zip(before, job.indices or range(len(before)), strict=True))
    free = max(numbers.values()) + 1
    added = [name for name in after if name not in numbers]
    numbers |= {name: free + index for index, name in enumerate(added)}
    if (free + len(added)) * CODES_PER_PLACE > job.blocks * BLOCK_SIZE:
        raise UsageError(f"job {job.number} has no codes left for what is new in {new.file}; open another job")
    return replace(
        job,
        file=new.file,
        source=new.source,
        options=_carried(job.options, new.profile),
        numbering=_carried(job.numbering, new.profile),
        version=job.version + 1,
        indices=tuple(numbers[name] for name in after),
    )


def stale(was: JobView, now: JobView, stock: Printable, *, offline: bool = False) -> Stale:
    """Return what is out of date; a print that differs by the number of the revision alone is not.

    Args:
        was: the job when its labels were printed.
        now: the job with its later revision.
        stock: what labels are printed on.
        offline: their symbols carry the cards' own words.
    """
    was = replace(was, profile=_called(was.profile, now.profile.unit.revision))
    earlier = {was.code(each): each for each in was.teardown.bins}
    later = {now.code(each): each for each in now.teardown.bins}
    box = Box(*stock.positions()[0]).inset(stock.margin_mm)

    def face(view: JobView, each: Bin) -> Group:
        text = label_texts(view, [each], offline=offline)[each.step]
        return Face(view, each, text, box, stock.true_dpi, offline).group()

    drawn = {tray.letter: tray_drawing(tray) for tray in was.trays.trays}
    return Stale(
        tuple(e for code, e in later.items() if code not in earlier or face(was, earlier[code]) != face(now, e)),
        tuple(each for code, each in earlier.items() if code not in later),
        tuple(tray.letter for tray in now.trays.trays if drawn.get(tray.letter) != tray_drawing(tray)),
    )


def as_recorded(found: Stale, was: JobView, now: JobView, events: Sequence[Event], stock: Printable) -> Stale:
    """Return what is out of date of a job with its record: stickers of what must be new, and no label that is retired.

    Args:
        found: what is out of date of the labels and trays of such a job.
        was: the job when its labels and stickers were printed.
        now: the job with its later revision.
        events: of the job.
        stock: what stickers are printed on.
    """
    record = now.record(events)
    labels = tuple(each for each in found.labels if not is_retired(record.at(each.ordinal)))
    was = replace(was, profile=_called(was.profile, now.profile.unit.revision))
    earlier, later = _stickers(was, events, stock), _stickers(now, events, stock)
    stickers = tuple(pick for key, (pick, face) in later.items() if key not in earlier or earlier[key][1] != face)
    return replace(found, labels=labels, stickers=stickers)


def _stickers(
    view: JobView, events: Sequence[Event], stock: Printable
) -> dict[tuple[str, str], tuple[Pick, tuple[Item, ...]]]:
    """Return the new parts of a job with the faces of their stickers, by code and size; none where nobody can tell."""
    try:
        new = new_parts(view, {}, record=view.record(events))
    except UsageError:  # so many options are open
        return {}
    box = Box(*stock.positions()[0]).inset(stock.margin_mm)
    found = {}
    for pick in new.picks:
        use, when = pick.use, short_when(view.profile, new.needs.when(pick.use))
        face = tuple(StickerFace(view, pick, when, box, stock.true_dpi).items())
        found[view.new_code(use.item), str(use.size or "")] = pick, face
    return found


def changed_parts(was: JobView, now: JobView, found: Stale) -> tuple[str, ...]:
    """Return the ids of the parts whose card says something else than what was printed first, also by earlier ones.

    Args:
        was: the job as it was.
        now: the job with its later revision.
        found: which of its labels and stickers are out of date.
    """
    told = {*was.job.changed, *(change.part for change in changes(was.profile, now.profile))}
    told.update(each.part.id for each in found.labels)
    told.update(pick.use.part.id for pick in found.stickers)
    return tuple(part for part in now.profile.names if part in told and part in was.profile.names)


def _names(profile: Profile) -> list[_Name]:
    """Return the name of every place, by its ordinal."""
    removal = teardown(profile, dict.fromkeys(profile.options))
    seen: Counter[str] = Counter()
    found = []
    places: list[Bin | Inside] = [*removal.bins, *removal.inside]
    for place in sorted(places, key=lambda place: place.ordinal):
        seen[place.part.id] += 1
        found.append((place.part.id, seen[place.part.id]))
    return found


def _carried(options: Mapping[str, str | None], profile: Profile) -> dict[str, str | None]:
    """Return the choices that still can be made, and the usual one of every group that is new."""
    return {
        group: options[group] if options.get(group, "") in (None, *option.choices) else option.default
        for group, option in profile.options.items()
    }


def _called(profile: Profile, revision: str) -> Profile:
    return profile.model_copy(update={"unit": profile.unit.model_copy(update={"revision": revision})})
