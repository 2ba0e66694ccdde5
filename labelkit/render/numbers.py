"""Lengths as they stand in files."""

from __future__ import annotations


def number(value: float) -> str:
    """Return a length in mm to 0.001 mm, as short as it can be written.

    >>> number(12.0), number(0.12345), number(-0.0001)
    ('12', '0.123', '0')
    """
    value = round(value, 3)
    whole = int(value)
    return str(whole) if whole == value else repr(value)
