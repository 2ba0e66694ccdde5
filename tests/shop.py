"""What several tests share: a job on a demo unit without a database, and a second decoder."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from labelkit.calc.steps import choose, places
from labelkit.drawing.page import Affine
from labelkit.load.profile import LoadedProfile, load_profile, parse_profile
from labelkit.model.job import Job
from labelkit.model.part import Part
from labelkit.sheets.cards import Card, card
from labelkit.sheets.jobview import CODES_PER_PLACE, JobView

ROOT = Path(__file__).parents[1]
SECRET = bytes(range(32))
ADDRESS = "http://192.168.1.20:8080"
DEMO_UNITS = ("planetary-reducer", "marine-gear")


@cache
def demo(name: str) -> LoadedProfile:
    """Return a shipped profile."""
    return load_profile(str(ROOT / "unit_profiles" / f"{name}.yaml"))


def view_of(
    loaded: LoadedProfile, options: Mapping[str, str] | None = None, *, address: str = ADDRESS, number: int = 1
) -> JobView:
    """Return a job on a profile, with a fixed key; that of a demo unit is worked out once."""
    name = Path(loaded.file).stem
    if name in DEMO_UNITS and loaded is demo(name):
        return _demo_view(name, tuple(sorted((options or {}).items())), address, number)
    return _view(loaded, options or {}, address, number)


@cache
def _demo_view(name: str, options: tuple[tuple[str, str], ...], address: str, number: int) -> JobView:
    return _view(demo(name), dict(options), address, number)


def _view(loaded: LoadedProfile, options: Mapping[str, str], address: str, number: int) -> JobView:
    profile = loaded.profile
    blocks = -(-places(profile) * CODES_PER_PLACE // 1024)
    chosen = choose(profile, options)
    job = Job(number, None, loaded.file, loaded.source, chosen, address, 0, blocks, chosen)
    return JobView(job, profile, SECRET)


def profile_of(text: str, folder: Path | None = None) -> LoadedProfile:
    """Return a profile written in a test."""
    return parse_profile(text.encode(), "test.yaml", folder)


def part_of(fields: str = "", name: str = "Washer") -> Part:
    """Return a part of these fields, written as in a profile; `other` stands beside it."""
    fields = f", {fields}" if fields else ""
    header = "format: 1\nunit: {mark: P7, name: Pump, up: drive side}\nparts:\n"
    text = f'{header}  - {{id: part, name: "{name}"{fields}}}\n  - {{id: other, name: Other}}\n'
    return profile_of(text).profile.parts[0]


def second_decoder(image: NDArray[np.uint8]) -> set[str]:
    """Return what OpenCV's own decoder, which shares no code with ours, reads from a picture of one symbol.

    It misses some perfect symbols at one size and reads them at another, so a few sizes are tried, quick ones first.
    """
    for detector in (cv2.QRCodeDetector(), cv2.QRCodeDetectorAruco()):
        for scale in (0.5, 1, 2, 3, 1.5, 4):
            how = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
            picture = cv2.resize(image, None, fx=scale, fy=scale, interpolation=how) if scale != 1 else image
            text, points, _ = detector.detectAndDecode(picture)
            if points is not None and text:
                return {text}
    return set()


def cards_of(view: JobView) -> list[Card]:
    """Return all cards of a job, in removal order."""
    return [card(view, each) for each in view.teardown.bins]


def apply(matrix: Affine, x: float, y: float) -> tuple[float, float]:
    """Return where a matrix of a page takes a point."""
    a, b, c, d, e, f = matrix
    return a * x + c * y + e, b * x + d * y + f
