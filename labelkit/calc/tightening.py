"""In which order screws are tightened: on a circle, in a row, in two rows, or as the unit's own manual says.

A pattern that the manual of the unit gives comes before all of these.

Source: the usual star lists for 8, 12 and 16 screws are from memory; the row from its middle out is in public manuals
(read as excerpts); two rows follow from both, common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from labelkit.calc.answers import Answer
from labelkit.calc.figures import percent
from labelkit.errors import UsageError, allowed_text

PATTERNS: Final = ("circle", "row", "two_rows")
_MOST: Final = 200
_OWN_FIRST: Final = "an order that the unit's own manual gives comes before this one"


def order(pattern: str | Sequence[int], count: int) -> tuple[int, ...]:
    """Return the numbers of the screws in the order of tightening.

    Args:
        pattern: `circle`: numbered round, from 1; `row`: from one end; `two_rows`: the first row from one end, then
            the second from the same end; or the order itself, which must name each screw once.
        count: of the screws.

    Raises:
        UsageError: no such pattern, a count it does not suit, or a list that leaves out or repeats a screw.

    >>> order("circle", 6), order("row", 5), order("two_rows", 4)
    ((1, 4, 2, 5, 3, 6), (3, 4, 2, 5, 1), (1, 4, 2, 3))
    """
    if not 1 <= count <= _MOST:
        raise UsageError(f"tightening order: found {count} screws; allowed: 1 to {_MOST}")
    if not isinstance(pattern, str):
        return _own(tuple(pattern), count)
    if pattern == "circle":
        return _star(count) if count % 2 == 0 else _chain(count)
    if pattern == "row":
        return _row(count)
    if pattern == "two_rows":
        return _two_rows(count)
    raise UsageError(f'tightening order: found "{pattern}"; {allowed_text(pattern, PATTERNS)}, or a list of numbers')


def _star(count: int) -> tuple[int, ...]:
    """Pairs of opposite screws, each pair as far as can be from all that are tight.

    How far is told by the gaps to the tight ones from the smallest up; a tie goes to the lowest number.
    """
    done: list[int] = []
    half = count // 2
    while len(done) < count:
        rest = [screw for screw in range(1, count + 1) if screw not in done]
        # Of equal lists of gaps max keeps the first, which is the lowest number.
        first = max(rest, key=lambda screw: sorted(_gap(screw, other, count) for other in done))
        done += [first, (first + half - 1) % count + 1]
    return tuple(done)


def _chain(count: int) -> tuple[int, ...]:
    """Return the order of an odd number, where nothing is quite opposite: each is followed by the nearest to it."""
    step = max(1, (count - 1) // 2)
    return tuple(k * step % count + 1 for k in range(count))


def _gap(one: int, two: int, count: int) -> int:
    apart = abs(one - two)
    return min(apart, count - apart)


def _row(count: int) -> tuple[int, ...]:
    middle = (count + 1) // 2
    found = [middle]
    for away in range(1, middle + 1):
        found += [each for each in (middle + away, middle - away) if 1 <= each <= count]
    return tuple(found)


def _two_rows(count: int) -> tuple[int, ...]:
    if count % 2:
        raise UsageError(
            f"tightening order: found {count} screws in two rows; allowed: an even number, or your own list"
        )
    columns = count // 2
    from_middle = sorted(range(1, columns + 1), key=lambda column: (abs(2 * column - columns - 1), column))
    return tuple(screw for column in from_middle for screw in (column, count + 1 - column))


def _own(given: tuple[int, ...], count: int) -> tuple[int, ...]:
    missing = [screw for screw in range(1, count + 1) if screw not in given]
    twice = sorted({screw for screw in given if given.count(screw) > 1})
    strange = sorted({screw for screw in given if not 1 <= screw <= count})
    faults = [
        f"{word} {', '.join(map(str, which))}"
        for word, which in (("leaves out", missing), ("repeats", twice), ("there is no", strange))
        if which
    ]
    if faults:
        raise UsageError(f"tightening order of {count} screws: {'; '.join(faults)}; allowed: each of 1 to {count} once")
    return given


def tightening(
    pattern: str | Sequence[int], count: int, *, passes: Sequence[Decimal] = (), loosen: bool = False
) -> Answer:
    """Tell the order in lines.

    Args:
        pattern: as for `order`.
        count: of the screws.
        passes: shares of the full torque, in order.
        loosen: tells the same order backwards, from outside to the middle, for taking apart.

    Raises:
        UsageError: as for `order`, or a share that is not above 0 and at most 1.
    """
    found = order(pattern, count)
    name = pattern if isinstance(pattern, str) else "own list"
    if loosen:
        found = found[::-1]
    for share in passes:
        if not 0 < share <= 1:
            raise UsageError(f"pass: found {share:f}; allowed: a share above 0, at most 1, as 0.7")
    line = "-".join(map(str, found))
    sums = [f"{count} screws, {name.replace('_', ' ')}: {line}"]
    sums += [f"pass {k}: {percent(share)} %, {line}" for k, share in enumerate(passes, 1)]
    notes = [_NUMBERS[name]] if name in _NUMBERS else []
    notes += [_OWN_FIRST] if isinstance(pattern, str) else []
    if loosen:
        notes.append("loosen each a little in every pass; no screw comes out before all are free")
    return Answer("tightening", "ok", {"pattern": name, "count": count, "order": found}, tuple(sums), tuple(notes))


_NUMBERS: Final = {
    "circle": "numbered round the circle, 1 where you like",
    "row": "numbered from one end to the other",
    "two_rows": "numbered along the first row, then along the second from the same end",
}
