"""What a valid profile leaves unsaid, or says so that the print helps less than it could: hints, never faults."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from labelkit.calc.seating import in_order, seating
from labelkit.calc.steps import teardown
from labelkit.errors import Problem
from labelkit.load.companions import Entry, entries, gaps
from labelkit.load.profile import LoadedProfile
from labelkit.load.yamltree import Key, parse
from labelkit.model.part import Part
from labelkit.model.profile import Profile
from labelkit.model.relations import part_path
from labelkit.sheets import wording

Hint = tuple[tuple[Key, ...], str]


def hints(loaded: LoadedProfile) -> list[Problem]:
    """Return every hint of a profile at its place, in the order of the file.

    Parts that stay inside others have no label, and get none of the hints about labels.
    """
    tree = parse(loaded.source, loaded.file)
    profile = loaded.profile
    known = entries(profile)
    labelled = [entry for entry in known.values() if not any(each.part.captured for each in (*entry.above, entry))]
    found = [hint for entry in labelled for hint in _of_label(part_path(entry.place), entry.part)]
    found += [hint for entry in known.values() for hint in _of_order(profile, part_path(entry.place), entry.part)]
    found += _alike(labelled)
    found += _of_seats(profile, known)
    found += [
        (gap.path, f"{gap.other} is not there with {gap.when}: the print then says nothing here of {gap.part}")
        for gap in gaps(profile)
    ]
    return sorted(tree.problem(path, f"hint: {message}") for path, message in found)


def _of_label(path: tuple[Key, ...], part: Part) -> Iterator[Hint]:
    missing = {
        "form (no drawing, a plain cup on the tray)": part.form is None,
        "which way up": wording.way(part).known == "missing",
        "clock": wording.clock_words(part)[1] == "missing",
        "mass": part.mass is None,
    }
    if any(missing.values()):
        yield path, f"not recorded of {part.id}: {', '.join(name for name, true in missing.items() if true)}"
    printed = wording.short_name(part)
    if part.short is None and printed != part.name:
        words = f'the name has {len(part.name)} letters; labels print "{printed}"; give the part a short'
        yield (*path, "name"), f"{words}, at most 24 letters"


def _of_order(profile: Profile, path: tuple[Key, ...], part: Part) -> Iterator[Hint]:
    """Yield what the parts person misses: a number for what is always bought."""
    graded = profile.series[part.series].numbers if part.series else {}
    if (part.renew == "always" or part.one_time) and not part.number and not graded:
        yield path, f"{part.id} is always renewed and has no number to order it by"


def _of_seats(profile: Profile, known: Mapping[str, Entry]) -> Iterator[Hint]:
    """Yield what disagrees where parts are pushed onto what they lie on, in any version; of a part once."""
    told: set[str] = set()
    for chosen in _versions(profile):
        parts = teardown(profile, chosen)
        for found in seating(parts, in_order(profile, parts)).disagreements:
            if found.part not in told:
                told.add(found.part)
                yield (*part_path(known[found.part].place), "sits", "on"), found.text


def _versions(profile: Profile) -> Iterator[dict[str, str | None]]:
    """Yield the version of the defaults, then those that differ from it in one choice."""
    usual: dict[str, str | None] = {}
    for group, option in profile.options.items():
        usual[group] = option.default or next(iter(option.choices))
    yield {**usual}
    for group, option in profile.options.items():
        yield from ({**usual, group: choice} for choice in option.choices if choice != usual[group])


def _alike(labelled: list[Entry]) -> Iterator[Hint]:
    """Yield each part whose label bears the name of another that may lie beside it."""
    first: dict[str, list[Entry]] = {}
    for entry in labelled:
        name = wording.short_name(entry.part)
        same = next((other for other in first.get(name, []) if other.meets(entry)), None)
        if same is not None:
            path = (*part_path(entry.place), "short" if entry.part.short else "name")
            yield (
                path,
                f'labels print "{name}" for {same.part.id} and for {entry.part.id}; give each a short of its own',
            )
        first.setdefault(name, []).append(entry)
