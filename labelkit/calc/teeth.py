"""Counted teeth tell which version of a unit this is.

Source: ring held, sun drives, carrier out: ratio = 1 + ring / sun; ring = sun + 2 x planet; planets stand evenly where
(sun + ring) / planets is whole. From memory, the textbook conditions of a planetary stage.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from labelkit.calc.answers import Answer, Value, Verdict
from labelkit.calc.figures import rounded
from labelkit.errors import UsageError

_PLACES = 3
_MOST = 9999


@dataclass(frozen=True, slots=True)
class Stage:
    """The teeth of a planetary stage.

    Attributes:
        sun: teeth of the sun.
        planet: teeth of each planet.
        ring: teeth of the ring; None: it follows from the other two.
        planets: how many there are; None: their spacing is not checked.
    """

    sun: int
    planet: int
    ring: int | None = None
    planets: int | None = None

    def __post_init__(self) -> None:
        for name in ("sun", "planet", "ring", "planets"):
            if (value := getattr(self, name)) is not None and not 1 <= value <= _MOST:
                raise UsageError(f"teeth: {name} {value}; allowed: from 1 to {_MOST}")

    @property
    def of_ring(self) -> int:
        """Teeth of the ring, counted or as they follow."""
        return self.sun + 2 * self.planet if self.ring is None else self.ring

    @property
    def ratio(self) -> Decimal:
        """Turns of the sun for one of the carrier, ring held; unrounded."""
        return 1 + Decimal(self.of_ring) / self.sun

    def faults(self) -> list[str]:
        """Return why such a stage cannot be put together; empty where it can."""
        found = []
        wanted = self.sun + 2 * self.planet
        if self.of_ring != wanted:
            found.append(f"ring {self.of_ring} is not sun {self.sun} + 2 x planet {self.planet} = {wanted}")
        if self.planets and (self.sun + self.of_ring) % self.planets:
            found.append(
                f"(sun {self.sun} + ring {self.of_ring}) / {self.planets} planets is not whole: "
                "they cannot stand evenly"
            )
        return found


def stage(teeth: Stage, options: Mapping[str, Sequence[int]] | None = None) -> Answer:
    """Tell the ratio of a stage, whether it can be put together, and which option it is.

    Args:
        teeth: as counted.
        options: for each version its teeth, sun and planet; None: no version is looked for.

    Returns:
        `ok`; `out` where the counts cannot be; `none` where no option has these teeth; `ask` where several have.

    >>> stage(Stage(21, 27, planets=3), {"i16-8": (21, 27), "i22-0": (15, 30)}).values["option"]
    'i16-8'
    """
    ring = teeth.of_ring
    sums = []
    if teeth.ring is None:
        sums.append(f"ring = sun {teeth.sun} + 2 x planet {teeth.planet} = {ring}")
    ratio = rounded(teeth.ratio, _PLACES)
    sums.append(f"ratio = 1 + {ring} / {teeth.sun} = {ratio} (ring held, sun drives, carrier out)")
    if teeth.planets:
        share = Decimal(teeth.sun + ring) / teeth.planets
        whole = share == share.to_integral_value()
        sums.append(f"({teeth.sun} + {ring}) / {teeth.planets} = {rounded(share, 0 if whole else _PLACES)}")
    values: dict[str, Value] = {"ring": ring, "ratio": ratio}
    if faults := teeth.faults():
        return Answer("teeth", "out", values, tuple(sums), (*faults, "count again"))
    return _with_option("teeth", values, sums, (teeth.sun, teeth.planet), options)


def pair(driver: int, driven: int, options: Mapping[str, Sequence[int]] | None = None) -> Answer:
    """Tell the ratio of two gears in mesh, and which option they are.

    Args:
        driver: teeth of the gear that drives.
        driven: teeth of the other.
        options: for each version its teeth in the same order; None: no version is looked for.

    Raises:
        UsageError: a count below 1.
    """
    if not (1 <= driver <= _MOST and 1 <= driven <= _MOST):
        raise UsageError(f"teeth: {driver} and {driven}; allowed: from 1 to {_MOST}")
    ratio = Decimal(driven) / driver
    sums = [f"ratio = {driven} / {driver} = {rounded(ratio, _PLACES)}"]
    return _with_option("teeth", {"ratio": rounded(ratio, _PLACES)}, sums, (driver, driven), options)


def _with_option(
    fit: str,
    values: Mapping[str, Value],
    sums: Sequence[str],
    counted: tuple[int, ...],
    options: Mapping[str, Sequence[int]] | None,
) -> Answer:
    if options is None:
        return Answer(fit, "ok", values, tuple(sums))
    matching = [name for name, teeth in options.items() if tuple(teeth) == counted]
    said = " and ".join(map(str, counted))
    known = ", ".join(f"{name} ({' and '.join(map(str, teeth))})" for name, teeth in options.items())
    values = {**values, "option": matching[0] if len(matching) == 1 else None, "options": tuple(matching)}
    verdict: Verdict = ("none", "ok", "ask")[min(len(matching), 2)]
    notes = {
        "none": f"unknown variant: {said} teeth are those of no option; known: {known}; count again, then ask",
        "ok": f"{said} teeth: {matching[0] if matching else ''}",
        "ask": f"{said} teeth are those of {' and '.join(matching)}: something else must tell them apart",
    }
    return Answer(fit, verdict, values, tuple(sums), (notes[verdict],))
