"""Setting options of a job once somebody has seen how the unit is built."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from labelkit.bench.web import Bench
from labelkit.calc.steps import teardown
from labelkit.language import gettext as _
from labelkit.sheets.jobview import JobView


def setting(bench: Bench, view: JobView, choices: Mapping[str, str]) -> tuple[Callable[[], None] | None, list[str]]:
    """Return what sets options of a job, and what to say of it; None and nothing where they are set so already.

    Args:
        bench: what pages share.
        view: the job.
        choices: what was seen, by option.
    """
    new = {group: choice for group, choice in choices.items() if view.job.options.get(group) != choice}
    if not new:
        return None, []
    changed = replace(view.job, options={**view.job.options, **new})

    def change() -> None:
        bench.store.update_job(changed)

    options = view.profile.options
    words = ", ".join(f"{options[group].name}: {options[group].choices[choice]}" for group, choice in new.items())
    return change, [_changes(view, changed.options, words)]


def _changes(view: JobView, options: Mapping[str, str | None], words: str) -> str:
    """Return what another choice brings, drops and leaves to be printed again."""
    new = teardown(view.profile, options, view.job.numbering)
    before = {each.ordinal: each for each in view.teardown.bins}
    after = {each.ordinal: each for each in new.bins}
    gone = [each.full_name for ordinal, each in before.items() if ordinal not in after]
    come = [each.full_name for ordinal, each in after.items() if ordinal not in before]
    kept = {(ordinal, each.step, each.doubtful) for ordinal, each in before.items()}
    steps = [each.step for ordinal, each in after.items() if (ordinal, each.step, each.doubtful) not in kept]
    told = _("{option} is set").format(option=words)
    told += _("; not in this unit: {parts}").format(parts=", ".join(gone)) if gone else ""
    told += _("; new bins: {parts}").format(parts=", ".join(come)) if come else ""
    if steps:
        command = f"labelkit kit --job {view.job.number} --steps {','.join(steps)} --only labels"
        told += _(". Print these labels again: {command}").format(command=command)
    return told
