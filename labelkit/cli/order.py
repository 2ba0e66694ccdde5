"""`labelkit order`: what to order for a unit, and in which order it goes together."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import click

from labelkit.calc.assembly import FailingPair, Placed, assembly_order, captured_first, failing_pairs, pack_of
from labelkit.calc.steps import Teardown, choose, condition, teardown
from labelkit.cli.buying import Buying, buying_options, buying_text
from labelkit.cli.options import option_pairs
from labelkit.errors import UsageError
from labelkit.load.profile import load_profile
from labelkit.model.job import Job
from labelkit.model.profile import Profile
from labelkit.sheets.lookup import Lookup
from labelkit.sheets.manifest import order_data
from labelkit.store.jobs import open_store


@dataclass(frozen=True, slots=True)
class _Unit:
    """What is put together.

    Attributes:
        profile: of the unit; a job's own snapshot.
        removal: its removal order.
        job: the job, None for a profile alone.
        given: the options that were asked for; the others are a profile's defaults, or open.
    """

    profile: Profile
    removal: Teardown
    job: Job | None
    given: Mapping[str, str]


@click.command()
@click.argument("profile", required=False)
@click.option("--assembly", is_flag=True, help="Show the order of assembly instead of what to order.")
@click.option("--job", "number", type=int, metavar="N", help="Of this job: its own profile, options and step numbers.")
@click.option("--option", "options", multiple=True, metavar="GROUP=CHOICE", help="Choose an option; repeat for more.")
@buying_options
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def order(
    profile: str | None,
    assembly: bool,
    number: int | None,
    options: tuple[str, ...],
    buying: Buying,
    as_json: bool,
) -> None:
    """Show what to order for a job and whom a shortage blocks; with --assembly, the order of assembly.

    What is always renewed is in the list, what was condemned or lost with all it pulls along, in whole packs, less what
    the catalogue has on the shelf. What the bench recorded counts: verdicts, chosen sizes, what was ordered and came;
    --condemned and --lost add to it. The order of assembly says whether it is the plain reverse of the removal.

    With --job the steps are those of the job's labels. Without, they are those of a first print under these options;
    which of them were assumed is said. A question mark stands at a part that is there only under an option that is
    still open.

    \b
    Example: labelkit order --job 1 --condemned 9 --catalogue counter.csv
             labelkit order --assembly --job 1
    """
    if not assembly:
        if profile or options or number is None:
            raise UsageError("what to order is of a job: labelkit order --job N; or add --assembly")
        click.echo(buying_text(number, buying, as_json=as_json))
        return
    unit = _unit(profile, number, option_pairs(options))
    placed, failing = assembly_order(unit.profile, unit.removal), failing_pairs(unit.profile, unit.removal)
    if as_json:
        click.echo(json.dumps(_data(unit, placed, failing), indent=1, ensure_ascii=False))
    else:
        click.echo("\n".join(_lines(unit, placed, failing)))


def _unit(profile: str | None, number: int | None, given: dict[str, str]) -> _Unit:
    """Return the unit that is meant.

    Raises:
        UsageError: no unit, two of them, or options beside a job, which has its own.
        NotFoundError: no such profile, no store, or no such job.
    """
    if number is None:
        if profile is None:
            raise UsageError("name a profile, or a job with --job")
        unit = load_profile(profile).profile
        return _Unit(unit, teardown(unit, choose(unit, given)), None, given)
    if profile is not None:
        raise UsageError(f"order {profile} --job {number}: a job has its own profile; name one of the two")
    with open_store(create=False) as store:
        view = Lookup(store).view(number)
    if given:
        told = _as_typed(given)
        raise UsageError(
            f"--option {told}: job {number} has its own options ({_as_typed(view.job.options) or 'none'}); "
            f"decide one with `labelkit kit --job {number} --option {told.partition(', ')[0]}`"
        )
    return _Unit(view.profile, view.teardown, view.job, {})


def _as_typed(options: Mapping[str, str | None]) -> str:
    return ", ".join(f"{group}={choice}" if choice else f"{group} ?" for group, choice in options.items())


def _lines(unit: _Unit, placed: tuple[Placed, ...], failing: tuple[FailingPair, ...]) -> Iterator[str]:
    yield _whose(unit)
    yield from _option_lines(unit)
    yield ""
    marked = {entry.bin.step: entry.bin.step_words for entry in placed}
    inner = captured_first(placed)
    for number, entry in enumerate(placed, start=1):
        for each in inner.get(entry.bin.step, ()):
            held = f"in {each.item.parent}" if each.item.parent else "inside"
            yield f"      {held:11} {each.item.part.name}  only where it is renewed"
        group = f"  [{entry.group}]" if entry.group else ""
        needs = [f"{marked[need.step]}{' in part' if need.some else ''}" for need in entry.needs]
        after = f"  after {', '.join(needs)}" if needs else ""
        pack = "  in turn with the others: see the order of plates" if pack_of(unit.removal, entry.bin) else ""
        only = f"  only if {condition(unit.profile, unit.removal, entry.bin)}" if entry.bin.doubtful else ""
        yield f"{number:4}  step {marked[entry.bin.step]:6} {entry.bin.name}{group}{after}{pack}{only}"
    if not failing:
        yield "Plain reverse is valid: every part that must be in before another was removed after it."
    for pair in failing:
        first, then = marked[pair.first], marked[pair.then]
        yield f"Plain reverse fails: step {first} must be in before step {then}: {pair.why}"


def _whose(unit: _Unit) -> str:
    header = unit.profile.unit
    name = f"{header.name}, profile revision {header.revision}"
    if unit.job is None:
        return f"{name}; of no job: the labels of a job may have other steps, see --job"
    serial = f", serial {unit.job.serial}" if unit.job.serial else ""
    return f"Job {unit.job.number}{serial}: {name}"


def _option_lines(unit: _Unit) -> Iterator[str]:
    for group, choice in unit.removal.chosen.items():
        option = unit.profile.options[group]
        if choice is None:
            tell = f" ({option.tell})" if option.tell else ""
            choices = " or ".join(option.choices)
            yield f"  {group} is open, its parts are marked ?{tell}: {choices}"
        else:
            assumed = "" if unit.job or group in unit.given else "; assumed, it is the default"
            yield f"  {group} {choice}: {option.choices[choice]}{assumed}"


def _data(unit: _Unit, placed: tuple[Placed, ...], failing: tuple[FailingPair, ...]) -> dict[str, Any]:
    doubtful = {
        entry.bin.step: condition(unit.profile, unit.removal, entry.bin) for entry in placed if entry.bin.doubtful
    }
    assumed = [] if unit.job else [group for group, choice in unit.removal.chosen.items() if choice is not None]
    return {
        "job": unit.job.number if unit.job else None,
        "options": dict(unit.removal.chosen),
        "assumed": [group for group in assumed if group not in unit.given],
        "order": [
            {**entry, "only": doubtful[entry["step"]]} if entry["step"] in doubtful else entry
            for entry in order_data(placed)
        ],
        "plain_reverse": not failing,
        "failing": [{"first": pair.first, "then": pair.then, "why": pair.why} for pair in failing],
    }
