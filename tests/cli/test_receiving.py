"""`labelkit scan CODE --received`: the parts person at the counter's computer."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from labelkit.calc.codes import grouped
from labelkit.model.events import Entry, act_of
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store, open_store
from tests.bench_app.workshop import SECRET, Shell, open_job
from tests.shop import demo


@pytest.fixture
def view(tmp_path: Path) -> JobView:
    with Store(str(tmp_path / "labelkit.sqlite"), secret=SECRET) as store:
        return open_job(store, demo("planetary-reducer"), options={"breather": "std"})


@pytest.fixture
def labelkit(labelkit: Shell, view: JobView) -> Shell:
    """Runs the command where the job is."""
    return labelkit


def sticker(view: JobView, part: str) -> str:
    return view.new_code(view.teardown.of(part)[0])


def events(labelkit: Shell) -> int:
    labelkit.patch.chdir(labelkit.folder)
    with open_store(create=False) as store:
        return store.journal.last(1)


def test_a_sticker_is_received_and_staged(labelkit: Shell, view: JobView) -> None:
    """Without a number all that the place lacks; the tray says how far it is, and the record who did it."""
    said = labelkit("scan", grouped(sticker(view, "through-bolts")), "--received", "--staged", "--by", "Petra")

    assert (0, "") == (said.status, said.err)
    lines = said.out.splitlines()
    assert "event 1: 14 Through bolt M12 x 240, 12.9: 12 new came" == lines[1]
    assert ["12 of 12 ready", "Tray C: 1 of 2 ready"] == lines[3:]
    labelkit("scan", sticker(view, "ring-oring"), "--received", "2", "--by", "Petra")
    said = labelkit("scan", sticker(view, "ring-oring"), "--staged", "--by", "Paul", "--json")
    (event,) = (json.loads(line) for line in said.out.splitlines())
    assert {"kind": "staged", "pieces": 2} == event["act"]
    said = labelkit("scan", sticker(view, "cover-oring"), "--received", "--by", "Petra", "--language", "de")
    assert ["Auftrag 1", "0 von 1 bereit"] == said.out.splitlines()[:3:2]
    assert (1, 4, "Paul") == (event["job"], event["number"], event["who"])


def test_a_size_is_named_and_typed_as_in_the_language_that_is_spoken(labelkit: Shell, view: JobView) -> None:
    """Who reads Dicke on the page types Dicke=2,50 at the bench; the record keeps neither word, and other names are
    answered with the words of that language."""
    command = ("scan", sticker(view, "friction-disc"), "--received", "1", "--by", "P", "--language", "de", "--measured")

    refused = labelkit(*command, "Dichte=2,50")
    said = labelkit(*command, "Dicke=2,50")

    assert '"Dichte" is no size of this part; allowed: Dicke, ' in refused.err
    assert "did you mean Dicke?" in refused.err
    assert (0, "") == (said.status, said.err)
    assert "Dicke 2.50 mm" in said.out


def test_a_part_that_differs_is_refused_until_it_is_accepted(labelkit: Shell, view: JobView) -> None:
    """Old beside new; the difference and the serial number stay in the record."""
    command = ("scan", sticker(view, "upper-cone"), "--received", "1", "--measured", "inside diameter=90", "--by", "P")

    said = labelkit(*command)

    assert (2, "") == (said.status, said.out)
    assert "--measured: inside diameter 90 mm, the profile has 80 mm: 10 mm larger" in said.err
    assert "--accept: it differs" in said.err
    assert 0 == events(labelkit)
    said = labelkit(*command, "--accept", "--serial", "K 4711")
    assert "1 new came; inside diameter 90 mm, the profile has 80 mm: 10 mm larger" in said.out
    assert "serial number K 4711" in said.out


WRONG = (
    (("--staged",), "--received and --staged need --by NAME"),
    (("--by", "P"), "--by: say what came with --received N"),
    (("--staged", "--by", "P", "--measured", "t=2"), "--measured: thickness 2 mm, the profile has 2.50 mm"),
    (("--measured", "t=2"), "--measured: say what came with --received N, or that it lies ready with --staged"),
    (("--received", "x", "--by", "P"), '--received: found "x"; allowed: a whole number'),
    (("--received", "0", "--by", "P"), "--received: "),
    (("--from", "shelf"), "--from: say what came with --received N"),
    (("--received", "1", "--by", " "), '--by " ": allowed: a name'),
    (("--received", "1", "--by", "P", "--measured", "t"), "allowed: SIZE=FIGURE, as thickness=2.35"),
    (("--received", "1", "--by", "P", "--measured", "wobble=2"), '"wobble" is no size of this part'),
    (("--received", "1", "--by", "P", "--measured", "thickness=2.5 kg"), "--measured: "),
)


def test_what_cannot_be_written_is_said(labelkit: Shell, view: JobView) -> None:
    """Nothing is written, and the message names the option."""
    for words, message in WRONG:
        said = labelkit("scan", sticker(view, "friction-disc"), *words)

        assert said.status != 0, words
        assert message in said.err, (words, said.err)
        assert "Traceback" not in said.err
    assert 0 == events(labelkit)


def test_the_label_of_a_bin_names_its_sticker(labelkit: Shell, view: JobView) -> None:
    """The old part is not what came."""
    bolts = view.teardown.of("through-bolts")[0]

    said = labelkit("scan", view.code(bolts), "--received", "--by", "Petra")

    assert 2 == said.status
    assert f"scan the sticker of the new part, {grouped(view.new_code(bolts))}" in said.err


def test_a_parcel_is_told_from_the_shelf(labelkit: Shell, view: JobView) -> None:
    """Twelve bolts on the shelf, twelve on their way; without a catalogue what comes is of what was ordered."""
    counter = labelkit.folder / "counter.csv"
    counter.write_text("number,on shelf\nG2B-1207,12\n", encoding="utf-8")
    labelkit.patch.chdir(labelkit.folder)
    with open_store(create=False) as store:
        order = act_of({"kind": "ordered", "number": "G2B-1207", "pieces": 12})
        store.journal.append(1, [Entry(order, "P", datetime(2026, 3, 2, 9, tzinfo=UTC), "token-000001")])
    command = ("scan", sticker(view, "through-bolts"), "--received", "2", "--by", "P")

    said = labelkit(*command, "--catalogue", str(counter))

    assert (2, "") == (said.status, said.out)
    assert "--from: 12 on the way, 12 on the shelf: say which these are" in said.err
    assert "2 new came, from the shelf" in labelkit(*command, "--catalogue", str(counter), "--from", "shelf").out
    assert "2 new came, of what was ordered" in labelkit(*command).out


def test_new_plates_count_in_their_fit_as_they_measured(labelkit: Shell, view: JobView) -> None:
    """By hand: 34.22 less 5 × 2.46 + 5 × 2.00 + 8.0 is 3.92, and the steel of 2.40 leaves 1.52; typed ones go first."""
    labelkit("scan", sticker(view, "friction-disc"), "--received", "5", "--measured", "thickness=2.46", "--by", "P")
    fit = ("fit", "--job", "1", "brake-stroke", "--depth", "34.22")

    assert "take 2.40 mm, then 1.52 mm" in labelkit(*fit).out
    assert "not measured: 8.0 mm (Pressure plate 8.0 mm), 2.00 mm (Steel disc 2.00)" in labelkit(*fit).out
    assert "take 2.20 mm, then 1.52 mm" in labelkit(*fit, "--plate", "friction-disc=2.50").out
    assert "take 2.60 mm, then 1.52 mm" in labelkit(*fit, "--plate", "steel-disc=1.96").out
