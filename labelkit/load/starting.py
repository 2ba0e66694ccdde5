"""A profile's first lines: from a few answers, or as a skeleton that says what may be written where."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Final, Literal, get_args, get_origin

from labelkit.errors import InputErrors, Problem
from labelkit.load.profile import unit_context
from labelkit.load.validate import validate
from labelkit.load.writer import profile_yaml, scalar
from labelkit.load.yamltree import Tree
from labelkit.model.form import FORMS
from labelkit.model.formbase import Form
from labelkit.model.profile import READ, Profile

_PLACEHOLDERS: Final = {"mark": "XX", "name": "Unit", "up": "input side"}
_HEADING: Final = """Parts stand in removal order. A field left out is not recorded; free means any position is right.
labelkit check --hints says what is still open."""

_SKELETON: Final = """\
# A unit profile: what comes apart, in which order, and how it sits. Write over what is here; `labelkit check FILE`
# names every fault with its line, `labelkit schema profile` makes an editor help. A field left out is not recorded.

format: 1

unit:
  mark: XX                     # 2 to 8 of A-Z, 0-9 and -, printed on every label
  name: Unit without a name
  revision: "1"                # of this file; part of every label
  # source: shop notes, 2026   # where the figures come from
  lengths: mm                  # of bare figures: mm or in; one with a unit says so: "0.104 in"
  masses: kg                   # kg, g or lb
  torques: N·m                 # N·m, lbf·ft or lbf·in
  up: input side               # which end "up" means in every field below
  # clock_from: above          # from where clock positions are read
  # twelve: fill plug          # what is at 12 o'clock
  # mass: 136                  # of the whole unit
  # nameplate: [serial, ratio] # what is written down from the unit
  # oil: {kind: ISO VG 150 gear oil, volume_l: "3.1"}

# options:                     # where versions of the unit differ
#   output:
#     name: Output end
#     tell: look at the output end
#     choices: {flange: Flange shaft, splined: Splined shaft}
#     default: flange          # without it the option stays open until somebody has looked

# tools:
#   puller: Seal puller with padded arm

# series:                      # graded sizes of what sets a play: a list, or from, to and step
#   shims: {sizes: ["0.10", "0.20"], tol: "0.01", numbers: {"0.10": XX-1331}, pieces: 3, marks: {"0.10": one dot}}
#   spacers: {from: "5.00", to: "5.50", step: "0.05"}

# hazards:                     # danger, warning, caution or notice; at teardown, removal, wash, inspection or assembly
#   - {signal: warning, at: teardown, text: "136 kg: hoist and checked slings only"}

parts:                         # in the order in which they come out
  - id: first-part             # a-z, 0-9 and -, each once
    name: First part
    # short: First             # for labels, at most 24 letters
    # qty: 1                   # or set, where there is no fixed count
    # used: 1                  # how many of them the unit has, each with its own parts
    # only: {output: flange}   # there in this version alone
    # form: {ring: {od: 72, id: 50, t: "2.60"}}     # kind and sizes, for outline and drawings
    #                        # of a shaft {shaft: {steps: [[30, 80], [25, 40]]}}, each step [diameter, length]
    #                        # every kind stands at the end of this file
    # mass: "0.04"             # of one
    # series: shims            # whose sizes it has
    # number: XX-1107          # to order it by
    # pack: 10                 # how many are sold in one pack
    # renew: if_worn           # always, if_worn, never or {with: id}
    # one_time: true           # never used again once it is out
    # out: {by: lift, look_under: "a thin washer may cling to it", tool: puller, with: other-part, note: keep it level}
    # sits: {up: ground face, opens: up, on: other-part, clock: "6:00", feature: notch, tell: "seen from above",
    #        if_wrong: "play reads false"}          # opens: where the end of its form points
    #                        # up: where two lie opposite ways, "bronze toward planet" says for itself where it looks
    # held: {by: slip}         # loose, slip, pressed, staked, screwed; ring or behind name a part
    # carried_by: other-part   # goes in and comes out with it
    # keep_with: [other-part]  # lies beside it
    # pair: [other-part]       # runs with it only, ordered as a pair
    # look_alike: [{part: other-part, tell: "35 mm, the other 40 mm"}]
    # check: [{measure: thickness, at: apart, each: 3, min: "2.55", max: "2.65", readings: 3, spread: "0.04",
    #          tool: micrometer, else: replace}, {measure: drag, unit: N·m, keep: true}, {look: no groove}]
    # wash: basket             # basket, small_basket, wipe, no_solvent, not_washed or before
    # lay: each                # each, stack or cup; on the tray
    # hazards: [{signal: caution, at: removal, text: "sharp edges: gloves"}]
    # photo: photos/first-part.jpg
    # thread: left             # where it is not right
    # fasten: {torque: 125, angle: 30, pattern: circle, passes: ["0.3", "1.0"], oiled: false}   # circle, row, two_rows
    # stack: [inner-part]      # of a pack: its plates, one by one
    # stack_from: piston       # where the list begins
    # parts:                   # of a sub-assembly, opened later on the bench
    #   - {id: inner-part, name: Inner part}
  # - id: other-part
  #   name: Other part

