"""Acts: what each kind takes, what it refuses, and that it comes back from its text as it was."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

import pytest

from labelkit.model.acts import KINDS
from labelkit.model.events import ActFaults, act_data, act_of, act_of_text, act_text
from tests.shop import ROOT

# Of every kind the least it takes.
LEAST: dict[str, dict[str, Any]] = {
    "count_found": {"count": 0},
    "side_seen": {"up": "hat"},
    "photo": {"sha256": "0" * 64},
    "reading": {"check": 0, "at": "apart", "values": ["0.30"], "unit": "mm"},
    "fit_chosen": {"fit": "end-play", "sizes": ["2.60"]},
    "inspected": {"verdict": "ask"},
    "condemned": {"why": "cracked"},
    "ordered": {"number": "K-1", "pieces": 1},
    "received": {"pieces": 1},
    "returned": {"pieces": 1, "why": "too thin"},
    "hold": {"why": "wait"},
    "released": {"of": 1, "why": "seen"},
    "deviation": {"what": "a", "reason": "b", "agreed": "c"},
    "option_seen": {"option": "output", "how": "looked"},
    "noted": {"note": "oil is black"},
    "correction": {"of": 1, "why": "wrong bin"},
    "signature": {"statement": "done"},
    "reopened": {"why": "leak"},
}


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_is_written_by_a_page_or_a_command(kind: str) -> None:
    """As the wish of a form or of an option: one that nobody can do is a word only."""
    written = rf'wish\(\s*"{kind}"|"kind": "{kind}"|_as_typed\("{kind}"'

    assert re.search(written, _sources()), "give it a form in bench/cardforms.py (DEVELOPERS.md, a kind of event)"


@cache
def _sources() -> str:
    return "".join(path.read_text() for floor in ("bench", "cli") for path in (ROOT / "labelkit" / floor).rglob("*.py"))


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_comes_back_as_it_was(kind: str) -> None:
    """From plain data and from its text; a field it does not have is refused with those it has."""
    data = {"kind": kind, **LEAST.get(kind, {}), "note": "seen  twice"}

    act = act_of(data)

    assert act == act_of(act_data(act))
    assert act == act_of_text(kind, act_text(act))
    with pytest.raises(ActFaults, match=r"nott: there is no such field; allowed: .*note.*did you mean note\?"):
        act_of({**data, "nott": 1})


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"kind": "removd"}, "kind", "did you mean removed?"),
        ({}, "kind", "found None"),
        ({"kind": "removed", "count": -1}, "count", 'found "-1"'),
        ({"kind": "removed", "count": 10**6}, "count", "allowed: at most 9999"),
        ({"kind": "count_found"}, "count", "is left out; fill it in"),
        ({"kind": "hold"}, "why", "is empty; write some words"),
        ({"kind": "noted", "note": "a\x00b"}, "note", "U+0000, which cannot be printed"),
        ({"kind": "noted", "note": "  "}, "note", "is empty; write some words"),
        ({"kind": "noted", "note": "x" * 2001}, "note", "at most 2000"),
        ({"kind": "side_seen"}, "", "say which face was up, or the clock position"),
        ({"kind": "side_seen", "up": "hat\nlip"}, "up", "longer than one line"),
        ({"kind": "photo", "sha256": "../../etc/passwd"}, "sha256", "pattern"),
        ({"kind": "reading", "at": "apart", "values": ["1"], "unit": "mm"}, "", "either of a check or of a fit"),
        ({**LEAST["reading"], "kind": "reading", "values": ["NaN"]}, "values.0", "allowed: a figure"),
        ({**LEAST["reading"], "kind": "reading", "values": ["one"]}, "values.0", 'found "one"'),
        ({"kind": "installed", "override": {"reason": "x"}}, "override.agreed", "is left out"),
    ],
)
def test_what_is_wrong_is_told_at_its_field(data: dict[str, Any], field: str, words: str) -> None:
    """So that a form comes back with the sentence where it belongs."""
    with pytest.raises(ActFaults) as told:
        act_of(data)

    assert words in told.value.faults[field]
