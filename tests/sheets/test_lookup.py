"""From a scan to its bin and its job; what scans look like is tested with the commands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from labelkit.calc.codes import MistypedCode, grouped
from labelkit.errors import NotFoundError
from labelkit.sheets import lookup
from labelkit.sheets.lookup import Lookup, read_scan
from labelkit.store.jobs import Store
from tests.bench_app.workshop import PUMP, SECRET, code_of, open_job, pump


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store(str(tmp_path / "shop.sqlite"), secret=SECRET) as opened:
        yield opened


def test_a_code_is_of_its_job_also_when_its_part_is_not(store: Store) -> None:
    """An option that was decided takes the card away, not the knowledge whose label it is."""
    view = open_job(store, pump())
    code = code_of(view, "key")
    store.update_job(replace(view.job, options={"drive": "splined"}))
    find = Lookup(store)

    assert 1 == find.job_of(f"http://10.0.0.5:8080/{code}").number
    with pytest.raises(NotFoundError, match="the label is of Key 6 x 6 x 20, which is there only if Drive = Keyed"):
        find.find(code)


def test_a_part_of_a_sub_assembly_that_dropped_out_is_named_too(store: Store) -> None:
    """The condition is that of what it is inside, and how to change it is said."""
    other = open_job(store, pump(PUMP.replace("id: valve\n", "id: valve\n    only: {drive: keyed}\n")))
    code = code_of(other, "steel")
    store.update_job(replace(other.job, options={"drive": "splined"}))

    with pytest.raises(NotFoundError) as told:
        Lookup(store).find(code)
    assert str(told.value) == (
        f"{grouped(code)}: the label is of Steel disc (1 of 2), which is there only if Drive = Keyed shaft; "
        "job 1 has Drive = Splined shaft. If the unit has it after all, set the option: "
        "`labelkit kit --job 1 --option drive=keyed`"
    )


def test_a_sticker_leads_to_the_bin_of_its_part(store: Store) -> None:
    """By a code of its own; what goes inside another part, to that one's. The plain code stays as it was."""
    view = open_job(store, pump())
    find = Lookup(store)
    cover, (circlip,) = view.teardown.of("cover")[0], view.teardown.inside

    assert find.find(view.new_code(cover)) == find.find(view.code(cover))
    assert find.find(view.new_code(circlip))[1] == view.teardown.at(view.teardown.step_holding(circlip))
    assert (view.new_part(view.new_code(cover)), view.new_part(view.code(cover))) == (cover, None)


def test_a_sticker_of_a_part_that_dropped_out_is_told(store: Store) -> None:
    """As for a label: what it is of, and when it would be there."""
    view = open_job(store, pump())
    code = view.new_code(view.teardown.of("key")[0])
    store.update_job(replace(view.job, options={"drive": "splined"}))

    with pytest.raises(NotFoundError, match="the sticker is of Key 6 x 6 x 20, which is there only if Drive = Keyed"):
        Lookup(store).find(code)


def test_jobs_share_a_profile_that_is_read_once(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """A list of all jobs stays quick in a shop that opens the same kind of unit every week."""
    read = []
    parse = lookup.parse_profile
    monkeypatch.setattr(lookup, "parse_profile", lambda *words: read.append(words) or parse(*words))
    unit = pump(PUMP + "# like no other that this process has read\n")
    for number in range(5):
        open_job(store, unit, serial=str(number))
    find = Lookup(store)
    views = [find.of_job(job) for job in store.jobs()]
    again = Lookup(store).view(1)

    assert [1, 2, 3, 4, 5] == [view.job.number for view in views]
    assert views[0].profile is again.profile
    assert 1 == len(read)


def test_a_job_is_found_by_its_number(store: Store) -> None:
    """Or it is said which there are."""
    view = open_job(store, pump(), options={"drive": "keyed"})
    find = Lookup(store)

    assert (view.job, view.teardown.bins) == (find.view(1).job, find.view(1).teardown.bins)
    with pytest.raises(NotFoundError, match=r"job 2 is not in the store .* it holds 1 job"):
        find.view(2)


@pytest.mark.parametrize("text", ["https://example.org/shop", "2 Cover\nFREE", ""])
def test_what_is_no_code_is_told_apart(text: str) -> None:
    """A strange address, words without a code at their end, nothing."""
    with pytest.raises(MistypedCode):
        read_scan(text)