# fits:                        # plays that are measured and set: KINDS_OF_FITS
#   end-play: {kind: end_play, target: ["0.40", "0.60"], aim: middle, tie: tight, set_by: first-part, thicker: reduces,
#              readings: 3, spread: "0.04", seat: [push it down], chain: [first-part]}
#   stroke: {kind: stack, target: ["1.40", "1.80"], depth: "34.22", of: first-part, state: plates flat}
#   drag: {kind: preload, unit: N·m, target: ["2.5", "4.0"]}

# assembly:                    # where the rebuild is not the plain reverse
#   - {first: inner-part, then: other-part, because: it cannot be reached afterwards}
#   - {join: [first-part, other-part], as: pair on the bench, tool: puller}
"""


def skeleton(header: Mapping[str, str], first_part: str = "") -> str:
    """Return a skeleton in which every field stands, those that need not be there as comments.

    Args:
        header: fields of the header that are known already.
        first_part: name of what comes out first; empty: not known.
    """
    text = _SKELETON.replace("KINDS_OF_FITS", ", ".join(READ))
    for field, value in header.items():
        text = _answered(text, rf"  (?:# )?{field}: ", f"  {field}: {scalar(value)}")
    if first_part:
        text = _answered(text, "    name: ", f"    name: {scalar(first_part)}")
    return text + "\n# Kinds of form, each with its sizes; what ends in ? may be left out.\n" + "".join(_kinds())


def _answered(text: str, start: str, line: str) -> str:
    """Return a text whose first line of this start is another; the comment behind it stays in its column."""
    return re.sub(
        rf"^{start}\S.*?( +#.*)?$",
        lambda found: f"{line} {found[1].lstrip():>{max(0, len(found[0]) - len(line) - 1)}}" if found[1] else line,
        text,
        count=1,
        flags=re.MULTILINE,
    )


def _kinds() -> Iterator[str]:
    for name, form in FORMS.items():
        told = (form.__doc__ or "").partition("\n")[0].replace("`", "")
        yield f"#   {f'{name} {{{_sizes(form)}}}':<44} {told}\n"


def _sizes(form: type[Form]) -> str:
    found = []
    for name, info in form.model_fields.items():
        words = " or ".join(get_args(info.annotation)) if get_origin(info.annotation) is Literal else ""
        found.append(f"{name}{'' if info.is_required() else '?'}{f': {words}' if words else ''}")
    return ", ".join(found)


def start_profile(header: Mapping[str, str], first_part: str) -> bytes:
    """Return a profile of one part, with its open points as comments.

    Args:
        header: fields of the header: mark, name, up, and others.
        first_part: name of what comes out first.

    Raises:
        InputErrors: what of it cannot be written so.
    """
    profile, faults = _read(header, first_part)
    if profile is None:
        raise InputErrors(faults)
    return profile_yaml(profile, heading=_HEADING)


def header_fault(field: str, text: str) -> str | None:
    """Return why a text cannot stand in a field of the header, None when it can."""
    _, faults = _read(_PLACEHOLDERS | {field: text}, "Part")
    return faults[0].message if faults else None


def _read(header: Mapping[str, str], first_part: str) -> tuple[Profile | None, list[Problem]]:
    data = {"format": "1", "unit": dict(header), "parts": [{"id": "part-1", "name": first_part}]}
    return validate(Tree("the new profile", data), Profile, unit_context(data))
