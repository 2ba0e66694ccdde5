"""Figures as people type them into a form: with a point or a comma, with or without a unit, one or several."""

from __future__ import annotations

import re
from typing import Final

from labelkit import units
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.units import Kind, Quantity, UnitError

MOST: Final = 500
# Blanks part readings, unless they stand inside one: `1 1/4`, `0.104 in`.
_BETWEEN: Final = re.compile(r"[;\n]|(?<=\d)\s+(?=[+-]?\d+(?:[.,]\d)?)(?!\d+/\d)")


def figures(text: str, unit: str) -> tuple[Quantity, ...]:
    """Return quantities that were typed, one or several with blanks, semicolons or line breaks between.

    Args:
        text: `1,10`, `3/32 in`, `0.48 0.50 0.49`; a comma is a decimal mark; a unit behind the last counts for all.
        unit: of bare numbers; what it measures the others must measure, too.

    Raises:
        UsageError: not figures.

    >>> [str(each) for each in figures("1,10 1.12", "mm")], [str(each) for each in figures("1 1/4 in", "mm")]
    (['1.10 mm', '1.12 mm'], ['1.25 in'])
    """
    pieces = [piece.strip() for piece in _BETWEEN.split(text.strip()) if piece.strip()]
    if len(pieces) > MOST:
        raise UsageError(_("found {count} figures; allowed: up to {most}").format(count=len(pieces), most=MOST))
    if not pieces:
        raise UsageError(
            _("nothing was typed; allowed: a figure in {unit}, as 1.10, or with its unit").format(unit=unit)
        )
    kind: Kind = units.FACTORS[unit][0]
    try:
        # The unit behind the last is that of the bare ones before it.
        last = units.parse(units.pointed(pieces[-1]), kind, unit)
        return (*(units.parse(units.pointed(piece), kind, last.unit) for piece in pieces[:-1]), last)
    except UnitError as error:
        raise UsageError(str(error)) from error
