"""Trays: 40 synthetic jobs against the naive way, an order-free packer and the bounds; seconds and memory.

Run by hand: python -m tests.bench.bench_trays
Prints a table, then each bar with its figure. The order-free packer needs rectpack.
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, product

from labelkit.calc import traycheck
from labelkit.calc.cells import Mode, cell_modes
from labelkit.calc.footprint import Footprint, outline
from labelkit.calc.packing import Item, Packed, pack
from labelkit.calc.traycheck import Laid
from labelkit.forms.geometry import circle, rectangle
from labelkit.model.laying import Spacing
from tests.bench.rows import Row
from tests.traybounds import depth_bound, tray_bound
from tests.traylab import FLAG, FLAG_GAP, GAP, TRAY, Shape, job, own_modes, strip_depth
from tests.trayoracle import (
    Enumeration,
    answer,
    boxes_of,
    crossings,
    fixed_boxes,
    line_depth,
    next_fit,
    overlaps,
    read,
    short_case,
    wrong_successors,
)

COUNTS = (24, 60, 120, 200)
SECONDS = {200: 0.25, 1000: 3.0, 5000: 15.0}  # of one core, by how many parts
PEAK = 300.0  # MB
SPACING = Spacing(GAP, FLAG, FLAG_GAP)


@dataclass(frozen=True, slots=True)
class Figures:
    """What one job came to: trays and strip depth in mm by each way, and what was wrong with ours."""

    trays: dict[str, int]
    strip: dict[str, float]
    wrong: int
    overlaps: int
    faults: list[str]
    other_cells: int
    lines_equal: bool
    seconds: float


def thing_of(shape: Shape) -> Footprint:
    """Return a synthetic part as the program sees a real one."""
    r, x, y = shape.width / 2, shape.width / 2, shape.depth / 2
    if not shape.round:
        return Footprint(rectangle(-x, -y, x, y), 1, (), None, "each", 0.0, 0.0, shape.turns)
    holes = (circle(shape.bore / 2),) if shape.bore else ()
    return Footprint(circle(r), 1, holes, None, "each", r, shape.bore / 2, turns=False)


def modes_of(shapes: Sequence[Shape]) -> list[tuple[Mode, ...]]:
    """Return the program's own cell modes of each part."""
    return [cell_modes(thing_of(shape), SPACING, [(TRAY.width, TRAY.depth)]) for shape in shapes]


def items_of(shapes: Sequence[Shape], modes: Sequence[Sequence[Mode]]) -> list[Item]:
    """Return the parts as items to pack."""
    return [
        Item(tuple((mode.width, mode.depth) for mode in own), shape.mass, (shape.group,))
        for shape, own in zip(shapes, modes, strict=True)
    ]


def laid_of(tray: Packed, shapes: Sequence[Shape], modes: Sequence[Sequence[Mode]]) -> list[Laid]:
    """Return the true outlines and flags of a tray, as the checker wants them."""
    laid = []
    for cell in tray.cells:
        thing, mode, shape = thing_of(shapes[cell.item]), modes[cell.item][cell.mode], shapes[cell.item]
        at = [(cell.x + x, cell.y + y) for x, y in mode.at]
        outlines, holes = (
            tuple(tuple(outline(each, mode.turned, *point)) for point in at for each in contours)
            for contours in ((thing.outer,), thing.holes)
        )
        flag = (cell.x + mode.flag[0], cell.y + mode.flag[1], *FLAG)
        laid.append(Laid(str(cell.item + 1), outlines, holes, flag, shape.mass))
    return laid


def measured(count: int, seed: int) -> Figures:
    """Lay one job in every way."""
    shapes = job(count, seed)
    modes = modes_of(shapes)
    items = items_of(shapes, modes)
    boxes = fixed_boxes(items, TRAY)
    fixed = [Item((box,), item.mass) for box, item in zip(boxes, items, strict=True)]
    naive = next_fit(boxes, [item.mass for item in items], TRAY)
    start = time.perf_counter()
    packed = pack(items, [TRAY], keep_whole=False)
    seconds = time.perf_counter() - start
    whole = pack(items, [TRAY])
    trays = {"bound": tray_bound(items, TRAY), "naive": naive[0], "grade 2": len(packed), "whole": len(whole)}
    trays["whole bound"] = whole_bound(items)
    trays["boxes"] = len(pack(fixed, [TRAY], grade=0, keep_whole=False))
    strip = {"bound": depth_bound(items, TRAY.width), "naive": naive[1], "boxes": line_depth(fixed, TRAY.width)}
    for grade in (0, 1, 2):
        if grade < 2:
            trays[f"grade {grade}"] = len(pack(items, [TRAY], grade=grade, keep_whole=False))
        strip[f"grade {grade}"] = strip_depth(items, TRAY.width, grade=grade)
    for name, value in order_free(items).items():
        (trays if name == "trays" else strip)["order-free"] = value
    lines_equal = strip["grade 0"] == line_depth(items, TRAY.width)
    other_cells = sum(item.modes != own_modes(shape) for item, shape in zip(items, shapes, strict=True))
    return Figures(trays, strip, *faults_of((*packed, *whole), shapes, modes, items), other_cells, lines_equal, seconds)


