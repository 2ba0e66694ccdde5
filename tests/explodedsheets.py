"""Exploded views for several tests: random units, and drawings taken apart into shapes that shapely knows."""

from __future__ import annotations

import ctypes
import io
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import pypdfium2
import pypdfium2.raw as pdfium
import shapely
from shapely import LineString, Polygon

from labelkit.drawing.page import IDENTITY, Affine, Group, Item, Page, Path
from labelkit.load.profile import LoadedProfile
from labelkit.model.form import FORMS
from labelkit.model.formbase import Form
from labelkit.model.profile import Profile
from labelkit.render import write
from labelkit.sheets.exploded import ExplodedView
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST
from labelkit.sheets.worksheet import MARGIN
from tests.forms.strategies import build
from tests.shop import apply, demo, view_of
from tests.traysheets import paper, walk, words_of

HEADER: Final = {"mark": "T1", "name": "Test unit", "up": "top", "clock_from": "above", "twelve": "mark"}


# --- random units ----------------------------------------------------------------------------------------------------


def form_of(kind: str, rng: random.Random, size: float) -> Form:
    """Return a form of about this size, mm. Proportions are invented."""

    def some(low: float, high: float) -> str:
        return f"{max(size * rng.uniform(low, high), 0.1):.2f}"

    od = size * rng.uniform(0.6, 1.0)
    annular = {"od": f"{od:.2f}", "id": f"{od * rng.uniform(0.3, 0.85):.2f}"}
    teeth = rng.randint(12, 60)
    module = f"{od / (teeth + 2):.4f}"
    thin = some(0.005, 0.06)
    bearings = ("ball_bearing", "roller_bearing", "taper_cone", "taper_cup", "needle_cage", "lip_seal")
    sizes: dict[str, dict[str, Any]] = {
        "ring": {**annular, "t": some(0.004, 0.3)},
        "o_ring": {"id": some(0.3, 0.9), "section": some(0.01, 0.08)},
        "snap_ring": {"fits": rng.choice(["shaft", "bore"]), "d": some(0.3, 0.9), "t": some(0.01, 0.04)},
        "drum": {"od": f"{od:.2f}", "h": some(0.1, 0.8), "wall": f"{od * rng.uniform(0.02, 0.2):.2f}"},
        "hub": {"od": f"{od * 0.6:.2f}", "h": some(0.2, 0.8), "bore": f"{od * 0.3:.2f}"},
        "gear": {"teeth": teeth, "module": module, "width": some(0.05, 0.5), "bore": f"{od * 0.3:.2f}"},
        "ring_gear": {"teeth": teeth, "module": module, "width": some(0.1, 0.5), "od": f"{od * 1.3:.2f}"},
        "carrier": {"od": f"{od:.2f}", "h": some(0.1, 0.5), "planets": 3, "planet_od": f"{od * 0.35:.2f}"},
        "shaft": {"steps": [[some(0.1, 0.6), some(0.1, 0.9)] for _ in range(rng.randint(1, 5))], "splines": [1]},
        "thrust_bearing": {**annular, "t": some(0.02, 0.06), "lip": "inner"},
        "friction_plate": {**annular, "t": some(0.01, 0.03), "teeth": 30},
        "steel_plate": {**annular, "t": some(0.01, 0.03), "lugs": 8},
        "wave_spring": {**annular, "t": thin, "h": f"{float(thin) * 3:.2f}", "waves": 4},
        "disc_spring": {**annular, "t": thin, "h": f"{float(thin) * 2:.2f}"},
        "coil_spring": {"od": f"{od * 0.3:.2f}", "wire": f"{od * 0.04:.2f}", "length": some(0.2, 0.9)},
        "piston": {**annular, "h": some(0.05, 0.4)},
        "bush": {**annular, "l": some(0.1, 0.6)},
        "bolt": {"d": rng.choice([3, 5, 8, 12, 20]), "l": rng.randint(10, 120), "head": rng.choice(["hex", "socket"])},
        "nut": {"d": rng.choice([5, 12, 30])},
        "plug": {"d": rng.choice([14, 22]), "l": rng.randint(12, 30)},
        "pin": {"d": some(0.02, 0.1), "l": some(0.05, 0.6)},
        "key": {"b": some(0.02, 0.06), "h": some(0.02, 0.06), "l": some(0.1, 0.4)},
        "ball": {"d": some(0.02, 0.2)},
        "lever": {"l": some(0.3, 0.9), "w": some(0.05, 0.2), "t": some(0.02, 0.1)},
        "block": {"l": some(0.1, 0.8), "w": some(0.1, 0.8), "h": some(0.05, 0.6)},
        "outline": {
            "points": [[0, 0], [f"{od:.2f}", 0], [f"{od:.2f}", f"{od * 0.6:.2f}"], [0, f"{od * 0.7:.2f}"]],
            "h": some(0.005, 0.5),
            "holes": [[f"{od * 0.5:.2f}", f"{od * 0.3:.2f}", f"{od * 0.2:.2f}"]],
        },
    }
    width = some(0.05, 0.3)
    sizes |= {each: {**annular, "w": width} for each in bearings}
    return build(kind, **sizes[kind])


