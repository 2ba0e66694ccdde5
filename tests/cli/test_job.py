"""`labelkit job`: list, show, export, import, close."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

import pypdfium2
import pytest

from labelkit.model.events import Entry, act_of
from labelkit.sheets.lookup import Lookup
from labelkit.store.jobs import Store
from tests.bench_app.workshop import SECRET, Shell, bin_of, open_job, pump


@pytest.fixture
def shell(labelkit: Shell) -> Shell:
    with Store(str(labelkit.folder / "labelkit.sqlite"), secret=SECRET) as store:
        view = open_job(store, pump(), options={"drive": "keyed"}, serial="4711")
        open_job(store, pump(), options={"drive": "keyed"}, serial="4712")
        record(store, "removed", bin_of(view, "cover-screws").ordinal, count=5)
        record(store, "hold", bin_of(view, "gears").ordinal, why="owner looks")
    return labelkit


def record(store: Store, kind: str, place: int | None, **fields: Any) -> None:
    act = act_of({"kind": kind, **fields})
    token = f"token-{store.journal.last(1):06}"
    store.journal.append(1, [Entry(act, "Ana", datetime(2026, 3, 2, 7, 30, tzinfo=UTC), token, place)])


def test_the_list_tells_who_was_last(shell: Shell) -> None:
    """Also as data; a job without a record is in it."""
    said = shell("job", "list").out.splitlines()

    assert "1  Gear pump with relief valve, serial number 4711: 2 events, last 2026-03-02 07:30 UTC by Ana" == said[0]
    assert "4712: nothing recorded" in said[1]
    data = json.loads(shell("job", "list", "--json").out)["jobs"]
    assert [(1, 2, "Ana"), (2, 0, None)] == [(j["job"], j["events"], (j["last"] or {}).get("who")) for j in data]


def test_a_capture_that_has_just_begun_is_no_fault(shell: Shell) -> None:
    """Its profile has no part yet, which would be a fault of any other."""
    with Store(str(shell.folder / "labelkit.sqlite"), secret=SECRET) as store:
        job = store.create_job(
            number=None,
            serial=None,
            file="zz9.yaml",
            source=b"format: 1\nunit: {mark: ZZ9, name: Gear}\nparts: []\n",
            options={},
            address="http://shop",
            codes=9,
            photos={},
        )
        store.drafts.start(job.number, "{}", who="Ana", at="2026-03-02", token="a")

    assert "3  zz9.yaml: being captured, 0 bins so far" == shell("job", "list").out.splitlines()[-1]


def test_show_tells_where_the_job_is(shell: Shell) -> None:
    """Next, holds, counts that are wrong; every event on demand; the same as data."""
    said = shell("job", "show", "1", "--events").out

    assert "Next out: 2 Cover" in said
    assert "4 Gear pair is on hold by Ana: owner looks" in said
    assert "Cover screw M8 x 30: 5 came out, the profile has 6" in said
    assert "1  2026-03-02 07:30 UTC  Ana: 1 Cover screw M8 x 30: out, 5 counted" in said
    data = json.loads(shell("job", "show", "1", "--json").out)
    assert "2" == data["next_out"]
    assert {"hold", "count", "not_empty"} <= {point["kind"] for point in data["open"]}
    assert "removed" == data["events"][0]["act"]["kind"]
    with Store(str(shell.folder / "labelkit.sqlite"), secret=SECRET) as store:
        record(store, "wash_started", None, places=[data["events"][0]["place"]])
    assert "; out 1\n" in said
    washing = shell("job", "show", "1", "--json").out
    assert ["in_washer"] == [place["stage"] for place in json.loads(washing)["places"] if place["step"] == "1"]
    assert "; in the washer 1\n" in shell("job", "show", "1").out


def test_show_names_what_nobody_counted_at_whatever_stage_it_is(shell: Shell) -> None:
    """A bin that went through the wash uncounted is no more counted than one that is just out."""
    with Store(str(shell.folder / "labelkit.sqlite"), secret=SECRET) as store:
        view = Lookup(store).view(1)
        for kind in ("removed", "washed"):
            record(store, kind, bin_of(view, "cover-screws").ordinal)
        record(store, "removed", bin_of(view, "cover").ordinal)
    said = shell("job", "show", "1").out

    assert "out, not counted 1; clean 1, 1 of them not counted" in said
    assert "  1 Cover screw M8 x 30: nobody has counted what came out, the profile has 6" in said


def test_a_job_goes_out_and_comes_in(shell: Shell) -> None:
    """Into a file or a pipe, over an earlier export of itself and nothing else; a number that is taken is told."""
    done = shell("job", "export", "1", "--out", "one.json")

    assert "one.json: job 1, 2 events, 0 pictures, 0 photos of the profile\n" == done.out
    taken = shell("job", "import", "one.json", "--job", "2")
    assert (2, "") == (taken.status, taken.out)
    assert "job 2 is taken" in taken.err
    copy = shell("job", "import", "one.json", "--job", "12")
    assert copy.out.startswith("job 12, 2 events; print its labels again: labelkit kit --job 12\nThey lead to http://")
    assert "the same job is here as job 1: from now on each goes its way" in copy.err
    other = (shell.folder / "one.json").read_text().replace("owner looks", "another store")
    (shell.folder / "other.json").write_text(other)
    for words in (("2", "--out", "one.json"), ("1", "--out", "other.json")):
        kept = shell("job", "export", *words)
        assert f"holds something else than an earlier export of job {words[0]}" in kept.err
    assert other == (shell.folder / "other.json").read_text()
    assert done.out == shell("job", "export", "1", "--out", "one.json").out
    piped = shell("job", "export", "1", "--out", "-").out
    assert "job 13, 2 events" in shell("job", "import", "-", "--job", "13", stdin=piped.encode()).out


def test_a_job_that_is_here_already_is_told_and_stays(shell: Shell) -> None:
    """As it is in the file, further on, or not as far: nothing is put over it, and nothing comes in twice unasked."""
    shell("job", "export", "1", "--out", "one.json")

    again = shell("job", "import", "one.json")

    assert (0, "") == (again.status, again.err)
    assert "job 1 is this job already, with 2 events; nothing was changed" in again.out
    shorter = json.loads((shell.folder / "one.json").read_text())
    del shorter["events"][1]
    shorter["job"]["serial"] = None  # as it was before somebody knew it
    (shell.folder / "earlier.json").write_text(json.dumps(shorter))
    said = shell("job", "import", "earlier.json").out
    assert "job 1 is this job already, with 2 events, 1 of them since the export; nothing was changed" in said
    shell("job", "import", "earlier.json", "--job", "12")
    assert "job 12 is this job already, with 1 event, and the file goes on to 2" in shell(
        "job", "import", "one.json", "--job", "12"
    ).err  # fmt: skip
    assert 3 == len(shell("job", "list").out.splitlines())


def test_a_stock_of_another_computer_is_named_and_not_opened(shell: Shell) -> None:
    """A path in the file would open whatever lies there here; printing says what is missing and where to name it."""
    shell("job", "export", "1", "--out", "one.json")
    data = json.loads((shell.folder / "one.json").read_text())
    trap = shell.folder / "trap.yaml"
    trap.write_text("never read")
    data["job"] |= {"number": 7, "serial": "other", "stocks": {"labels": str(trap), "stickers": "a4-4x12-46x21"}}
    (shell.folder / "seven.json").write_text(json.dumps(data))

    said = shell("job", "import", "seven.json")

    assert f"its labels were printed on {trap} of another computer, which is not opened here" in said.err
    kit = shell("kit", "--job", "7", "--only", "labels", "--out", "k")
    assert "the labels of job 7 were last printed on trap: there is no stock of kind labels" in kit.err
    assert "Name another with --label-stock" in kit.err


def test_the_report_is_a_pdf_that_says_whether_it_is_signed(shell: Shell) -> None:
    """Into the folder, or where and in which language it is wanted; what is open is counted on the terminal too."""
    said = shell("job", "report", "1")

    assert "job-1.pdf: report of job 1, NOT SIGNED, " in said.out
    assert (shell.folder / "job-1.pdf").read_bytes().startswith(b"%PDF-")
    said = shell("job", "report", "1", "--out", "one.pdf", "--paper", "letter", "--language", "de")
    assert "one.pdf: " in said.out
    page = pypdfium2.PdfDocument(shell.folder / "one.pdf")[0]
    assert "NICHT UNTERSCHRIEBEN" in page.get_textpage().get_text_bounded()


def test_a_job_is_closed_only_when_it_is_signed_or_for_a_reason(shell: Shell) -> None:
    """What is open is listed and the answer is no; with a reason and who agreed it is closed, and both are shown."""
    refused = shell("job", "close", "1", "--by", "Ana")

    assert (1, "") == (refused.status, refused.out)
    assert "points open" in refused.err
    assert "Allowed now: look or measure what is open, and record it" in refused.err
    assert "Traceback" not in refused.err
    half = shell("job", "close", "1", "--by", "Ana", "--because", "scrapped")
    assert 2 == half.status
    assert "--because and --agreed go together" in half.err
    done = shell("job", "close", "1", "--by", "Ana", "--because", "scrapped", "--agreed", "Owner")
    assert (0, "job 1 is closed\n") == (done.status, done.out)
    assert ", closed" in shell("job", "list").out
    assert "1  " not in shell("job", "list", "--open").out
    assert "scrapped" in shell("job", "show", "1").out
    again = shell("job", "close", "1", "--by", "Ben").err
    assert 'job 1 is closed already, by Ana; to open it again: labelkit job close 1 --by "Ben" --reopen WHY' in again
    assert "job 1 is open again\n" == shell("job", "close", "1", "--by", "Ben", "--reopen", "leak").out


@pytest.mark.parametrize(
    ("words", "status", "message"),
    [
        (("show", "9"), 1, "job 9 is not in the store labelkit.sqlite; it holds 2 jobs, 1 to 2"),
        (("export", "9"), 1, "job 9 is not in the store"),
        (("export", "1", "--out", "no/where.json"), 1, "no/where.json: cannot be written"),
        (("import", "none.json"), 2, "none.json"),
        (("import", "labelkit.sqlite"), 1, "is no text"),
        (("import", "kit.json"), 1, "kit.json: this is no job that labelkit exported"),
        (("close", "1"), 2, "--by"),
        (("close", "1", "--by", " "), 2, '--by " ": allowed: a name of 1 to 60 letters'),
        (("close", "1", "--by", "A", "--because", "", "--agreed", "B"), 2, '--because "": allowed: 1 to'),
        (("close", "1", "--by", "A", "--reopen", "x"), 1, "the job is open"),
        (("list", "--what"), 2, "No such option"),
        (("report", "99"), 1, "job 99"),
        (("report", "1", "--paper", "a5"), 1, "a5"),
        (("report", "1", "--out", "nowhere/one.pdf"), 1, "nowhere"),
    ],
)
def test_bad_input_is_one_sentence(shell: Shell, words: tuple[str, ...], status: int, message: str) -> None:
    """No traceback, nothing on stdout."""
    (shell.folder / "kit.json").write_text('{"job": 1}')
    said = shell("job", *words)

    assert (status, "") == (said.status, said.out)
    assert message in said.err
    assert "Traceback" not in said.err


@pytest.mark.parametrize("words", [(), ("list",), ("show",), ("export",), ("import",), ("close",), ("report",)])
def test_help_has_an_example(shell: Shell, words: tuple[str, ...]) -> None:
    """Of every command."""
    assert "Example: labelkit job" in shell("job", *words, "--help").out
