"""What is asked of a captured part on its later page only: how it is held, renewed and washed, torque, cautions."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from labelkit.bench.capturetree import RELATED, Captured, Unit
from labelkit.language import gettext as _
from labelkit.model.formwords import folded
from labelkit.model.part import SIGNALS
from labelkit.sheets import wording
from labelkit.units import pointed

_TEXTS: Final = ("look_under", "tool", "torque", "caution", *RELATED)
_TICKS: Final = ("one_time", "left_hand")
# What is captured behind another part never comes out: it has no step, and nobody had it in the hand.
_HELD: Final = {key: words for key, words in wording.HELD.items() if key != "behind"}
_BY_A_RING: Final = "ring"


def choices() -> dict[str, tuple[tuple[str, str], ...]]:
    """Return what each question with buttons may be answered with, in words; an empty answer is not recorded."""
    unknown = ("", _("Not recorded"))
    tables = {"held": _HELD, "wash": wording.WASH, "renew": wording.RENEW}
    found = {name: (*((key, _(words)) for key, words in table.items()), unknown) for name, table in tables.items()}
    return found | {"signal": tuple((signal, wording.signal_word(signal)) for signal in reversed(SIGNALS))}


def typed_more(part: Captured, unit: Unit) -> dict[str, str]:
    """Return the fields as they stand for a part: other parts by their steps."""
    steps = {str(number): step for number, step in unit.steps().items()}
    return {key: steps.get(text, "") if key in RELATED else text for key, text in part.more.items()}


def told_more(text: Mapping[str, str], unit: Unit, part: Captured) -> tuple[dict[str, str], dict[str, str]]:
    """Return what a form tells beyond the rest, and what is wrong with which field.

    Args:
        text: the fields of the form.
        unit: what is captured so far.
        part: which part it is about.
    """
    allowed = choices()
    told = {key: text.get(key, "") for key in (*allowed, *_TEXTS, *_TICKS)}
    told |= {key: "" for key, ways in allowed.items() if told[key] not in dict(ways)}
    told |= {key: "yes" if told[key] else "" for key in _TICKS}
    told["signal"] = told["signal"] or "caution" if told["caution"] else ""
    faults: dict[str, str] = {}
    numbers = {step: str(number) for number, step in unit.steps().items()}
    for key in RELATED:
        if told[key] and told[key] not in numbers:
            faults[key] = no_step(told[key], numbers)
        elif told[key] and numbers[told[key]] == str(part.number):
            faults[key] = _("this is the part itself")
        told[key] = numbers.get(told[key], "")
    if told["held"] == _BY_A_RING and not told["held_part"] and "held_part" not in faults:
        faults["held_part"] = _("type the step of that part")
    return {key: value for key, value in told.items() if value}, faults


def no_step(step: str, steps: Iterable[str]) -> str:
    """Return that nothing has a step that was typed; `steps` are those that there are, in their order."""
    known = [*steps]
    so_far = " – ".join(dict.fromkeys((known[0], known[-1]))) if known else "–"
    told = _('there is no step "{step}"; captured so far: {steps}. One that comes later can be told later')
    return told.format(step=step, steps=so_far)


def as_more(part: Captured, ids: Mapping[str, str]) -> dict[str, Any]:
    """Return the fields of a profile, those of `out` under `out`, without what is not recorded."""
    more = part.more
    by, holder = more.get("held", ""), ids.get(more.get("held_part", ""), "")
    if by == _BY_A_RING and not holder:
        by = ""  # what held it was taken out of the list
    out = {"look_under": more.get("look_under", ""), "tool": _tool_id(more.get("tool", ""))}
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


def tools(unit: Unit) -> dict[str, str]:
    """Return the tools that were named, by their ids; the same words are the same tool."""
    named = (part.more.get("tool", "") for _step, part, _above in unit.walk())
    return {_tool_id(name): name for name in named if name}


def _tool_id(name: str) -> str:
    """Return the id of a tool.

    >>> _tool_id("Ring pliers, 2.5 mm tips")
    'ring-pliers-2-5-mm-tips'
    """
    return re.sub(r"[^a-z0-9]+", "-", folded(name)).strip("-")[:40].strip("-") or ("tool" if name else "")


def _named(number: str, ids: Mapping[str, str]) -> list[str]:
    return [ids[number]] if number in ids else []


def others(part: Captured) -> Iterator[str]:
    """Yield the numbers of the parts that this one names."""
    yield from (part.more[key] for key in RELATED if part.more.get(key))
