"""Forms that are bought by the dozen: screws, nuts, pins, keys, balls, coil springs."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import model_validator

from labelkit.language import noop
from labelkit.model.formbase import Form
from labelkit.model.scalars import Coils, Length, fault


class Hardware(Form):
    """A small part that is bought by the dozen."""

    several = "cup"
    aside, indexed = True, False


class Threaded(Hardware):
    """A screw or nut of a nominal diameter."""

    mass, stands, uncut = "metal", "face", True
    d: Length


class Screw(Threaded):
    """One with a head; l is its length under the head, of a countersunk one with the head (ISO 10642)."""

    way = "HEAD"
    stepped = True
    l: Length  # noqa: E741


class Bolt(Screw):
    """Screw or bolt: nominal diameter, length under the head."""

    kind = "bolt"
    head: Literal["hex", "socket", "countersunk", "flange"] = "hex"


class Nut(Threaded):
    """Hexagon nut of a nominal diameter."""

    kind = "nut"
    stepped = False


class Plug(Screw):
    """Screwed plug."""

    kind = "plug"


class Solid(Hardware):
    """A small part without a head, drawn whole."""

    stands = "face"
    uncut, stepped = True, False


class Pin(Solid):
    """Cylindrical pin, dowel or button."""

    kind = "pin"
    mass = "body"  # a roll pin is hollow
    d: Length
    l: Length  # noqa: E741


class Key(Solid):
    """Parallel key: width, height, length."""

    kind = "key"
    mass = "metal"
    b: Length
    h: Length
    l: Length  # noqa: E741


class Ball(Solid):
    """Ball."""

    kind = "ball"
    mass = "metal"
    d: Length


class CoilSpring(Hardware):
    """Compression spring: outside diameter, wire, free length, coils."""

    kind = "coil_spring"
    mass, stands = "metal", "yields"
    uncut = stepped = False
    od: Length
    wire: Length
    length: Length
    coils: Coils | None = None

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        if 2 * self.wire.mm >= self.od.mm:
            told = noop("{wire} {a} leaves no coil in {od} {b}")
            raise fault(told, wire="wire", a=self.wire, od="od", b=self.od)
        return self
