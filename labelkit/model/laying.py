"""How the trays of a job are to be laid out: which trays, how close, how they may be read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final, Self, TypeVar

from labelkit.model.scalars import LONGEST_MM
from labelkit.model.stock import Tray

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Spacing:
    """How close things lie, mm.

    Attributes:
        gap: least clear distance between things; half of it to the wall.
        flag: width and height of the flag with the step number.
        flag_gap: least distance of a flag from its own part.
    """

    gap: float = 8.0
    flag: tuple[float, float] = (30.0, 15.0)
    flag_gap: float = 2.0


@dataclass(frozen=True, slots=True)
class TrayKind:
    """A kind of tray as a job remembers it, whatever becomes of the stock.

    Attributes:
        name: of the stock.
        size_mm: width and depth from front to back, inside.
        limit: greatest mass of what lies in it, kg.
    """

    name: str
    size_mm: tuple[float, float]
    limit: Decimal

    @classmethod
    def of(cls, tray: Tray) -> Self:
        """Return what is remembered of a stock."""
        return cls(tray.name, tray.size_mm, tray.limit.kg)


@dataclass(frozen=True, slots=True)
class Laying:
    """How the trays of a job are laid out.

    Attributes:
        trays: the kinds of tray to use, of each as many as it takes.
        spacing: gap, flag and the flag's distance.
        grade: the highest reading grade: 0 lines, 1 lines with a closing block, 2 columns.
        keep_whole: split a sub-assembly only if it fits no empty tray.
    """

    trays: tuple[TrayKind, ...]
    spacing: Spacing = Spacing()
    grade: int = 2
    keep_whole: bool = True

    def plain(self) -> dict[str, Any]:
        """Return it as data for JSON."""
        return {
            "trays": [[tray.name, *tray.size_mm, str(tray.limit)] for tray in self.trays],
            "gap": self.spacing.gap,
            "flag": list(self.spacing.flag),
            "flag_gap": self.spacing.flag_gap,
            "grade": self.grade,
            "keep_whole": self.keep_whole,
        }

    @classmethod
    def of_plain(cls, data: Mapping[str, Any]) -> Self:
        """Return what `plain` made data of.

        Raises:
            ValueError, KeyError, TypeError, ArithmeticError: it did not.
        """
        trays = tuple(
            TrayKind(_of(str, name), (_length(width), _length(depth)), Decimal(_of(str, limit)))
            for name, width, depth, limit in data["trays"]
        )
        width, height = data["flag"]
        spacing = Spacing(_length(data["gap"]), (_length(width), _length(height)), _length(data["flag_gap"]))
        if not trays or data["grade"] not in range(3) or not all(kind.limit.is_finite() for kind in trays):
            raise ValueError("no tray, no such grade, or no limit")
        return cls(trays, spacing, data["grade"], _of(bool, data["keep_whole"]))


def _of(kind: type[T], value: object) -> T:
    if not isinstance(value, kind):
        raise TypeError(f"found {value!r}; needed: {kind.__name__}")
    return value


def _length(value: float) -> float:
    if isinstance(value, bool) or not 0 <= value <= LONGEST_MM:
        raise ValueError(f"found {value!r}; needed: a length in mm")
    return value


# Where nobody says which trays there are: the packaging module of ISO 3394, and what one person lifts without thinking
# twice (common practice, no source).
DEFAULT_LAYING: Final = Laying((TrayKind("tray-600x400", (600.0, 400.0), Decimal(10)),))
