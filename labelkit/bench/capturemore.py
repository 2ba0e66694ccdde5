"""What is asked on a later page only: of a part how it is held, renewed and washed; of the unit its mass and oil."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from labelkit.bench.capturetree import RELATED, Captured, Unit
from labelkit.bench.typed import as_meant
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.form import FORMS
from labelkit.model.formwords import folded
from labelkit.model.hardwareform import Threaded
from labelkit.model.part import SIGNALS
from labelkit.sheets import wording
from labelkit.sheets.hints.words import LEFT_HAND
from labelkit.units import pointed


@dataclass(frozen=True, slots=True)
class Later:
    """One question.

    Attributes:
        name: of its field, as `more` of a part or a unit has it.
        words: what it is called; said in the language that is spoken by who asks.
        kind: `text`, `figure`, `tick`, or a `choice`.
        hint: how it may be typed.
        most: letters.
        usual: the choice where none was made.
    """

    name: str
    words: str
    kind: str = "text"
    hint: str = ""
    most: int = 400
    usual: str = ""

    @property
    def choices(self) -> tuple[tuple[str, str], ...]:
        """What it may be answered with, in words; an empty answer is not recorded."""
        if self.name == "signal":
            return tuple((signal, wording.signal_word(signal)) for signal in reversed(SIGNALS))
        return (*((key, _(words)) for key, words in _CHOICES[self.name].items()), ("", _("Not recorded")))


_BY_A_RING: Final = "ring"
_LONGEST_ID: Final = 40
_CHOICES: Final = {
    # What is captured behind another part never comes out: it has no step, and nobody had it in the hand.
    "held": {key: words for key, words in wording.HELD.items() if key != "behind"},
    "wash": wording.WASH,
    "renew": wording.RENEW,
}
OF_PART: Final = (
    Later("held", noop("What holds it"), "choice"),
    Later("held_part", noop("Step of the ring or part that holds it"), "figure", most=9),
    Later("look_under", noop("What to look for under it")),
    Later("tool", noop("Tool that takes it out"), most=80),
    Later("keep_with", noop("Step of the part that it stays with"), "figure", most=9),
    Later("pair", noop("Step of the part that it is matched with"), "figure", most=9),
    Later("renew", noop("When it is renewed"), "choice"),
    Later("one_time", noop("Used once: never put back"), "tick"),
    Later("wash", noop("How it is washed"), "choice"),
    Later("left_hand", noop("Left-hand thread"), "tick"),
    Later("torque", noop("Torque, N·m"), hint=noop("also 18 lbf·ft"), most=60),
    Later("signal", noop("Caution: how grave"), "choice", usual="caution"),
    Later("caution", noop("Caution: what to watch for")),
)
_SCREWED: Final = ("left_hand", "torque")
OF_UNIT: Final = (
    Later("unit-twelve", noop("What is at 12 o'clock?"), hint=noop("Fill plug"), most=80),
    Later("unit-source", noop("Where do the figures come from?"), hint=noop("Shop notes, name plate"), most=80),
    Later("unit-mass", noop("Mass of the unit, kg"), hint=noop("also 450 g, 1 lb 4 oz"), most=60),
    Later("unit-oil.kind", noop("Oil, or another fluid"), hint=noop("As the unit or its manual says it"), most=80),
    Later("unit-oil.volume_l", noop("How much of it, in litres"), "figure", most=9),
)
"""Behind the dash, the path in the header of a profile."""


def asked_of(kind: str) -> tuple[Later, ...]:
    """Return what is asked of a part by the kind of its form."""
    screwed = kind in FORMS and issubclass(FORMS[kind], Threaded)
    return tuple(each for each in OF_PART if screwed or each.name not in _SCREWED)


def typed_more(part: Captured, unit: Unit) -> dict[str, str]:
    """Return the fields as they stand for a part: other parts by their steps."""
    return {key: unit.step_of(text) if key in RELATED else text for key, text in part.more.items()}


def told_more(text: Mapping[str, str], unit: Unit, part: Captured) -> tuple[dict[str, str], dict[str, str]]:
    """Return what a form tells beyond the rest, and what is wrong with which field.

    Args:
        text: the fields of the form.
        unit: what is captured so far.
        part: which part it is about.
    """
    told = {each.name: text.get(each.name, "") for each in OF_PART}
    for each in OF_PART:
        if each.kind == "choice" and told[each.name] not in dict(each.choices):
            told[each.name] = ""
        elif each.kind == "tick" and told[each.name]:
            told[each.name] = "yes"
    told["torque"] = as_meant(told["torque"], "torque")  # kept as a profile has it: others read it in their language
    told["signal"] = told["signal"] or "caution" if told["caution"] else ""
    faults: dict[str, str] = {}
    numbers = unit.numbers()
    for key in RELATED:
        if told[key] and told[key] not in numbers:
            faults[key] = no_step(told[key], numbers)
        elif told[key] and numbers[told[key]] == str(part.number):
            faults[key] = _("this is the part itself")
        told[key] = numbers.get(told[key], "")
    if told["held"] == _BY_A_RING and not told["held_part"] and "held_part" not in faults:
        faults["held_part"] = _("type the step of that part")
    if told["one_time"] and told["renew"] == "never":
        faults["renew"] = _("used once, and never put back: it is renewed each time; one of the two is wrong")
    return {key: value for key, value in told.items() if value}, faults


def named_more(name: str, kind: str) -> dict[str, str]:
    """Return what a name tells already of what is asked later: forcing a left-hand thread breaks the shaft.

    >>> named_more("Load nut M24 x 2 LH", "nut"), named_more("Cover LH", "hub")
    ({'left_hand': 'yes'}, {})
    """
    screwed = any(each.name == "left_hand" for each in asked_of(kind))
    return {"left_hand": "yes"} if screwed and LEFT_HAND.search(name) else {}


def no_step(step: str, steps: Iterable[str]) -> str:
    """Return that nothing has a step that was typed; `steps` are those that there are, in their order."""
    inside: dict[str, list[str]] = {}
    for each in steps:
        inside.setdefault(each.rpartition(".")[0], []).append(each)
    so_far = ", ".join(" – ".join(dict.fromkeys((known[0], known[-1]))) for known in inside.values()) or "–"
    told = _('there is no step "{step}"; captured so far: {steps}. One that comes later can be told later')
    return told.format(step=step, steps=so_far)


def as_more(part: Captured, ids: Mapping[str, str]) -> dict[str, Any]:
    """Return the fields of a profile, those of `out` under `out`, without what is not recorded."""
    more = part.more
    by, holder = more.get("held", ""), ids.get(more.get("held_part", ""), "")
    if by == _BY_A_RING and not holder:
        by = ""  # what held it was taken out of the list
    tool = more.get("tool", "")
    out = {"look_under": more.get("look_under", ""), "tool": tool and ident(tool, "tool")}
    told: dict[str, Any] = {
        "renew": more.get("renew", ""),
        "out": {key: value for key, value in out.items() if value},
        "held": {"by": by, **({"part": holder} if holder else {})} if by else {},
        "keep_with": _named(more.get("keep_with", ""), ids),
        "pair": _named(more.get("pair", ""), ids),
        "wash": more.get("wash", ""),
        "hazards": [{"signal": more["signal"], "text": more["caution"]}] if more.get("caution") else [],
        "thread": "left" if more.get("left_hand") else "",
        "one_time": "true" if more.get("one_time") else "",
        "fasten": {"torque": pointed(more["torque"])} if more.get("torque") else {},
    }
    return {key: value for key, value in told.items() if value}


def as_header(unit: Unit) -> dict[str, Any]:
    """Return the fields of a profile's header that `OF_UNIT` asks, without what is not recorded."""
    told: dict[str, Any] = {}
    for field, text in unit.more.items():
        group, _dot, name = field.partition("-")[2].rpartition(".")
        fields = told.setdefault(group, {"kind": ""}) if group else told
        fields[name] = pointed(text) if name in ("mass", "volume_l") else text
    return told


def tools(unit: Unit) -> dict[str, str]:
    """Return the tools that were named, by their ids; the same words are the same tool."""
    named = (part.more.get("tool", "") for _step, part in unit.walk())
    return {ident(name, "tool"): name for name in named if name}


def ident(name: str, usual: str) -> str:
    """Return what a profile calls something by its name; `usual` where no letter of that may stand in an id.

    >>> ident("Ring pliers, 2.5 mm tips", "tool")
    'ring-pliers-2-5-mm-tips'
    """
    return re.sub(r"[^a-z0-9]+", "-", folded(name)).strip("-")[:_LONGEST_ID].strip("-") or usual


def _named(number: str, ids: Mapping[str, str]) -> list[str]:
    return [ids[number]] if number in ids else []


def others(part: Captured) -> Iterator[str]:
    """Yield the numbers of the parts that this one names."""
    yield from (part.more[key] for key in RELATED if part.more.get(key))
