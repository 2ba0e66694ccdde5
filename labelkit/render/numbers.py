"""Lengths as they stand in files."""

from __future__ import annotations


def number(value: float) -> str:
    """Return a length in mm to 0.001 mm, as short as it can be written.

    >>> number(12.0), number(0.12345), number(-0.0001)
    ('12', '0.123', '0')
    """
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
