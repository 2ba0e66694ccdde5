"""What `labelkit proof` says of what it has read: lines for people, and the same as data."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from labelkit.calc.codes import is_sign_in, read_code
from labelkit.calc.printscale import SECOND_MM, is_true
from labelkit.errors import LabelkitError, shortened
from labelkit.model.printer import CHECK_MM, LEAST_SCALE, MOST_SCALE
from labelkit.proof.compare import Expected, PageProof, PageReadings, ProofReport
from labelkit.proof.crosses import CheckCrosses
from labelkit.proof.measure import SheetFit
from labelkit.sheets.offline import code_in
from labelkit.sheets.printed import PrintedKit

# What a printer may do by itself.
_ALLOWED: Final = f"{LEAST_SCALE:.1%} to {MOST_SCALE:.1%}"


@dataclass(frozen=True, slots=True)
class Ruler:
    """A page that is measured by its check crosses; `drawn`: of a file of ours, no scan."""

    file: str
    page: int
    crosses: CheckCrosses
    drawn: bool

    @property
    def passed(self) -> bool:
        """Whether it is true to scale, or drawn as it must be."""
        return self.drawn or (self.crosses.true and self.crosses.flat)


@dataclass(frozen=True, slots=True)
class Judged:
    """Pages that were held against a kit.

    Attributes:
        kit: the kit.
        pages: what was read.
        report: what came of it.
        whole: they are of a file of ours, which has all pages of the kit.
        whose: says of which job a symbol is; empty when nobody knows.
    """

    kit: PrintedKit
    pages: Sequence[PageReadings]
    report: ProofReport
    whole: bool
    whose: Callable[[str], str]

    @property
    def passed(self) -> bool:
        """Whether all is right that should be there."""
        return self.report.passed and not (self.whole and self.report.unseen)


def proof_lines(
    judged: Sequence[Judged], rulers: Sequence[Ruler], blank: Sequence[tuple[str, int]], skipped: Iterable[str]
) -> Iterator[str]:
    """Yield what there is to say, the verdict last.

    Args:
        judged: pages of labels.
        rulers: pages with check crosses.
        blank: file and page of pages of ours with nothing to prove.
        skipped: files of a kit that are no prints.
    """
    yield from (f"{name}: no print, nothing to prove" for name in skipped)
    for name in dict.fromkeys(name for name, _ in blank):
        yield f"{name} {pages_words(page for other, page in blank if other == name)}: no symbols, nothing to prove"
    yield from _ruler_lines(rulers)
    for each in judged:
        if len(judged) > 1:
            stickers = "the stickers of " if each.kit.what == "stickers" else ""
            yield f"against {stickers}{each.kit.file}, job {each.kit.job}:"
        yield from _judged_lines(each)


def pages_words(pages: Iterable[int]) -> str:
    """Return pages in words.

    >>> pages_words([3]), pages_words([1, 3, 4, 5])
    ('page 3', 'pages 1, 3-5')
    """
    numbers = sorted(set(pages))
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    words = ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in runs)
    return f"page{'s'[: len(numbers) > 1]} {words}"


def _ruler_lines(rulers: Sequence[Ruler]) -> Iterator[str]:
    """Yield a line for each page, one for all pages of a file of ours that are alike."""
    same: dict[tuple[str, int], list[Ruler]] = {}
    for ruler in rulers:
        same.setdefault((ruler.file, id(ruler.crosses)), []).append(ruler)
    for (name, _), alike in same.items():
        crosses = alike[0].crosses
        if crosses.true:
            answer = "true to scale" if crosses.flat else "NOT A FLAT SCAN: the crosses stand askew"
        elif alike[0].drawn:
            answer = "drawn for a printer with this error; scan its print to see whether that is true"
        else:
            answer = f"NOT TRUE: allowed {CHECK_MM:.1f} mm to {SECOND_MM:g} mm; see labelkit printer --help"
        yield (
            f"{name} {pages_words(each.page for each in alike)}: crosses {crosses.x_mm:.2f} x {crosses.y_mm:.2f} mm, "
            f"scale x {crosses.scale_x:.4f} y {crosses.scale_y:.4f}; {answer}"
        )


def _judged_lines(judged: Judged) -> Iterator[str]:
    report = judged.report
    for number, page in enumerate(report.pages):
        yield _page_line(judged, number, page)
        if page.page is None:
            yield _unknown_line(judged, judged.pages[number])
        elif page.fit and page.flat and not is_true(page.fit.scale_x * CHECK_MM, page.fit.scale_y * CHECK_MM):
            yield _scaled_line(page, page.fit) if page.scaled else _off_line(page, page.fit)
    yield from _labels_lines(judged)
    for wrong in report.wrong:
        place, words = judged.kit.steps[wrong.expected.text], _symbol(judged, wrong.found)
        found = _quoted(wrong.found) if words == f"step {place}" else words
        yield f"WRONG {judged.kit.what} page {wrong.expected.page}: in the place of step {place} is {found}"
    known = {number for number, page in enumerate(report.pages) if page.page is not None}
    extra = Counter((each.picture, each.text) for each in report.extra if each.picture in known)
    for (number, text), count in extra.items():
        times = f", {count} times" if count > 1 else ""
        yield f"EXTRA {judged.pages[number].name}: {_symbol(judged, text)}{times}"
    if report.unseen and known:
        shown = "this scan" if len(judged.pages) == 1 else "these scans"
        missing = "MISSING " if judged.whole else ""
        where = "the file" if judged.whole else shown
        yield f"{missing}{judged.kit.what} {pages_words(report.unseen)}: not in {where}"
    yield _verdict(judged)


def _page_line(judged: Judged, number: int, page: PageProof) -> str:
    readings = judged.pages[number].readings
    line = f"{page.name}: {len(readings)} symbol{'s'[: len(readings) != 1]} read"
    if here := [symbol for symbol in judged.report.decoded if symbol.picture == number]:
        dots = sorted(symbol.module_dots for symbol in here)
        grades = Counter(symbol.grade for symbol in here)
        line += f", module {dots[0]:.1f} to {dots[-1]:.1f} dots, contrast " + ", ".join(
            f"{grade} x {count}" for grade, count in sorted(grades.items())
        )
    if page.fit and page.flat:
        line += f", scale x {page.fit.scale_x:.4f} y {page.fit.scale_y:.4f}"
    elif page.fit:
        line += ", no flat scan: its scale is not measured"
    return line


def _scaled_line(page: PageProof, fit: SheetFit) -> str:
    """Say that a page was scaled, by what, and what to do."""
    if _is_uneven(fit):
        cause = "no print dialog scales one axis so much more: is this a flat scan at its dpi?"
    else:
        cause = 'the print dialog scaled it ("fit", "shrink" or a scale in percent).'
    return (
        f"SCALED {page.name}: printed at {_size(fit)}, allowed {_ALLOWED}: {cause} "
        'Print it again at 100 % ("actual size")'
    )


def _off_line(page: PageProof, fit: SheetFit) -> str:
    """Say that a page is not true, and why it passes."""
    return (
        f"{page.name}: printed at {_size(fit)}; within {_ALLOWED} a printer may be so by itself, and labels bear it by "
        'their blank border. Where the print dialog does not say 100 % ("actual size"), print it again'
    )


def _size(fit: SheetFit) -> str:
    x, y = fit.scale_x, fit.scale_y
    return f"{x:.1%} x {y:.1%}" if _is_uneven(fit) else f"{(x + y) / 2:.1%}"


def _is_uneven(fit: SheetFit) -> bool:
    return abs(fit.scale_x - fit.scale_y) > 0.01


def _unknown_line(judged: Judged, page: PageReadings) -> str:
    """Say what a page is that is not of the kit."""
    kit, texts = judged.kit, sorted({reading.text for reading in page.readings})
    if not texts:
        return (
            f"NOT READ {page.name}: no symbol can be read; if it shows labels, scan it flat, at 300 dpi, or wipe them"
        )
    jobs = sorted(filter(None, {judged.whose(text) for text in texts}))
    if jobs == [f"job {kit.job}"] or all(_code(text) in kit.codes for text in texts):
        return (
            f"OTHER PRINT {page.name}: these labels are of job {kit.job} too, but not of the print that {kit.file} is "
            f"of; they say {_quoted(texts[0])}: name the folder they were printed to with --kit"
        )
    whose = f"of {' and '.join(jobs)}" if jobs else f"of no job that is known here, as {_quoted(texts[0])}"
    theirs = f"; name the folder of {jobs[0]} with --kit" if len(jobs) == 1 else ""
    return f"WRONG KIT {page.name}: its symbols are {whose}, and {kit.file} is of job {kit.job}{theirs}"


def _labels_lines(judged: Judged) -> Iterator[str]:
    """Say of how many steps all labels are right: pages that lack some with what is missing, all others in one line."""
    kit, report = judged.kit, judged.report
    whole: dict[int, int] = {}
    for page in sorted({page.page for page in report.pages if page.page is not None}):
        every = Counter(kit.steps[symbol.text] for symbol in kit.expected if symbol.page == page)
        missing = Counter(kit.steps[symbol.text] for symbol in report.missing if symbol.page == page)
        wrong = {kit.steps[each.expected.text] for each in report.wrong if each.expected.page == page}
        right = len(every) - len(missing.keys() | wrong)
        if right == len(every):
            whole[page] = right
            continue
        told = [
            step if count == every[step] else f"{step} ({count} of its {every[step]} symbols)"
            for step, count in missing.items()
        ]
        lost = f"; not read: step{'s'[: len(told) > 1]} {', '.join(told)}" if told else ""
        yield f"{'MISSING ' * bool(told)}{kit.what} page {page}: {right} of {len(every)} steps right{lost}"
    if whole:
        yield f"{kit.what} {pages_words(whole)}: {sum(whole.values())} of {sum(whole.values())} steps right"


def _verdict(judged: Judged) -> str:
    report = judged.report
    failed = f"{len(report.missing)} missing, {len(report.wrong)} wrong, {len(report.extra)} extra"
    if not report.right or (judged.whole and report.unseen):
        answer = "NOT RIGHT"
    elif any(page.scaled for page in report.pages):
        answer = "every symbol is right, but NOT ITS SIZE: print again at 100 %"
    elif report.unseen:
        shown = pages_words(page.page for page in report.pages if page.page is not None)
        answer = f"every symbol of {shown} is right"
    else:
        answer = "every symbol is right"
    return f"{len(report.decoded)} read, {failed}: {answer}"


def _symbol(judged: Judged, text: str) -> str:
    """Return a symbol in words: the step it is of, its job, or what it says."""
    step = judged.kit.steps.get(text) or judged.kit.codes.get(_code(text))
    if step:
        return f"step {step}"
    whose = judged.whose(text)
    return f"a label of {whose}" if whose else _quoted(text)


def _quoted(text: str) -> str:
    first = text.partition("\n")[0]
    return "a sign-in label" if is_sign_in(text) else f'"{shortened(first)}"'


def _code(text: str) -> str:
    try:
        return read_code(code_in(text))
    except LabelkitError:
        return ""


def all_passed(judged: Sequence[Judged], rulers: Sequence[Ruler]) -> bool:
    """Say whether there is nothing to complain of."""
    return all(each.passed for each in judged) and all(ruler.passed for ruler in rulers)


def proof_data(judged: Sequence[Judged], rulers: Sequence[Ruler]) -> dict[str, Any]:
    """Return everything as plain data; `scale` is that of the pages of the only kit."""
    only = judged[0].report if len(judged) == 1 else None
    return {
        "passed": all_passed(judged, rulers),
        "scale": {"x": only and only.scale_x, "y": only and only.scale_y},
        "pages": [_page_data(each.kit, page) for each in judged for page in each.report.pages],
        "crosses": [_ruler_data(ruler) for ruler in rulers],
        "decoded": [
            {
                **_expected_data(each.kit, symbol.expected),
                "module_dots": round(symbol.module_dots, 3),
                "contrast": round(symbol.contrast, 1),
                "grade": symbol.grade,
                "off_mm": None if symbol.off_mm is None else round(symbol.off_mm, 3),
                "how": symbol.reading.how,
            }
            for each in judged
            for symbol in each.report.decoded
        ],
        "missing": [_expected_data(each.kit, symbol) for each in judged for symbol in each.report.missing],
        "unseen": [
            {"kit": str(each.kit.file), "print": each.kit.what, "page": page}
            for each in judged
            for page in each.report.unseen
        ],
        "wrong": [
            {**_expected_data(each.kit, wrong.expected), "expected": wrong.expected.text, "found": wrong.found}
            for each in judged
            for wrong in each.report.wrong
        ],
        "extra": [extra.text for each in judged for extra in each.report.extra],
    }


def _expected_data(kit: PrintedKit, symbol: Expected) -> dict[str, Any]:
    of = {"print": kit.what, "page": symbol.page, "step": kit.steps[symbol.text]}
    return {"text": symbol.text, **of, "kit": str(kit.file)}


def _page_data(kit: PrintedKit, page: PageProof) -> dict[str, Any]:
    return {
        "name": page.name,
        "kit": str(kit.file),
        "print": kit.what,
        "page": page.page,
        "scale_x": page.fit.scale_x if page.fit else None,
        "scale_y": page.fit.scale_y if page.fit else None,
        "flat": page.flat,
        "scaled": page.scaled,
    }


def _ruler_data(ruler: Ruler) -> dict[str, Any]:
    return {
        "name": f"{ruler.file} page {ruler.page}",
        "x_mm": round(ruler.crosses.x_mm, 3),
        "y_mm": round(ruler.crosses.y_mm, 3),
        "scale_x": ruler.crosses.scale_x,
        "scale_y": ruler.crosses.scale_y,
        "drawn": ruler.drawn,
        "passed": ruler.passed,
    }
