"""Whether a bearing, ring, seal or piston sits in a bore or on a journal of its size."""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from typing import Final, Protocol

from labelkit import forms
from labelkit.calc.seatingbody import Solid
from labelkit.forms.shapes import mm
from labelkit.model.form import Shaft, size
from labelkit.model.formbase import Form
from labelkit.model.ringform import InnerRinged, SnapRing

# By how much a bore and what is in it may differ, mm across: sizes of fits are nominal; a piston runs with play.
_NOMINAL: Final = 0.5
_RUNNING: Final = 3.0


class Piece(Protocol):
    """A part at its height on an axis."""

    @property
    def form(self) -> Form:
        """Its form."""

    @property
    def z(self) -> float:
        """Its lowest point, mm."""

    @property
    def solid(self) -> Solid:
        """What of it stops others."""


class Fit(Enum):
    """Whether what is round a part or inside it has its size."""

    FITS = "fits"
    LOOSE = "loose"
    OPEN = "nothing there to tell"


def fits(piece: Piece, others: Iterable[Piece]) -> Fit:
    """Say whether a part at its place sits in a bore or on a journal of its size; those that need none fit.

    A cup, a shaft seal and a retaining ring are loose as well where there is nothing at all to hold them.
    """
    form = piece.form
    if not needs_mate(form):
        return Fit.FITS
    middle = piece.z + forms.section(form).height / 2
    at = [(other.solid, middle - other.z) for other in others]
    spans = [span for solid, z in at if solid.bottom < z < solid.top for span in solid.spans(z)]
    if isinstance(form, SnapRing):
        grooved = _on_journal(mm(form.d), spans) if form.fits == "shaft" else _in_bore(mm(form.d), spans)
        return Fit.FITS if grooved is Fit.FITS else Fit.LOOSE
    if form.stands == "bore":
        return Fit.FITS if _in_bore(_size(form, "od"), spans) is Fit.FITS else Fit.LOOSE
    if form.stands == "journal":
        return _on_journal(_size(form, "id"), spans)
    slack = _RUNNING if form.stands == "running" else _NOMINAL
    found = (_in_bore(_size(form, "od"), spans, slack), _on_journal(_size(form, "id"), spans, slack))
    return Fit.FITS if Fit.FITS in found else Fit.LOOSE if Fit.LOOSE in found else Fit.OPEN


def depth_unknown(piece: Piece, seats: Iterable[Piece]) -> bool:
    """Say whether a part goes into a bore or onto a journal of its seat, of its size, without a face to stop it."""
    sizes = [own / 2 for name in ("od", "id", "bore") if (own := _size(piece.form, name))]
    if isinstance(piece.form, SnapRing):
        sizes = [mm(piece.form.d) / 2]
    edges = {r for seat in seats for ring in seat.solid.rings for r, _ in ring}
    return any(abs(size - r) <= _NOMINAL / 2 for size in sizes for r in edges)


def needs_mate(form: Form | None) -> bool:
    """Say whether a part is held by a bore or a journal, so that it need not lie on a face of what is named."""
    return form is not None and form.stands not in ("face", "yields")


def missing_step(form: Form | None, seat: Form | None) -> float | None:
    """Return the bore of a bearing for which the shaft that it sits on has no step; None where it has, or is none."""
    if not isinstance(form, InnerRinged) or not isinstance(seat, Shaft):
        return None
    bore = mm(form.id)
    return None if any(abs(mm(d) - bore) <= _NOMINAL for d, _ in seat.steps) else bore


def _size(form: Form, name: str) -> float:
    found = size(form, name)
    return mm(found) if found is not None else 0.0


def _in_bore(d: float, spans: Iterable[tuple[float, float]], slack: float = _NOMINAL) -> Fit:
    """Say whether the nearest material outside a diameter lies round it."""
    outside = [low for low, _ in spans if low >= (d - slack) / 2]
    return _judged(min(outside, default=None), d, slack)


def _on_journal(d: float, spans: Iterable[tuple[float, float]], slack: float = _NOMINAL) -> Fit:
    """Say whether the nearest material inside a diameter lies in it."""
    inside = [high for _, high in spans if high <= (d + slack) / 2]
    return _judged(max(inside, default=None), d, slack)


def _judged(r: float | None, d: float, slack: float) -> Fit:
    if r is None or not d:
        return Fit.OPEN
    return Fit.FITS if abs(2 * r - d) <= slack else Fit.LOOSE
