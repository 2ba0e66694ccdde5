"""A job that takes up a later revision: codes stay with their parts, and what is out of date is found."""

from __future__ import annotations

from dataclasses import replace

import pytest

from labelkit.calc.steps import places
from labelkit.errors import UsageError
from labelkit.load.stock import PRINTABLE, find_stock
from labelkit.sheets.jobview import JobView
from labelkit.sheets.stale import Stale, revised, stale
from tests.bench_app.workshop import PUMP, pump
from tests.shop import SECRET, view_of

NEW_PART = "  - {id: cap, name: Cap M10}\n"
BEFORE_PLUG = PUMP.replace("  - {id: plug,", NEW_PART + "  - {id: plug,")
AS_LAST = PUMP.replace("assembly:\n", NEW_PART + "assembly:\n")


def taken_up(text: str, *, recorded: bool = False) -> tuple[JobView, JobView]:
    was = view_of(pump())
    job = revised(was.job, was.profile, pump(text), recorded=recorded)
    return was, JobView(job, pump(text).profile, SECRET)


def out_of_date(text: str) -> tuple[list[str], list[str]]:
    was, now = taken_up(text)
    found: Stale = stale(was, now, find_stock("a4-2x5-99x56", PRINTABLE))
    return [each.part.id for each in found.labels], [each.part.id for each in found.void]


@pytest.mark.parametrize(
    ("before", "after", "labels"),
    [
        ('revision: "3"', 'revision: "4"', []),
        ("name: Plug M10", "name: Plug M12", ["plug"]),
        ('clock: "6:30"', 'clock: "7:30"', ["gears"]),
        ('min: "4.95"', 'min: "4.96"', []),
    ],
    ids=["the number of the revision", "a name", "the clock", "a limit, which is on the card"],
)
def test_a_label_is_out_of_date_when_it_says_something_else(before: str, after: str, labels: list[str]) -> None:
    """What stands on cards only is not printed on labels."""
    assert before in PUMP
    assert (labels, []) == out_of_date(PUMP.replace(before, after))


def test_symbols_with_the_cards_words_are_out_of_date_with_the_card() -> None:
    """A limit stands in such a symbol."""
    was, now = taken_up(PUMP.replace('min: "4.95"', 'min: "4.96"'))

    found = stale(was, now, find_stock("a4-2x4-99x68", PRINTABLE), offline=True)

    assert ["side-plate"] == [each.part.id for each in found.labels]


def test_a_new_part_has_a_label_of_its_own_and_moves_the_steps_behind_it() -> None:
    """Their codes stay, so that an old label still opens its part; a label that names a moved step is renewed, too."""
    was, now = taken_up(BEFORE_PLUG)
    moved = ["plug", "valve", "steel", "paper", "valve", "steel", "paper", "body"]
    codes = [{each.part.id: view.code(each) for each in view.teardown.bins} for view in (was, now)]

    assert (["cover-screws", "cap", *moved], []) == out_of_date(BEFORE_PLUG)
    assert codes[0] == {part: code for part, code in codes[1].items() if part != "cap"}
    assert codes[1]["cap"] not in codes[0].values()


def test_labels_of_parts_that_are_gone_come_off() -> None:
    """And a code that is free again is not given to another part in the same step."""
    text = PUMP.replace(
        "  - {id: splined-hub, name: Splined hub, only: {drive: splined}, keep_with: [gears]}\n", NEW_PART
    )
    was, now = taken_up(text)

    labels, void = out_of_date(text)

    assert ["splined-hub"] == void
    assert "cap" in labels
    assert now.code(now.teardown.of("cap")[0]) != was.code(was.teardown.of("splined-hub")[0])


def test_a_recorded_job_takes_new_parts_as_the_last_ones_only() -> None:
    """The record knows parts by their order in the profile."""
    taken_up(AS_LAST, recorded=True)
    with pytest.raises(UsageError, match=r"record of job 1 speaks of parts.* another order from plug on"):
        taken_up(BEFORE_PLUG, recorded=True)


def test_another_unit_is_no_revision() -> None:
    """The mark says which unit a profile is of."""
    with pytest.raises(UsageError, match=r"job 1 is a P7, pump.yaml is of P8"):
        taken_up(PUMP.replace("mark: P7", "mark: P8"))


def test_options_that_can_still_be_chosen_are_kept() -> None:
    """A choice that is gone falls back to the profile's default."""
    was = view_of(pump(), {"drive": "splined"})
    other = PUMP.replace("splined: Splined shaft", "plain: Plain shaft").replace("drive: splined", "drive: plain")

    assert {"drive": "splined"} == revised(was.job, was.profile, pump(AS_LAST), recorded=False).options
    assert {"drive": None} == revised(was.job, was.profile, pump(other), recorded=False).options


def test_a_job_without_free_codes_takes_no_new_part() -> None:
    """Its block holds so many codes and no more."""
    was = view_of(pump())
    full = replace(was.job, indices=tuple(range(512 - places(was.profile), 512)))

    with pytest.raises(UsageError, match=r"has no codes left for what is new in pump.yaml"):
        revised(full, was.profile, pump(AS_LAST), recorded=False)
