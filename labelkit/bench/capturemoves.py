"""Where a captured part is moved to: up, down, before another, into a sub-assembly and out of it, off the list."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from flask import Flask, flash, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench import captureseats, capturetree
from labelkit.bench.acting import Asked, answered
from labelkit.bench.capturepages import part_page
from labelkit.bench.capturetree import Captured, Unit
from labelkit.bench.capturewords import problem_words
from labelkit.bench.capturework import GATHERED, MOVED, TAKEN_OUT, Captures, Draft, form_token
from labelkit.bench.typed import whole
from labelkit.bench.web import Bench
from labelkit.errors import InputErrors, LabelkitError, UsageError
from labelkit.language import gettext as _

# Ways to move a part for which something is typed, with the fields.
_MOVES: Final[Mapping[str, tuple[str, ...]]] = {"move": ("step",), "gather": ("name", "last")}
# Those for which nothing is.
_WAYS: Final[Mapping[str, Callable[[Unit, int], Unit]]] = {
    "up": lambda unit, part: capturetree.nudge(unit, part, -1),
    "down": lambda unit, part: capturetree.nudge(unit, part, 1),
    "into": capturetree.into,
    "out": capturetree.out_of,
    "remove": capturetree.remove,
}


def add_capture_moves(app: Flask, bench: Bench, captures: Captures) -> None:
    """Add what moves a part."""

    @app.post("/capture/<int:number>/part/<int:part>/<any(up, down, move, before, into, out, remove, gather):way>")
    def capture_move(number: int, part: int, way: str) -> AnyResponse:
        def act(unit: Unit, fresh: int) -> tuple[Unit, str]:
            if way == "gather":
                return _gathered(unit, part, fresh)
            words = TAKEN_OUT if way == "remove" else MOVED
            after = _moved(unit, part, way)
            captureseats.no_rings(after)
            return after, words.format(part=unit.find(part).name)

        token = form_token()
        try:
            before = captures.draft(number).unit
            if captures.written(number, token):
                flash(_("This was done already"))
                return redirect(url_for("capture", number=number), 303)
            after = captures.change(number, token, act)
        except (UsageError, InputErrors) as error:
            return _unmoved(bench, captures.draft(number), part, way, fault_words(error))
        flash(after.version.words[:1].upper() + after.version.words[1:])
        tell_moved(before, after.unit)
        return redirect(f"{url_for('capture', number=number)}#part-{part}", 303)


def _unmoved(bench: Bench, draft: Draft, part: int, way: str, words: str) -> AnyResponse:
    """Say why a part cannot be moved so: at the field that was typed, or on its page."""
    if way not in _MOVES:
        flash(words, "meanwhile")
        return redirect(url_for("capture_part", number=draft.job, part=part) + "#order", 303)
    empty = next((name for name in _MOVES[way] if not request.form.get(name, "").strip()), _MOVES[way][-1])
    wrong = Asked(0, way, True, request.form, faults={empty: words})
    return answered(wrong, lambda asked: part_page(bench, draft, part, asked))


def _gathered(unit: Unit, part: int, fresh: int) -> tuple[Unit, str]:
    """Make one sub-assembly of a part and those after it, up to the step that was typed."""
    holder = Captured(fresh, " ".join(request.form.get("name", "").split()))
    if not holder.name:
        raise UsageError(_("type the name of the sub-assembly"))
    step = request.form.get("last", "").strip() or unit.steps()[part]
    last = unit.numbers().get(step)
    if last is None:
        raise UsageError(_('there is no step "{step}"; allowed: a step of the list').format(step=step))
    return capturetree.gather(unit, part, int(last), holder), GATHERED.format(name=holder.name)


def _moved(unit: Unit, part: int, way: str) -> Unit:
    if way == "move":
        return capturetree.move(unit, part, request.form.get("step", ""))
    if way == "before":
        return capturetree.put_before(unit, part, whole(request.form.get("before", "")))
    return _WAYS[way](unit, part)


def tell_moved(before: Unit, after: Unit) -> None:
    """Say which labels would now bear another step, if they were printed already, and what lies elsewhere now."""
    old = before.steps()
    if steps := [step for number, step in after.steps().items() if old.get(number, step) != step]:
        one = _("Now step {step}: labels printed before say another step. Their codes stay right")
        some = _("Now steps {first} to {last}: labels printed before say another step. Their codes stay right")
        words = some.format(first=steps[0], last=steps[-1]) if len(steps) > 1 else one.format(step=steps[0])
        flash(words, "told")
    for part, on in captureseats.reseated(before, after):
        if on:
            flash(_("{part} lies on {other} now, the next one out").format(part=part, other=on), "told")
        else:
            flash(_("Nothing comes out after {part} now: tell what it lay on").format(part=part), "told")


def fault_words(error: LabelkitError) -> str:
    """Return what is wrong, each fault once."""
    if isinstance(error, InputErrors):
        return "; ".join(dict.fromkeys(map(problem_words, error.problems)))
    return str(error)
