"""How long the hints of `labelkit check --hints` take: for the demo units, and for units of 200 random parts.

Run by hand: python -m tests.bench.bench_hints
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from labelkit.calc.steps import places
from labelkit.load.profile import LoadedProfile
from labelkit.load.writer import profile_yaml
from labelkit.sheets.hints import hints
from tests.bench.bench_exploded import pile
from tests.bench.rows import Row, least
from tests.explodedsheets import random_unit
from tests.shop import DEMO_UNITS, demo

PARTS = 200


def rows(quick: bool) -> Iterator[Row]:
    """Yield processor seconds for each unit, as it was read; no bar was set."""
    units = {name: demo(name) for name in DEMO_UNITS}
    large = {f"random {seed}": random_unit(seed, PARTS) for seed in ((1,) if quick else (1, 2, 3))}
    for name, view in {"a pile in a drum": pile(PARTS), **large}.items():
        loaded = LoadedProfile(view.profile, "unit.yaml", profile_yaml(view.profile), None)
        units[f"{name}, {places(loaded.profile)} parts"] = loaded
    for name, loaded in units.items():
        seconds, found = least(partial(hints, loaded), 1 if quick else 3)
        yield Row("hints", seconds, "s", sample=f"{name}, {len(found)} hints, processor time")


def main() -> None:
    """Print the rows."""
    for row in rows(quick=False):
        print(f"{row.name:8}{row.measured:>10}  {row.sample}")


if __name__ == "__main__":
    main()
