"""Lists of jobs and bins, without a browser."""

from __future__ import annotations

import json

import pytest

from labelkit.calc.steps import options_told
from labelkit.errors import InputError
from labelkit.model.job import Job
from labelkit.sheets.joblist import bin_entries, entry_data, job_entry
from labelkit.sheets.jobview import JobView
from tests.bench_app.workshop import pump
from tests.shop import DEMO_UNITS, demo, view_of


def test_an_entry_says_whose_job_it_is() -> None:
    """Unit, mark, options and number of bins come from the job's own snapshot."""
    view = view_of(pump(), {"drive": "keyed"})
    entry = job_entry(view.job, lambda _job: view)

    assert (1, None, "Gear pump with relief valve", "P7") == (entry.number, entry.serial, entry.unit, entry.mark)
    assert (("Drive: Keyed shaft",), 14, "") == (entry.options, entry.bin_count, entry.fault)


def test_a_job_whose_profile_is_damaged_has_an_entry_too() -> None:
    """One sentence says why, and nothing is made up."""

    def broken(_job: Job) -> JobView:
        raise InputError("pump.yaml: cannot be read\nand more")

    entry = job_entry(view_of(pump()).job, broken)

    assert ("pump.yaml", "", (), 0) == (entry.unit, entry.mark, entry.options, entry.bin_count)
    assert "pump.yaml: cannot be read" == entry.fault


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_bin_has_a_line_in_removal_order(unit: str) -> None:
    """Codes and steps are the labels', a doubtful bin is marked, and no place is left blank."""
    view = view_of(demo(unit))
    entries = bin_entries(view)

    assert [(view.code(each), each.step, each.doubtful) for each in view.teardown.bins] == [
        (each.code, each.step, each.doubtful) for each in entries
    ]
    assert any(each.doubtful for each in entries)
    assert all(each.place and each.name and each.quantity for each in entries)


def test_open_options_are_said_to_be_open() -> None:
    """No option is left out, decided or not."""
    view = view_of(demo("planetary-reducer"))

    told = options_told(view.profile, view.job.options)
    assert len(view.profile.options) == len(told)
    assert "Breather: still open" in told


def test_entries_are_plain_data() -> None:
    """They go into JSON as they are."""
    view = view_of(pump())
    data = [entry_data(each) for each in bin_entries(view)]

    assert data == json.loads(json.dumps(data))
