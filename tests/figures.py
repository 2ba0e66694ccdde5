"""What the tests of sums share: quantities as people write them, and the hunt for floats."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict

from labelkit.calc.answers import Answer
from labelkit.units import Quantity, parse


def q(text: str) -> Quantity:
    """Return a quantity; a bare number is in mm."""
    return parse(text, None, "mm")


def floats_in(value: object) -> list[float]:
    """Return every float within an answer or nested values."""
    if isinstance(value, Answer):
        return floats_in(asdict(value)) + floats_in(value.data())
    if isinstance(value, float):
        return [value]
    if isinstance(value, Mapping):
        return [found for each in value.values() for found in floats_in(each)]
    if isinstance(value, tuple | list):
        return [found for each in value for found in floats_in(each)]
    return []
