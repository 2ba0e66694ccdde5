"""The rows of the benchmark table: what was measured, of how much, and what was wanted."""

from __future__ import annotations

import importlib
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import redirect_stdout
from dataclasses import dataclass
from typing import Literal, TypeVar

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Row:
    """One figure.

    Attributes:
        name: what it is of.
        value: the figure.
        unit: of the figure; empty for a count or a ratio.
        bar: what it should be; None: nobody has said.
        sense: whether it should be at most the bar, or at least.
        sample: how much was measured.
    """

    name: str
    value: float
    unit: str = ""
    bar: float | None = None
    sense: Literal["<=", ">="] = "<="
    sample: str = ""

    @property
    def verdict(self) -> str:
        """Whether the bar is met; empty where there is none."""
        if self.bar is None:
            return ""
        return "met" if (self.value <= self.bar if self.sense == "<=" else self.value >= self.bar) else "MISSED"

    @property
    def measured(self) -> str:
        """The figure with its unit."""
        return f"{figure(self.value)} {self.unit}".strip()

    @property
    def wanted(self) -> str:
        """The bar with its unit; empty where there is none."""
        sign = {"<=": "at most", ">=": "at least"}[self.sense]
        return "" if self.bar is None else f"{sign} {figure(self.bar)} {self.unit}".strip()


def figure(value: float) -> str:
    """Return a figure to four digits, whole numbers in full.

    >>> figure(9770), figure(0.83491), figure(21.666), figure(0.0004)
    ('9,770', '0.8349', '21.67', '0.0004')
    """
    if value == int(value):
        return f"{int(value):,}"
    return f"{value:,.0f}" if abs(value) >= 1000 else f"{value:.4g}"


def lines(heading: str, rows: Iterable[Row]) -> Iterator[str]:
    """Yield the lines of a table in Markdown for the rows of one benchmark."""
    for row in rows:
        cells = (heading, row.name, row.measured, row.wanted, row.verdict, row.sample)
        yield f"| {' | '.join(cells)} |"


def rows_of(name: str, quick: bool) -> list[Row]:
    """Return the rows of one benchmark; what it prints besides goes to where messages go.

    Raises:
        RuntimeError: what it ended with, as a text that can be handed from one process to another.
    """
    with redirect_stdout(sys.stderr):
        try:
            return [*importlib.import_module(f"tests.bench.bench_{name}").rows(quick)]
        except (Exception, SystemExit) as error:
            raise RuntimeError(f"{type(error).__name__}: {error}") from error


def least(call: Callable[[], T], times: int = 3) -> tuple[float, T]:
    """Return the least processor time of some calls, s, and what the last one gave."""
    best = float("inf")
    for _ in range(times):
        start = time.process_time()
        found = call()
        best = min(best, time.process_time() - start)
    return best, found