def unit_of(parts: Sequence[dict[str, Any]], options: dict[str, Any] | None = None) -> JobView:
    """Return a job on a unit of these parts."""
    data = {"format": "1", "unit": HEADER, "parts": parts, "options": options or {}}
    profile = Profile.model_validate(data)
    return view_of(LoadedProfile(profile, "test.yaml", b"", None))


def random_unit(seed: int, count: int | None = None) -> JobView:
    """Return a job on a unit of random parts, up to three deep, one option of it open.

    Args:
        seed: which.
        count: how many parts; default 1 to 20.
    """
    rng = random.Random(seed)
    size = rng.choice([20.0, 90.0, 250.0, 700.0])
    wanted = count or rng.choice([1, 2, 5, 9, 14, 20])
    made: list[str] = []

    def parts(number: int, depth: int) -> list[dict[str, Any]]:
        found = []
        while number > 0:
            inner = rng.randint(1, max(1, number // 2)) if depth < 3 and number > 3 and rng.random() < 0.2 else 0
            found.append(part(inner, depth))
            number -= 1 + inner
        return found

    def part(inner: int, depth: int) -> dict[str, Any]:
        name = f"p{len(made)}"
        kind = rng.choice(sorted(FORMS))
        entry: dict[str, Any] = {
            "id": name,
            "name": f"{kind.replace('_', ' ').capitalize()} {name}",
            "qty": rng.choice(["1", "1", "1", "2", "8", "set"]),
            "renew": rng.choice(["always", "if_worn", "never"]),
            "thread": rng.choice(["right"] * 9 + ["left"]),
            "held": {"by": rng.choice(["loose", "screwed", "slip"])},
        }
        if rng.random() < 0.93:
            entry["form"] = form_of(kind, rng, size * rng.choice([0.1, 0.5, 1.0]))
        if rng.random() < 0.8:
            sits = {"up": rng.choice(["free", "flat side", "mark"]), "clock": rng.choice(["free", "6:00", "2:30"])}
            if rng.random() < 0.5:
                sits = {"opens": rng.choice(["up", "down"]), "up": "mark"}
            if made and rng.random() < 0.7:
                sits["on"] = rng.choice(made)
            entry["sits"] = sits
        if rng.random() < 0.1:
            entry["only"] = {"variant": rng.choice(["a", "b"])}
        if rng.random() < 0.1:
            entry["hazards"] = [{"signal": "warning", "text": "Heavy"}]
        if rng.random() < 0.05:
            entry["used"] = "2"
        made.append(name)
        if inner:
            entry["parts"] = parts(inner, depth + 1)
        return entry

    options = {"variant": {"name": "Variant", "choices": {"a": "A", "b": "B"}}}
    return unit_of(parts(wanted, 1), options)


# --- drawings taken apart --------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Drawn:
    """One part on a page.

    Attributes:
        step: its step.
        ink: the box round everything of its view that is painted, pens included.
        solid: its filled faces.
        leader: from its circle to the part.
        circle: the circle or capsule round the step.
        row: which row of the page it stands in.
    """

    step: str
    ink: Polygon
    solid: shapely.Geometry
    leader: LineString
    circle: Polygon
    row: str


def points_of(path: Path, matrix: Affine) -> list[tuple[float, float]]:
    """Return the corners of a path; of a curve its ends and handles, which hold it."""
    found = []
    for command in path.d:
        numbers = command[1:]
        found += [apply(matrix, x, y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]  # type: ignore[misc]
    return found


def _named(items: Sequence[Item], matrix: Affine, word: str) -> Iterator[tuple[Group, Affine]]:
    for item, inner in walk(items, matrix):
        if isinstance(item, Group) and item.name.startswith(word + " "):
            yield item, inner


def parts_of(page: Page) -> list[Drawn]:
    """Return every part of a page of the drawing."""
    found = []
    for row, matrix in _named(page.items, IDENTITY, "row"):
        for part, inner in _named(row.items, matrix, "part"):
            found.append(_drawn(part, inner, row.name))
    return found


def _drawn(part: Group, matrix: Affine, row: str) -> Drawn:
    step = part.name.partition(" ")[2]
    groups = {item.name.partition(" ")[0]: (item, m) for item, m in walk(part.items, matrix) if isinstance(item, Group)}
    view, inner = groups["view"]
    paths = [(item, m) for item, m in walk(view.items, inner) if isinstance(item, Path)]
    reaches, filled = [], []
    for path, m in paths:
        points = points_of(path, m)
        xs, ys = zip(*points, strict=True)
        pen = path.pen.width / 2 if path.pen else 0.0
        reaches.append((min(xs) - pen, min(ys) - pen, max(xs) + pen, max(ys) + pen))
        if path.fill and len(path.d) > 3:
            filled.append(Polygon(points))
    lefts, tops, rights, bottoms = zip(*reaches, strict=True)
    ink = shapely.box(min(lefts), min(tops), max(rights), max(bottoms))
    solid = shapely.union_all([shape if shape.is_valid else shape.buffer(0) for shape in filled])
    leader, m = groups["leader"]
    thread = leader.items[0]
    assert isinstance(thread, Path)
    circle, c = groups["circle"]
    assert circle.box is not None
    x, y = apply(c, circle.box.x, circle.box.y)
    half = circle.box.height / 2
    middle = y + half
    capsule = LineString([(x + half, middle), (x + circle.box.width - half + 1e-9, middle)]).buffer(half, 64)
    return Drawn(step, ink, solid, LineString(points_of(thread, m)), capsule, row)


def view_on(view: JobView, name: str) -> ExplodedView:
    """Return the exploded view of a job on paper of this name."""
    return ExplodedView(view, paper(name))


@cache
def demo_pages(unit: str, name: str) -> tuple[Page, ...]:
    """Return the pages of a demo unit's exploded view."""
    return tuple(view_on(view_of(demo(unit)), name).pages())


def drawings(pages: Sequence[Page]) -> list[Page]:
    """Return the pages that are drawings, without those of the list."""
    return [page for page in pages if page.name.startswith("exploded")]


def sections(pages: Sequence[Page]) -> list[Page]:
    """Return the pages of the section of the assembled unit."""
    return [page for page in pages if page.name.startswith("section")]


def lists(pages: Sequence[Page]) -> list[Page]:
    """Return the pages of the parts list."""
    return [page for page in pages if page.name.startswith("parts list")]


def said(page: Page) -> list[str]:
    """Return all lines of text of a page."""
    return [line.said for line in words_of(page.items)]


# --- what is wrong with a page ---------------------------------------------------------------------------------------


class Looked:
    """A page, looked at once: its parts and its lines of text."""

    def __init__(self, page: Page, margin: float = MARGIN) -> None:
        self.page, self.margin = page, margin
        self.parts = parts_of(page)
        self.lines = words_of(page.items)

    def faults(self) -> list[str]:
        """Return everything that is wrong."""
        return [*self.crossings(), *self.touches(), *self.overlaps(), *self.illegible(), *self.outside()]

    def crossings(self) -> list[str]:
        """Return the leaders that cross a leader, a circle or a part, or that run on inside their own part."""
        found = []
        for name in ("ink", "circle", "leader"):
            for i, j in self._meetings([part.leader for part in self.parts], [getattr(p, name) for p in self.parts]):
                if i != j:
                    found.append(f"leader {self.parts[i].step} meets {name} {self.parts[j].step}")
        for part in self.parts:
            inside = part.leader.intersection(part.solid).length
            off = shapely.Point(part.leader.coords[-1]).distance(part.solid)
            if inside > 1.25 or off > 0.15:
                found.append(f"leader {part.step}: {inside:.2f} mm inside its part, ends {off:.2f} mm off it")
        return found

    def touches(self, least: float = 0.5) -> list[str]:
        """Return the parts, and the circles, that are nearer to each other than this, mm."""
        found = []
        for name in ("ink", "circle"):
            grown = [getattr(part, name).buffer(least / 2, join_style="mitre") for part in self.parts]
            found += [
                f"{name} {self.parts[i].step} and {self.parts[j].step}"
                for i, j in self._meetings(grown, grown)
                if i < j
            ]
        inks, circles = [part.ink for part in self.parts], [part.circle for part in self.parts]
        return found + [
            f"circle {self.parts[i].step} on part {self.parts[j].step}" for i, j in self._meetings(circles, inks)
        ]

    def overlaps(self) -> list[str]:
        """Return the lines of text that lie on text, on a part, on a leader or on a circle that is not theirs."""
        boxes = [line.box for line in self.lines]
        found = [
            f"{self.lines[i].said} on {self.lines[j].said}"
            for i, j in self._meetings(boxes, boxes)
            if i < j and boxes[i].intersection(boxes[j]).area > 1e-3
        ]
        for name in ("ink", "leader", "circle"):
            for i, j in self._meetings([getattr(part, name) for part in self.parts], boxes):
                part, line = self.parts[i], self.lines[j]
                own = (name == "circle" and line.said.rstrip("?") == part.step) or line.said == "no form"
                if not own and line.box.intersection(getattr(part, name).buffer(1e-6)).area > 1e-4:
                    found.append(f"{line.said} on {name} {part.step}")
        return found

    def illegible(self) -> list[str]:
        """Return the lines of text that are too small or reach into the page's margin; ascenders may, a little."""
        allowed = self._room(0.8)
        return [line.said for line in self.lines if line.cap < LEAST - 1e-6 or not allowed.covers(line.box)]

    def outside(self) -> list[str]:
        """Return the parts and circles that reach into the page's margin."""
        allowed = self._room(0.0)
        return [part.step for part in self.parts if not allowed.covers(part.ink) or not allowed.covers(part.circle)]

    def _room(self, more: float) -> Polygon:
        edge = self.margin - more
        return shapely.box(edge, edge, self.page.width - edge, self.page.height - edge)

    @staticmethod
    def _meetings(some: Sequence[shapely.Geometry], others: Sequence[shapely.Geometry]) -> list[tuple[int, int]]:
        """Return which of some shapes meet which of others."""
        if not some or not others:
            return []
        tree = shapely.STRtree(others)
        return [(int(i), int(j)) for i, j in tree.query(list(some), "intersects").T]


def points_in_pdf(pages: Sequence[Page]) -> list[list[tuple[float, float]]]:
    """Return the points of all paths of each page as they are in the PDF, mm from the left top corner. By pdfium."""
    stream = io.BytesIO()
    write(pages, ".pdf", stream, title="t", subject="s")
    found = []
    for page in pypdfium2.PdfDocument(stream.getvalue()):
        height = page.get_height()
        points = []
        for thing in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH], max_depth=10):
            m = thing.get_matrix()
            for number in range(pdfium.FPDFPath_CountSegments(thing.raw)):
                x, y = ctypes.c_float(), ctypes.c_float()
                pdfium.FPDFPathSegment_GetPoint(pdfium.FPDFPath_GetPathSegment(thing.raw, number), x, y)
                px, py = m.a * x.value + m.c * y.value + m.e, m.b * x.value + m.d * y.value + m.f
                points.append((px * 25.4 / 72, (height - py) * 25.4 / 72))
        found.append(points)
    return found


def faults(pages: Sequence[Page]) -> list[str]:
    """Return everything that is wrong on these pages."""
    return [f"{page.name}: {fault}" for page in pages for fault in Looked(page).faults()]
