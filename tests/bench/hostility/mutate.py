"""What hostile input is made of: bytes that are bent, texts that nobody types, trees whose branches are moved."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator, Sequence
from random import Random
from typing import Any, Final

TEXTS: Final = (
    "", " ", "\t", "0", "-1", "00", "+5", "1e5", "1e999999", "-1e-999999", "9" * 40, "9" * 5000, "0." + "0" * 60 + "1",
    "NaN", "sNaN", "inf", "-Infinity", "1_000", "1,5", "1.5.5", "1/0", "1/3", "0/0", "7/8 in", "3 1/2", "½", "٣",
    "²", "1 lb 4 oz", "12 mm (0.5 in)", "12 in (", "5 N·m", "5 parsec", "1:0", "0:1", "1:2:3", "12:00", "13:61", "-0",
    "true", "null", "~", "free", "no", "yes", "none", "any", "set", "up", "..", "../../etc/passwd", "/dev/null", "con",
    "\x00", "\x7f", "\x1b[31m", "\r\n", "\u2028", "\ufeff", "\u200b", "\u202e", "e\u0301" * 30, "\u0130", "ﬃ", "ß", "ẞ",
    "🦊", "\U0010ffff", "\ud800", "\udcff", "漢字", "العربية", "ไทย", "a" * 61, "a" * 1001, "a b " * 400, "x" * 70_000,
    "'", '"', "`", "%s%n", "{0}", "{x.y}", "%(step)s", "${x}", "<script>x()</script>", "&amp;", "--help", "-", "--",
    "=1+1", "@SUM(A1)", "'; DROP TABLE jobs;--", "2026-02-30", "2026-13-01T00:00:00", "9999-12-31T23:59:59+23:59",
    "0001-01-01T00:00:00-23:59", "on", "off", "1-", "-1-2", "1-2-3", "5.1.1.1", "5-9,12", "7K3M-9Q2X-F4H", "A=B=C", "=",
    "a=", "=b", "1x", "x1", "5xx2", "0x10", "1,2,3", ",", ";", "|", "\\", "\\\\", "(", ")", "((((", "[", "{", "*", "**",
)  # fmt: skip
INTERESTING: Final = (0, 1, 0x7F, 0x80, 0xFF, 0x7FFF, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF, 65, 256, 100_000)


def text(random: Random) -> str:
    """Return a text that nobody types."""
    how = random.random()
    if how < 0.7:
        return random.choice(TEXTS)
    if how < 0.85:
        return random.choice(TEXTS)[:80] + random.choice(TEXTS)[:80]
    if how < 0.95:
        return figure(random)
    return "".join(chr(random.choice((random.randrange(128), random.randrange(0x3000)))) for _ in range(20))


def figure(random: Random) -> str:
    """Return what somebody might have meant as a figure."""
    units = ("", "mm", " in", " N·m", "lbf ft", " kN", '"', "'", " °", "%", " C", " F", " psi", "mils", " lb", " kg")
    value = random.choice(
        (
            str(random.randrange(-5, 200)),
            f"{random.uniform(-3, 90):.{random.randrange(6)}f}",
            f"{random.uniform(0, 9):.2f}".replace(".", ","),
            f"{random.randrange(20)}/{random.randrange(9)}",
            f"{random.randrange(9)}.{'3' * random.randrange(1, 40)}",
            f"{random.randrange(1, 9)}{'0' * random.randrange(40)}",
            f"{random.randrange(9)}e{random.randrange(-40, 40)}",
            f"{random.randrange(9)}:{random.randrange(9)}",
            f"{random.randrange(9)}:{random.randrange(99)}:0.0{random.randrange(99)}",
        )
    )
    return value + random.choice(units)


def near(random: Random, value: str) -> str:
    """Return a text that is nearly this one."""
    if not value or random.random() < 0.5:
        return text(random)
    at = random.randrange(len(value) + 1)
    cut = random.randrange(3)
    put = random.choice(("", random.choice("0123456789.,:;-/ xX=()\"'\u00a0\u2212"), text(random)[:9]))
    return value[:at] + put + value[at + cut :]


def tokens(random: Random, value: str, times: int = 1) -> str:
    """Return a text with some of its lines or words changed, moved, doubled or gone."""
    for _ in range(times):
        mark = random.choice(("\n", "\n", " ", ": ", ", "))
        pieces = value.split(mark)
        at, to = random.randrange(len(pieces)), random.randrange(len(pieces))
        way = random.randrange(6)
        if way == 0:
            pieces[at] = near(random, pieces[at])
        elif way == 1:
            pieces.insert(to, pieces[at])
        elif way == 2:
            pieces.insert(to, pieces.pop(at))
        elif way == 3:
            del pieces[at : at + random.randrange(1, 4)]
        elif way == 4:
            pieces[at] = (
                random.choice(("  ", "\t", "- ", "&a ", "*a ", "!!x ", "? ", "| ", "> ", "{", "[", "#", "%"))
                + (pieces[at])
            )
        else:
            pieces[at] += text(random)
        value = mark.join(pieces)
    return value


def bent(random: Random, value: bytes, times: int = 1) -> bytes:
    """Return bytes with some of them flipped, doubled, overwritten by telling numbers, or cut off."""
    data = bytearray(value)
    for _ in range(times):
        size = len(data)
        if not size:
            break
        # Heads say most: half of the changes go there.
        at = random.randrange(min(size, 128)) if random.random() < 0.5 else random.randrange(size)
        way = random.randrange(7)
        if way == 0:
            data[at] ^= 1 << random.randrange(8)
        elif way == 1:
            data[at] = random.randrange(256)
        elif way == 2:
            wide = random.choice((2, 4))
            number = random.choice(INTERESTING) & (256**wide - 1)
            data[at : at + wide] = number.to_bytes(wide, random.choice(("big", "little")))
        elif way == 3:
            del data[at:]
        elif way == 4:
            data[at:at] = data[at : at + random.randrange(1, 200)]
        elif way == 5:
            del data[at : at + random.randrange(1, 40)]
        else:
            data[at:at] = random.randbytes(random.randrange(1, 20))
    return bytes(data)


def places(tree: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Yield the path of every value within a tree."""
    for key, value in tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ():
        yield (*path, key)
        yield from places(value, (*path, key))