def whole_bound(items: Sequence[Item]) -> int:
    """Return the least trays that hold whole every sub-assembly that fits one: greedy, as `tray_bound` is."""
    trays = 0
    held: list[Item] = []
    for _, run in groupby(items, key=lambda item: item.groups):
        whole = list(run)
        for unit in [whole] if len(pack(whole, [TRAY], keep_whole=False)) == 1 else [[item] for item in whole]:
            fits = trays > 0 and tray_bound([*held, *unit], TRAY) == 1
            trays, held = (trays, [*held, *unit]) if fits else (trays + 1, unit)
    return trays


def faults_of(
    trays: Sequence[Packed], shapes: Sequence[Shape], modes: Sequence[Sequence[Mode]], items: Sequence[Item]
) -> tuple[int, int, list[str]]:
    """Return wrong successors, overlaps (of cells, and of rules with cells), and what the checker finds."""
    wrong = over = 0
    faults: list[str] = []
    for tray in trays:
        boxes = boxes_of(tray, items)
        wrong += wrong_successors(read(tray, items, TRAY))
        over += overlaps(boxes) + crossings(boxes, tray.rules)
        faults += traycheck.faults(
            laid_of(tray, shapes, modes),
            tray.rules,
            width=TRAY.width,
            depth=TRAY.depth,
            gap=GAP,
            flag_gap=FLAG_GAP,
            limit_g=TRAY.limit,
        )
    return wrong, over, faults


def order_free(items: Sequence[Item]) -> dict[str, int]:
    """Return trays and strip depth of rectpack's best of 57 settings, without order or mass; {} without rectpack.

    Each item is its smallest cell and may be turned. The settings are those that came first in trials of all.
    """
    try:
        import rectpack  # type: ignore[import-untyped]
    except ImportError:
        return {}
    boxes = [min(item.modes, key=lambda mode: mode[0] * mode[1]) for item in items]
    ways = [getattr(rectpack, name) for name in dir(rectpack) if name.startswith(("MaxRectsBl", "Guillotine"))]
    ways.remove(rectpack.MaxRectsBlsf)
    sorts = (rectpack.SORT_SSIDE, rectpack.SORT_LSIDE, rectpack.SORT_AREA)
    trays, strip = [], []
    for way, sort in product(ways, sorts):
        for depth, bins in ((TRAY.depth, len(boxes)), (sum(max(box) for box in boxes), 1)):
            packer = rectpack.newPacker(pack_algo=way, sort_algo=sort, rotation=True)
            packer.add_bin(TRAY.width, depth, bins)
            for box in boxes:
                packer.add_rect(*box)
            packer.pack()
            placed = packer.rect_list()
            if len(placed) == len(boxes):
                if bins == 1:
                    strip.append(max(y + height for _, _, y, _, height, _ in placed))
                else:
                    trays.append(len(packer))
    return {"trays": min(trays), "strip": min(strip)}


def cost(count: int) -> tuple[float, float, float]:
    """Return CPU seconds, wall seconds, and peak MB of the whole process, to pack one job of so many parts."""
    command = [sys.executable, "-m", "tests.bench.bench_trays", str(count)]
    cpu, wall, peak = map(float, subprocess.run(command, check=True, capture_output=True, text=True).stdout.split())
    return cpu, wall, peak


def packed_alone(count: int) -> None:
    """Pack one job, print its seconds, best of five (of one from 5,000 on), and the peak memory of this process."""
    shapes = job(count, 0)
    items, runs = items_of(shapes, modes_of(shapes)), []
    for _ in range(5 if count < 5000 else 1):
        start = time.process_time(), time.perf_counter()
        pack(items, [TRAY])
        runs.append((time.process_time() - start[0], time.perf_counter() - start[1]))
    print(*min(runs), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)


def enumerated(cases: int) -> int:
    """Return how many of that many short lists are not laid as well as the enumerated best."""
    unequal = 0
    for seed in range(cases):
        case = short_case(seed)
        best = Enumeration(case.items).best(case.floors, grade=case.grade, keep_whole=case.keep_whole)
        trays = pack(case.items, case.floors, grade=case.grade, keep_whole=case.keep_whole)
        unequal += answer(trays, case.items, case.floors) != best
    return unequal


WAYS = {
    "bound": "bound",
    "naive": "next-fit shelves, fixed boxes",
    "boxes": "exact lines, the same boxes",
    "grade 0": "grade 0, lines",
    "grade 1": "grade 1, closing block",
    "grade 2": "grade 2, columns",
    "whole": "grade 2, sub-assemblies whole",
    "whole bound": "bound, sub-assemblies whole",
    "order-free": "rectpack, best of 57, no order, no mass",
}


