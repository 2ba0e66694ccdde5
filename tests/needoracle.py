"""Random units, and a second opinion on what of them must be new, counted piece by piece.

It shares nothing with `calc.renewal`: no ordinals, no steps, no bits; it lays out every copy of every part as a path,
lets needs spread until nothing changes, and counts. One choice of options at a time.
"""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import dataclass
from typing import Any

from hypothesis import strategies as st

OPTIONS = {"a": ("x", "y"), "b": ("u", "v", "w")}
NUMBERS = [f"N{k}" for k in range(5)]
Path = tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class Piece:
    """One copy of one part, as data of the file, by the ids and turns down to it."""

    path: Path
    part: Any
    count: int | None
    above: tuple[Any, ...]


def _pieces(parts: list[Any], chosen: dict[str, str], path: Path, count: int | None, above: tuple[Any, ...]) -> Any:
    for part in parts:
        only = part.get("only", {})
        if any(chosen[group] not in wanted for group, wanted in only.items()):
            continue
        qty = part.get("qty", "1")
        own = None if count is None or qty == "set" else count * int(qty)
        for turn in range(int(part.get("used", "1"))):
            here = (*path, (part["id"], turn))
            yield Piece(here, part, own, above)
            yield from _pieces(part.get("parts", []), chosen, here, own, (*above, part))


def _together(one: Piece, other: Piece) -> bool:
    """Whatever both are inside, or are, they are the same one of it."""
    mine = dict(one.path)
    return all(mine.get(name, turn) == turn for name, turn in other.path)


def _behind(piece: Piece) -> set[str]:
    return {each["held"]["part"] for each in (*piece.above, piece.part) if each.get("held", {}).get("by") == "behind"}


def _pulls(cause: Piece, piece: Piece) -> bool:
    if not _together(cause, piece):
        return False
    name, part = cause.part["id"], piece.part
    renewed_with = isinstance(part.get("renew"), dict) and part["renew"]["with"] == name
    matched = name in part.get("pair", ()) or part["id"] in cause.part.get("pair", ())
    comes_out = bool(part.get("one_time")) and part["id"] in _behind(cause)
    stands_for = piece.path[:-1] == cause.path and "number" not in cause.part
    return renewed_with or matched or comes_out or stands_for


def count(parts: list[Any], chosen: dict[str, str], verdicts: dict[Path, str]) -> tuple[Counter[str], set[str]]:
    """Return pieces by number (or by id where there is none), and what is needed without a fixed count."""
    pieces = list(_pieces(parts, chosen, (), 1, ()))
    new = set()
    for piece in pieces:
        part = piece.part
        once = bool(part.get("one_time")) and not isinstance(part.get("renew"), dict) and not _behind(piece)
        if part.get("renew") == "always" or once or verdicts.get(piece.path, "ok") != "ok":
            new.add(piece.path)
    while True:
        causes = [piece for piece in pieces if piece.path in new]
        more = {each.path for each in pieces if each.path not in new and any(_pulls(c, each) for c in causes)}
        if not more:
            break
        new |= more
    counted: Counter[str] = Counter()
    open_ = set()
    for piece in pieces:
        number = piece.part.get("number")
        if piece.path not in new or (number is None and piece.part.get("parts")):
            continue
        key = number or f"id {piece.part['id']}"
        if piece.count is None:
            open_.add(key)
        else:
            counted[key] += piece.count
    return counted, open_


@st.composite
def _part(draw: st.DrawFn, ids: Any, depth: int) -> dict[str, Any]:
    part: dict[str, Any] = {"id": next(ids), "qty": draw(st.sampled_from(["1", "1", "2", "3", "set"]))}
    part["name"] = part["id"]
    if draw(st.booleans()):
        part["number"] = draw(st.sampled_from(NUMBERS))
    part["renew"] = draw(st.sampled_from(["always", "if_worn", "if_worn", "never"]))
    if draw(st.integers(0, 3)) == 0:
        part["one_time"] = "true"
    if draw(st.integers(0, 3)) == 0:
        group = draw(st.sampled_from(sorted(OPTIONS)))
        part["only"] = {group: draw(st.lists(st.sampled_from(OPTIONS[group]), min_size=1, max_size=2, unique=True))}
    if depth < 2 and draw(st.integers(0, 2)) == 0:
        part["used"] = draw(st.sampled_from(["1", "2", "3"]))
        part["parts"] = draw(_level(ids, depth + 1))
    return part


@st.composite
def _level(draw: st.DrawFn, ids: Any, depth: int) -> list[dict[str, Any]]:
    parts = [draw(_part(ids, depth)) for _ in range(draw(st.integers(1, 4)))]
    plain = [part for part in parts if "parts" not in part]
    for k, part in enumerate(plain):
        others = [each["id"] for each in plain if each is not part]
        tie = draw(st.integers(0, 4)) if others else 0
        if tie == 1:
            part["renew"] = {"with": draw(st.sampled_from(others))}
        elif tie == 2:
            part["pair"] = [draw(st.sampled_from(others))]
        elif tie == 3 and k:  # only behind one that stands before it, so that none is behind itself
            captor = draw(st.sampled_from(plain[:k]))
            captor["one_time"] = "true"
            captor["renew"] = {"with": part["id"]} if draw(st.booleans()) else captor["renew"]
            part["held"] = {"by": "behind", "part": captor["id"]}
    return parts


@st.composite
def units(draw: st.DrawFn) -> tuple[list[dict[str, Any]], dict[Path, str]]:
    """Return the parts of a unit, as its file says them, and verdicts on some of them."""
    ids = (f"p{k}" for k in itertools.count())
    parts = draw(_level(ids, 0))
    verdicts = {}
    for choices in itertools.product(*OPTIONS.values()):
        for piece in _pieces(parts, dict(zip(OPTIONS, choices, strict=True)), (), 1, ()):
            if piece.path not in verdicts:
                verdicts[piece.path] = draw(st.sampled_from(["ok", "ok", "ok", "condemned", "lost"]))
    return parts, verdicts
