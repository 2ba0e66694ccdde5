"""Lengths as they stand in files."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from itertools import chain
from typing import Final

from labelkit.drawing.page import Command

# Zeros that say nothing: behind the last other digit of a decimal fraction, with the point if none is left.
_IDLE: Final = re.compile(r"\.?0+(?![\d.])")
_MINUS_NOTHING: Final = re.compile(r"-0(?![\d.])")


def number(value: float) -> str:
    """Return a length in mm to 0.001 mm, as short as it can be written.

    >>> number(12.0), number(0.12345), number(-0.0001)
    ('12', '0.123', '0')
    """
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def outline_text(d: Iterable[Command], forms: Mapping[str, str]) -> str:
    """Return the commands of a path with every length written as by `number`.

    All lengths are written by one formatting: the outlines of toothed parts have ten thousands of them.

    Args:
        d: the commands.
        forms: how each command is written, by its letter: `%.3f` for each of its lengths.
    """
    commands = tuple(d)
    lengths = tuple(chain.from_iterable([command[1:] for command in commands]))
    text = "".join([forms[command[0]] for command in commands]) % lengths
    return _MINUS_NOTHING.sub("0", _IDLE.sub("", text))