def rows(quick: bool) -> Iterator[Row]:
    """Yield the rows of the benchmark table; print the depth and trays of every way besides."""
    seeds, cases = (range(1), 20) if quick else (range(10), 500)
    jobs: dict[int, list[Figures]] = {}
    for count in COUNTS:
        jobs[count] = [measured(count, seed) for seed in seeds]
        print(f"\n{count} parts, {len(seeds)} jobs, tray {TRAY.width} × {TRAY.depth} mm, {TRAY.limit / 1000:g} kg")
        for key, name in WAYS.items():
            print(f"  {name:42}{_row(jobs[count], key)}")
    every = [each for figures in jobs.values() for each in figures]
    for fault in [fault for each in every for fault in each.faults][:10]:
        print(f"checker: {fault}")
    yield from _of_the_jobs(jobs, every)
    yield Row("short lists unlike the enumerated best", enumerated(cases), bar=0, sample=f"{cases} of 500 lists")
    for count, bar in SECONDS.items():
        cpu, wall, peak = cost(count)
        yield Row(f"{count:,} parts laid out", cpu, "s", bar, sample=f"one job, one core, {wall:.2f} s by the clock")
    yield Row(f"{count:,} parts laid out, peak memory", peak, "MB", PEAK, sample="one job, the whole process")


def main() -> None:
    """Print the tables of all ways, and the rows."""
    for row in rows(quick=False):
        print(f"{row.name:50}{row.measured:>10}  {row.wanted:16}{row.verdict:8}{row.sample}")


def _row(figures: Sequence[Figures], key: str) -> str:
    """Return mean trays and depth of one way, and its depth over the bound."""
    trays = [each.trays[key] for each in figures if key in each.trays]
    strip = [each.strip[key] for each in figures if key in each.strip]
    ratio = [each.strip[key] / each.strip["bound"] for each in figures if key in each.strip]
    text = f"{statistics.mean(trays):6.1f} trays" if trays else " " * 12
    if strip:
        text += f"{statistics.mean(strip):8.0f} mm  × bound {statistics.mean(ratio):.3f}, worst {max(ratio):.3f}"
    return text


def _of_the_jobs(jobs: dict[int, list[Figures]], every: Sequence[Figures]) -> Iterator[Row]:
    """Yield the rows of the synthetic jobs: nothing wrong with any, depth against the bound, trays against others."""
    mean = statistics.mean
    of_all = f"{len(every)} jobs of {', '.join(map(str, COUNTS))} parts"
    wrong = {
        "wrong successors for a reader of the rules": sum(each.wrong for each in every),
        "overlaps, and rules through cells": sum(each.overlaps for each in every),
        "faults found by the checker on true outlines": sum(len(each.faults) for each in every),
        "parts whose cells are unlike a plain reckoning": sum(each.other_cells for each in every),
        "lines unlike an independent line breaker": sum(not each.lines_equal for each in every),
    }
    for name, count in wrong.items():
        yield Row(name, count, bar=0, sample=of_all)
    for what, counts, bar_mean, bar_worst in (
        ("60 parts and more", COUNTS[1:], 1.22, 1.28),
        ("24 parts", (24,), 1.26, 1.45),
    ):
        over = [each.strip["grade 2"] / each.strip["bound"] for count in counts for each in jobs[count]]
        yield Row("strip / bound, mean", mean(over), "", bar_mean, sample=f"{len(over)} jobs of {what}")
        yield Row("strip / bound, worst", max(over), "", bar_worst, sample=f"{len(over)} jobs of {what}")
    naive = [each.trays["grade 2"] / each.trays["naive"] for each in every]
    yield Row("trays / next-fit, mean", mean(naive), "", 0.66, sample=of_all)
    for what, ours, bound, bar_mean, bar_worst in (
        ("trays - bound", "grade 2", "bound", 0.8, 3),
        ("kept whole: trays - bound of whole ones", "whole", "whole bound", 1.4, 4),
    ):
        more = [each.trays[ours] - each.trays[bound] for each in every]
        yield Row(f"{what}, mean", mean(more), "", bar_mean, sample=of_all)
        yield Row(f"{what}, most", max(more), "", bar_worst, sample=of_all)
    plain = [each.trays["whole"] - each.trays["bound"] for each in every]
    yield Row("the rule's cost: kept whole, trays - bound of any split, mean", mean(plain), sample=of_all)
    for count, figures in jobs.items():
        free = [each.trays["grade 2"] / each.trays["order-free"] for each in figures if "order-free" in each.trays]
        if free:
            yield Row(
                "trays / rectpack, without order and mass, mean",
                mean(free),
                sample=f"{len(free)} jobs of {count} parts",
            )


if __name__ == "__main__":
    packed_alone(int(sys.argv[1])) if len(sys.argv) > 1 else main()
