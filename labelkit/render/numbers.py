"""Lengths as they stand in files."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import chain

from labelkit.drawing.page import Command


def number(value: float) -> str:
    """Return a length in mm, below a kilometre, to 0.001 mm, as short as it can be written.

    >>> number(12.0), number(0.12345), number(-0.0001)
    ('12', '0.123', '0')
    """
    return f"{round(value * 1000) / 1000:.9g}"


def outline_text(d: Iterable[Command], forms: Mapping[str, str]) -> str:
    """Return the commands of a path with every length written as by `number`.

    All lengths are written by one formatting: the outlines of toothed parts have ten thousands of them.

    Args:
        d: the commands.
        forms: how each command is written, by its letter: `%.9g` for each of its lengths.
    """
    commands = tuple(d)
    lengths = chain.from_iterable([command[1:] for command in commands])
    text = "".join([forms[command[0]] for command in commands])
    # To whole thousandths: rounding to places takes twice as long, and leaves minus nothing.
    return text % tuple([round(length * 1000) / 1000 for length in lengths])
