"""`labelkit fit teeth`: counted teeth tell the ratio and the option."""

from __future__ import annotations

import re

import click

from labelkit.calc.teeth import Stage, pair, stage
from labelkit.cli.fits.asked import tell
from labelkit.errors import UsageError


@click.command()
@click.option("--sun", metavar="N", type=int, help="Teeth of the sun.")
@click.option("--planet", metavar="N", type=int, help="Teeth of a planet.")
@click.option("--ring", metavar="N", type=int, help="Teeth of the ring, where counted.")
@click.option("--planets", metavar="N", type=int, help="How many planets.")
@click.option("--driver", metavar="N", type=int, help="Instead: teeth of a gear that drives another.")
@click.option("--driven", metavar="N", type=int, help="Teeth of that other.")
@click.option("--option", "options", multiple=True, metavar="NAME=A:B", help="A version and its two counts.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def teeth(
    sun: int | None,
    planet: int | None,
    ring: int | None,
    planets: int | None,
    driver: int | None,
    driven: int | None,
    options: tuple[str, ...],
    as_json: bool,
) -> None:
    """Tell the ratio of counted teeth, whether a planetary stage can be, and which version it is.

    \b
    Example: labelkit fit teeth --sun 21 --planet 27 --planets 3 --option i16-8=21:27 --option i22-0=15:30
             labelkit fit teeth --driver 23 --driven 46 --option r2-00=23:46 --option r2-45=20:49
    """
    known = dict(_option(text) for text in options) or None
    if sun is not None and planet is not None and driver is None and driven is None:
        tell(stage(Stage(sun, planet, ring, planets), known), as_json=as_json)
    elif driver is not None and driven is not None and not (sun or planet or ring or planets):
        tell(pair(driver, driven, known), as_json=as_json)
    else:
        raise UsageError("teeth: either --sun and --planet, or --driver and --driven")


def _option(text: str) -> tuple[str, tuple[int, int]]:
    found = re.fullmatch(r"\s*([^=]+?)\s*=\s*(\d{1,4})\s*:\s*(\d{1,4})\s*", text, re.ASCII)
    if found is None:
        raise UsageError(f'--option "{text}": allowed: NAME=A:B, as i16-8=21:27')
    return found[1], (int(found[2]), int(found[3]))
