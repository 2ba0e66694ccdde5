"""The checker of a pack of plates: every plate is scanned as it is laid, the first wrong one is refused.

Which plates lie is in the address of the page: nothing is kept until the whole pack is right and somebody records it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final
from urllib.parse import urlencode

from flask import Flask, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench import acting
from labelkit.bench.acting import Asked, Wish
from labelkit.bench.guard import TooManyGuesses
from labelkit.bench.web import Bench
from labelkit.calc.gate import bare, right_job
from labelkit.calc.platescan import PackScan, pack_scan
from labelkit.calc.steps import Bin
from labelkit.drawing.page import Box
from labelkit.errors import LabelkitError, NotFoundError, UsageError
from labelkit.language import gettext as _
from labelkit.render.html import Markup
from labelkit.render.svg import svg_fragment
from labelkit.sheets import keptnotes, wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.packs import Kind, kinds_of, plates_drawing, plates_width

# A pack of plates is drawn this wide and high at least, mm.
_SIZE: Final = (84.0, 38.0)


def add_packs(app: Flask, bench: Bench) -> None:
    """Add the page on which a pack is scanned plate by plate."""

    @app.get("/job/<int:number>/pack/<step>")
    def pack(number: int, step: str) -> str | tuple[str, int] | AnyResponse:
        view = bench.lookup.view(number)
        packed = _pack(view, step)
        laid, from_start = _laid(view, packed), request.args.get("from") == "start"
        text = request.args.get("code", "").strip()
        if not text:
            scan = pack_scan(view.teardown, packed, laid, from_start=from_start, whole="whole" in request.args)
            return _page(bench, view, packed, laid, scan.refusal, None), 409 if scan.refusal else 200
        refusal, plate = _scanned(bench, view, text)
        if plate is not None:
            refusal = pack_scan(view.teardown, packed, (*laid, plate), from_start=from_start).refusal
        if refusal or plate is None:
            return _page(bench, view, packed, laid, refusal, None), 409
        return redirect(_way(view, packed, (*laid, plate)), 303)

    @app.post("/job/<int:number>/pack/<step>")
    def keep_pack(number: int, step: str) -> AnyResponse:
        view = bench.lookup.view(number)
        packed = _pack(view, step)
        laid, from_start = _laid(view, packed), request.values.get("from") == "start"
        scan = pack_scan(view.teardown, packed, laid, from_start=from_start)
        steps = ", ".join(each.step for each in laid)
        told = keptnotes.LAID.format(count=scan.right, total=scan.wanted, list=steps)
        rest = _("{count} of {total} plates lie: scan the rest").format(count=scan.right, total=scan.wanted)
        faults = {} if scan.complete else {"": scan.refusal or rest}
        wish = Wish({"kind": "noted", "note": told}, packed.ordinal)
        then = url_for("show", code=view.code(packed))
        answer = acting.send(bench, view, [wish], form="pack", then=then, faults=faults)
        return acting.answered(answer, lambda asked: _page(bench, view, packed, laid, "", asked))


def _pack(view: JobView, step: str) -> Bin:
    """Return the bin of a pack by its step."""
    if step not in view.teardown.places:
        lost = _("job {number} has no step {step} under its options")
        raise NotFoundError(lost.format(number=view.job.number, step=step))
    found = view.teardown.at(step)
    if not found.part.stack:
        no_pack = _("step {step}, {part}, is no pack of plates: its profile gives no stack")
        raise NotFoundError(no_pack.format(step=step, part=found.name))
    return found


def _laid(view: JobView, packed: Bin) -> tuple[Bin, ...]:
    """Return the plates that lie, as the address or the form names them by their steps."""
    steps = [step for step in request.values.get("laid", "").split(",") if step]
    wrong = next((step for step in steps if step not in view.teardown.places), None)
    if wrong is not None or len(steps) > len(packed.part.stack):
        raise UsageError(_("the plates in this address are none of this pack; begin with the first plate again"))
    return tuple(view.teardown.at(step) for step in steps)


def _scanned(bench: Bench, view: JobView, text: str) -> tuple[str, Bin | None]:
    """Return the bin of a scan, or the line that says why it is none."""
    try:
        theirs, plate = bench.find(text)
    except TooManyGuesses:
        raise
    except LabelkitError as error:
        return str(error), None
    ruling = right_job(theirs.job, theirs.profile, view.job, view.profile, plate.part.id)
    return (ruling.refusal, None) if not ruling.allowed else ("", plate)


def _way(view: JobView, packed: Bin, laid: Sequence[Bin], **more: str) -> str:
    """Return the address of the page with these plates laid."""
    asked = {"laid": ",".join(each.step for each in laid), "from": request.values.get("from", ""), **more}
    query = urlencode({name: value for name, value in asked.items() if value}, safe=",")
    return url_for("pack", number=view.job.number, step=packed.step) + (f"?{query}" if query else "")


def _page(bench: Bench, view: JobView, packed: Bin, laid: Sequence[Bin], refusal: str, sent: Asked | None) -> str:
    from_start = request.values.get("from") == "start"
    scan = pack_scan(view.teardown, packed, laid, from_start=from_start)
    against = packed.part.stack_from or wording.not_recorded()
    kinds = kinds_of(view, packed)
    letters = {kind.bin.step: kind.letter for kind in kinds}
    return bench.fill(
        "pack.html",
        title=packed.full_name,
        job=view.job.number,
        pack=packed,
        way=url_for("pack", number=view.job.number, step=packed.step),
        card=view.code(packed),
        laid=[(letters.get(each.step, "?"), each) for each in laid],
        steps=",".join(each.step for each in laid),
        scan=scan,
        next_words=_words(scan, letters),
        refusal=bare(refusal),
        first=_first_words(against, from_start=from_start),
        start="start" if from_start else "",
        back=_way(view, packed, laid[:-1]),
        anew=_way(view, packed, ()),
        over=_way(view, packed, laid, whole="1"),
        turned=_way(view, packed, (), **{"from": "" if from_start else "start"}),
        turned_words=_("Check it as it is built") if from_start else _("Check it from {end}").format(end=against),
        kinds=kinds,
        picture=_picture(packed, kinds, len(laid), from_start=from_start),
        asked=sent or acting.nothing_asked(bench.record(view)),
    )


def _words(scan: PackScan, letters: dict[str, str]) -> str:
    """Return what comes next: `plate 3 of 12: S, 12.2 Steel disc`."""
    if scan.next is None:
        return ""
    which = f"{letters.get(scan.next.step, '?')}, {scan.next.full_name}"
    return _("Plate {number} of {total}: {part}").format(number=scan.right + 1, total=scan.wanted, part=which)


def _first_words(against: str, *, from_start: bool) -> str:
    if from_start:
        words = _("Checked in the order they came out; the first lies against: {end}.")
    else:
        words = _("Checked as it is built, the plate that came out last first; the last one lies against: {end}.")
    return words.format(end=against)


def _picture(packed: Bin, kinds: Sequence[Kind], count: int, *, from_start: bool) -> Markup:
    total = len(packed.part.stack)
    laid = range(count) if from_start else range(total - count, total)
    box = Box(0, 0, max(_SIZE[0], plates_width(packed.part)), _SIZE[1])
    drawing = plates_drawing(packed.part, kinds, box, laid)
    title = _("{count} of {total} plates are in").format(count=count, total=total)
    return Markup(svg_fragment([drawing], box, title=title))
