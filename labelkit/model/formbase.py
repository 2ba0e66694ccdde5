"""What all forms share: which facts each kind must state of itself."""

from __future__ import annotations

from typing import Any, ClassVar, Literal

from pydantic import model_validator

from labelkit.language import noop
from labelkit.model.scalars import THINNEST_MM, Model, fault
from labelkit.units import Quantity

Lay = Literal["each", "stack", "cup"]


class Form(Model):
    """Base of all forms. What follows is true of a kind; each states all of it, itself or by its family.

    Attributes:
        kind: its name in the profile.
        way: the word for the end that `sits.opens` speaks of, None where both ends look alike.
        several: how several pieces lie on a tray: flat ones in a stack, small hardware in a cup, others each by itself.
            Common practice, no source.
        aside: it is put into a part in several places, off its axis, where it is screwed in or has a clock position.
        mass: `metal` where it is all of metal and its form leaves little out, `any` where it may be of anything else,
            `body` where it is only as large as its form, with pockets, bosses and teeth that the form leaves out.
        stands: what decides where it stands on an axis: a `face`; a `bore` or a `journal` of its size that must hold
            it, or `either`; a bore or a journal that it is `running` in or on; its `groove`; nothing, since it `yields`
            or lies in a groove that no form shows.
        uncut: it is not cut lengthwise in sections (ISO 128-3, from memory).
        stepped: its steps are few: in a small drawing a low flange or a short head is drawn higher beside what is long.
        indexed: its plan has an index of its own at 12 o'clock: a gap, lugs, an arm.
        counted: the size that is counted, where it is drawn plain, with all others, until somebody has.
    """

    kind: ClassVar[str]
    way: ClassVar[str | None] = None
    counted: ClassVar[str | None] = None
    several: ClassVar[Lay]
    aside: ClassVar[bool]
    mass: ClassVar[Literal["metal", "any", "body"]]
    stands: ClassVar[Literal["face", "bore", "journal", "either", "running", "groove", "yields"]]
    uncut: ClassVar[bool]
    stepped: ClassVar[bool]
    indexed: ClassVar[bool]

    @classmethod
    def __pydantic_init_subclass__(cls, **_: Any) -> None:
        missing = [name for name in Form.__annotations__ if not hasattr(cls, name)]
        if "kind" in vars(cls) and missing:
            raise TypeError(f"the form {cls.kind} does not state {', '.join(missing)}; see {Form.__module__}.Form")

    @model_validator(mode="before")
    @classmethod
    def _unwrap(cls, value: Any) -> Any:
        # In the file a form is {ring: {od: ...}}; the sizes are the value of that one key.
        if isinstance(value, dict) and set(value) == {cls.kind}:
            return value[cls.kind] if value[cls.kind] is not None else {}
        return value

    def smaller(self, small: str, large: str) -> None:
        """Refuse a size `small` that leaves nothing of the size `large`; sizes that are left out say nothing."""
        a, b = getattr(self, small), getattr(self, large)
        if isinstance(a, Quantity) and isinstance(b, Quantity) and b.mm - a.mm < THINNEST_MM:
            told = noop("{small} {a} is not smaller than {large} {b}")
            if a.mm < b.mm:
                told = noop("{small} {a} is not smaller than {large} {b} by at least {least} mm")
            raise fault(told, small=small, a=a, large=large, b=b, least=THINNEST_MM)
