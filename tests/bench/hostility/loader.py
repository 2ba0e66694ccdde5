"""Profiles, stock files and mappings that are bent; those that still load are hinted at and printed."""

from __future__ import annotations

import io
import tempfile
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import yaml

from labelkit.errors import LabelkitError
from labelkit.load.profile import parse_profile
from labelkit.load.stock import describe, held_in, load_stock
from labelkit.load.yamltree import parse
from labelkit.model.stock import LabelSheet
from labelkit.render import write
from labelkit.sheets.hints import hints
from labelkit.sheets.kit import DOCUMENTS
from labelkit.sheets.labels import LabelSheets
from labelkit.sheets.letters import letter_problems
from tests.bench.hostility.mutate import bent, figure, moved, near, text, tokens
from tests.bench.hostility.sound import written
from tests.bench.hostility.units import printed, sources, trees
from tests.bench.hostility.watch import Target
from tests.bench_app.workshop import FITTED, pump
from tests.shop import ROOT, view_of

_PRINTED = 6  # one of so many that load is printed, too


def _value(random: Random) -> Any:
    return random.choice((text, figure))(random) if random.random() < 0.9 else random.choice(([], {}, None, ["a", "b"]))


def _nested(random: Random) -> str:
    depth = random.choice((5, 23, 30, 2000))
    opening, closing = random.choice((("[", "]"), ("{a: ", "}"), ("- ", ""), ("? ", "")))
    return opening * depth + closing * depth


def make(random: Random) -> dict[str, Any]:
    """Return a profile that somebody has spoilt."""
    way, which = random.random(), random.randrange(len(sources()))
    times = random.choice((1, 1, 1, 2, 3, 6))
    if way < 0.5:
        tree = moved(random, trees()[which], _value, times)
        data = written(tree)
    elif way < 0.75:
        data = tokens(random, sources()[which], times).encode("utf-8", "surrogatepass")
    elif way < 0.8:
        data = near(random, sources()[which]).encode("utf-8", "surrogatepass") + _nested(random).encode()
    elif way < 0.84:
        data = sources()[which].encode(random.choice(("utf-16", "utf-8-sig", "utf-16-le", "utf-32", "cp037")))
    else:
        data = bent(random, sources()[which].encode(), times)
    return {"data": data, "prints": random.randrange(_PRINTED) == 0, "open": random.random() < 0.3}


def tries(case: dict[str, Any]) -> None:
    """Load, check, hint, and now and then print everything."""
    loaded = parse_profile(case["data"], "unit.yaml", None)
    for hint in hints(loaded):
        str(hint.problem)
    parse(case["data"], "unit.yaml")
    if case.get("prints") and not letter_problems(loaded):
        printed(case | {"documents": [*DOCUMENTS]}, loaded)


@cache
def _stocks() -> tuple[str, ...]:
    return tuple(path.read_text("utf-8") for path in sorted((ROOT / "layouts").glob("*.yaml")))


def make_stock(random: Random) -> bytes:
    """Return a file of stock that somebody has spoilt."""
    source = random.choice(_stocks())
    if random.random() < 0.6:
        tree = moved(random, yaml.load(source, yaml.CBaseLoader), _value, random.choice((1, 1, 2, 4)))
        return written(tree)
    return tokens(random, source, 2).encode("utf-8", "surrogatepass")


def tries_stock(case: bytes) -> None:
    """Read it as `labelkit check` and `--label-stock` do; what is sound is laid out."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "stock.yaml"
        path.write_bytes(case)
        held_in(path)
        found = load_stock(path)
        view = view_of(pump(FITTED))
        for stock in found.values():
            describe(stock)
            if isinstance(stock, LabelSheet):
                texts = {each.step: view.url(each) for each in view.teardown.bins[:3]}
                try:
                    pages = LabelSheets(view, view.teardown.bins[:3], stock, texts=texts, first=1, card=False).pages()
                    write(pages, ".pdf", io.BytesIO(), title="labels")
                except LabelkitError:
                    continue


TARGETS = (Target("profile", make, tries, 2.0), Target("stock", make_stock, tries_stock, 0.5))