def _inner(tree: Any, path: Sequence[Any]) -> Any:
    for key in path:
        tree = tree[key]
    return tree


def moved(random: Random, tree: Any, value: Callable[[Random], Any], times: int = 1) -> Any:
    """Return a tree with some of its values replaced, exchanged, doubled, renamed, nested or gone.

    Args:
        random: decides.
        tree: plain data; stays as it is.
        value: gives a value that nobody would write.
        times: how many changes.
    """
    tree = copy.deepcopy(tree)
    for _ in range(times):
        known = list(places(tree))
        if not known:
            break
        path, other = random.choice(known), random.choice(known)
        holder, key = _inner(tree, path[:-1]), path[-1]
        way = random.randrange(9)
        if way == 0:
            holder[key] = value(random)
        elif way == 1 and isinstance(holder[key], str):
            holder[key] = near(random, holder[key])
        elif way == 2:
            holder[key] = copy.deepcopy(_inner(tree, other))
        elif way == 3:
            del holder[key]
        elif way == 4 and isinstance(holder, list):
            holder.insert(random.randrange(len(holder) + 1), copy.deepcopy(holder[key]))
        elif way == 5 and isinstance(holder, dict):
            holder[near(random, str(key))[:80]] = holder.pop(key)
        elif way == 6:
            holder[key] = random.choice(([], {}, [holder[key]], {"a": holder[key]}, None))
        elif way == 7 and isinstance(holder, dict):
            holder[str(other[-1])] = copy.deepcopy(_inner(tree, other))
        elif way == 8 and isinstance(holder, list) and len(holder) < 400:
            random.shuffle(holder)
    return tree
