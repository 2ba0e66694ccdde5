"""A play or a clearance as it was typed: the readings, the target, and what there is to choose from.

What was typed comes by the names of the options of `labelkit fit`, whoever typed it where.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Final

from labelkit.calc.answers import Answer
from labelkit.calc.figures import digit
from labelkit.calc.fingerprint import ThinPart, recheck
from labelkit.calc.readings import USUAL_SPREAD, Taken, Taking, take
from labelkit.calc.selecting import Asked, What
from labelkit.calc.selective import Gap, Pieces, Target, Thicker, graded
from labelkit.calc.showing import LengthUnit, Show
from labelkit.calc.typed import band, number, parts, quantity, several
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.units import Quantity

# What it is where nobody says anything: of an option, and of one that may be repeated.
USUAL: Final[Mapping[str, Any]] = {
    **dict.fromkeys(("reading", "seat", "fitted", "chain", "depth", "plate", "nominal"), ()),
    **dict.fromkeys(("spread", "angle", "added", "dial_turn", "expected", "gasket", "warm", "target", "series", "tol")),
    **dict.fromkeys(("thicker", "before", "renewed", "predicted", "wave", "state", "limit_state", "frictions")),
    "readings": 3,
    "gauge": "straight",
    "aim": "middle",
    "tie": "tight",
    "measured": False,
    "depth_by_profile": False,
    "pieces": 1,
}


class Typed:
    """The figures of a fit as typed, read when they are asked for; remembers how fine the lengths are.

    Args:
        given: option to what was typed; what is left out is as usual.
        unit: of bare numbers, and of the answer.
    """

    def __init__(self, given: Mapping[str, Any], unit: LengthUnit) -> None:
        self.given, self._unit, self._seen = {**USUAL, **given}, unit, list[Quantity]()

    @property
    def show(self) -> Show:
        """How to tell lengths: as finely as they were typed."""
        return Show.of(self._unit, self._seen)

    def length(self, name: str) -> Decimal | None:
        """Return a length, mm; None where nothing was typed.

        Args:
            name: of the option, as in Python.

        Raises:
            UsageError: what was typed is no length.
        """
        text = self.given[name]
        return None if text is None else self.one(_option(name), text)

    def slack(self, name: str) -> Decimal | None:
        """Return how far others may be off, mm; its decimals say nothing of theirs; else as `length`."""
        text = self.given[name]
        return None if text is None else quantity(_option(name), text, "length", self._unit).mm

    def one(self, option: str, text: str) -> Decimal:
        """Return a length that stands in the text of an option, mm; errors as for `length`."""
        return self._noted(quantity(option, text, "length", self._unit)).mm

    def needed(self, name: str) -> Decimal:
        """Return a length that must be there, mm; errors as for `length`."""
        found = self.length(name)
        if found is None:
            raise UsageError(f"{_option(name)} is missing; write it as {_option(name)} 2.60")
        return found

    def lengths(self, name: str) -> tuple[Decimal, ...]:
        """Return the lengths of an option that may be repeated, mm; errors as for `length`."""
        return tuple(self._noted(each).mm for each in self._several(name))

    def resolution(self, name: str) -> Decimal:
        """Return the smallest step of a gauge by how its readings were typed, mm."""
        return min(map(digit, self._several(name)), default=Decimal("0.01"))

    def target(self, *, negative: bool = False) -> Target:
        """Return the target.

        Raises:
            UsageError: none, the wrong way round, below zero where that cannot be, or an aim outside.
        """
        if self.given["target"] is None:
            raise UsageError("--target is missing; write it as --target LOW:HIGH, as 0.40:0.60")
        low, high = (self._noted(end) for end in band("--target", self.given["target"], "length", self._unit))
        if low.mm < 0 and not negative:
            raise UsageError(f"--target {self.given['target']}: a play or clearance is never below zero")
        aim: str | Decimal = self.given.get("aim", "middle")
        if aim not in ("middle", "low", "high"):
            aim = self.length("aim") or Decimal(0)
            if not low.mm <= aim <= high.mm:
                raise UsageError(
                    f"--aim {self.given['aim']}: lies outside the target {low} to {high}; "
                    "allowed: middle, low, high, or a length inside it"
                )
        elif low.unit == high.unit:  # the middle may have a decimal more
            self._seen.append(Quantity(((low.value + high.value) / 2).normalize(), low.unit))
        return Target.of(low.mm, high.mm, aim, self.given.get("tie", "tight"))

    def pieces(self) -> Pieces | None:
        """Return what there is to choose from; None where nothing was said.

        Raises:
            UsageError: no sizes, sizes that are none, or more than can be meant.
        """
        text = self.given["series"]
        if text is None:
            return None
        given = parts("--series", text, "length", self._unit, mark=":" if ":" in text else ",")
        if ":" in text and len(given) != 3:
            raise UsageError(f'--series "{text}": allowed: FROM:TO:STEP, as 2.00:3.50:0.15, or a list with commas')
        sizes = tuple(self._noted(each).mm for each in given)
        tolerance = None if self.given["measured"] else self.slack("tol")
        try:
            sizes = graded(sizes[0], sizes[1], sizes[2]) if ":" in text else sizes
            return Pieces(sizes, tolerance or Decimal(0), self.given["pieces"])
        except UsageError as error:
            raise UsageError(f"--series {text}: {error}") from error

    def taking(self, usual_spread: Decimal | None) -> Taking:
        """Return how the readings were taken.

        Args:
            usual_spread: what they may differ by where nothing was said; None: they may.

        Raises:
            UsageError: an angle, length or gauge that is none, or an angle without a gauge.
        """
        given = self.given
        spread, turn = self.slack("spread"), self.slack("dial_turn")
        angle = Decimal(0) if given["angle"] is None else number("--angle", given["angle"])
        if bool(angle) != (given["gauge"] != "straight"):
            raise UsageError("--angle and --gauge lever, face or point go together: by how much does which gauge lean?")
        taking = Taking(
            spread=usual_spread if spread is None else spread,
            least=given["readings"],
            gauge=given["gauge"],
            angle=angle,
            added=self.length("added") or Decimal(0),
            expected=self.length("expected"),
            gasket=given["gasket"],
            warm=given["warm"],
            seat=given["seat"] or Taking().seat,
        )
        return taking if turn is None else replace(taking, turns=(turn,))

    def chain(self) -> tuple[ThinPart, ...]:
        """Return the thin parts of the chain.

        Raises:
            UsageError: not written as NAME=LENGTH, or with a length that is none.
        """
        return tuple(_link(text, self._unit) for text in self.given["chain"])

    def _several(self, name: str) -> Iterator[Quantity]:
        for text in self.given[name]:
            yield from several(_option(name), text, "length", self._unit)

    def _noted(self, found: Quantity) -> Quantity:
        """Return a length whose decimals count for how the answer is shown."""
        self._seen.append(found)
        return found


def checked(typed: Typed, play: Play, judgement: Answer, predicted: Decimal, chain: tuple[ThinPart, ...]) -> Answer:
    """Return the check after fitting.

    Args:
        typed: the options.
        play: as it was read.
        judgement: the play against its target alone.
        predicted: what was expected, mm.
        chain: the thin parts that may be missing or doubled.

    Raises:
        UsageError: something is to be chosen, too.
    """
    if typed.given["fitted"]:
        raise UsageError("--fitted chooses another piece, --predicted checks the one that is in: one of the two")
    # Two readings of one play may differ by their spread, and the piece by its tolerance.
    tolerance = (typed.slack("spread") or USUAL_SPREAD) + (typed.slack("tol") or Decimal(0))
    return recheck(judgement, play.taken.mean, predicted, chain, tolerance, typed.show)


@dataclass(frozen=True, slots=True)
class Play:
    """A play as typed; the attributes as `calc.selecting.selective` has them."""

    taken: Taken
    target: Target
    gap: Gap | None
    pieces: Pieces | None
    asked: Asked
    resolution: Decimal

    @classmethod
    def of(cls, typed: Typed, fit: str, what: What, usual_spread: Decimal | None = USUAL_SPREAD) -> Play:
        """Return what was typed for a play.

        Args:
            typed: the options.
            fit: which sum it is.
            what: is set.
            usual_spread: as for `Typed.taking`.

        Raises:
            UsageError: something is missing or is not what it should be.
        """
        read, target, pieces = typed.lengths("reading"), typed.target(), typed.pieces()
        if not read:
            raise UsageError("--reading is missing; write each as --reading 1.08")
        fitted, before = typed.lengths("fitted"), typed.length("before")
        taking = typed.taking(usual_spread)
        taken = take(read, taking, typed.show)
        gap = None
        if fitted:
            if pieces is None or typed.given["thicker"] is None:
                missing = "--series" if pieces is None else _("--thicker reduces or --thicker increases")
                told = _("--fitted {size}: to choose another, {option} is missing")
                raise UsageError(told.format(size=typed.given["fitted"][0], option=missing))
            if min(fitted) < 0:
                told = _("--fitted {size}: a thickness is never below zero")
                raise UsageError(told.format(size=typed.given["fitted"][0]))
            gap = Gap(taken.mean, sum(fitted, Decimal(0)), typed.given["thicker"], taken.uncertainty or Decimal(0))
        stepped = typed.given["series"] is not None and ":" in typed.given["series"]
        asked = Asked(fit, what, typed.show, before, typed.slack("renewed") or Decimal(0), stepped)
        return cls(taken, target, gap, pieces, asked, typed.resolution("reading"))


def _link(text: str, unit: str) -> ThinPart:
    name, equals, size = text.rpartition("=")
    thicker: Thicker = "increases" if size.rstrip().endswith(" increases") else "reduces"
    size = size.rstrip().removesuffix(" increases").removesuffix(" reduces")
    if not equals or not name.strip():
        raise UsageError(f'--chain "{text}": allowed: NAME=LENGTH, as "thrust race=1.0"')
    thickness = quantity("--chain", size, "length", unit).mm
    if thickness <= 0:
        raise UsageError(f'--chain "{text}": a thickness is more than 0')
    return ThinPart(name.strip(), thickness, thicker)


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"
