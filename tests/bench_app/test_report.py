"""The report of a job: what the record holds, and the same on the page and in the PDF.

The PDF is read back with pypdfium2, which shares no code with what wrote it.
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path

import pypdfium2
import pytest

from labelkit.bench.app import create_app
from labelkit.model.events import Entry
from labelkit.sheets.jobreport import Report, job_report
from labelkit.sheets.lookup import Lookup
from labelkit.store.jobs import Store
from tests.bench_app.hands import Page, Person, person, with_pin
from tests.bench_app.workshop import open_job
from tests.shop import demo, profile_of
from tests.walk import START, Walk

BREATHER = {"breather": "std"}
PICTURE = b"as the store keeps it"


def told(moment: datetime) -> str:
    return f"{moment:%H:%M} UTC"


@pytest.fixture(scope="module")
def walk() -> Walk:
    """A rebuild that went wrong in most ways: held, condemned, out of limits, corrected, overridden, not signed."""
    walk = Walk("planetary-reducer", BREATHER)
    read = {"fit": "carrier-end-play", "unit": "mm"}
    walk.do("reading", at="before", values=["0.55", "0.56", "0.54"], verdict="ok", cold=True, tool="DI-07", **read)
    walk.take_apart()
    held = walk.do("hold", "brake-hub", why="inspector looks at the splines")
    walk.do("released", "brake-hub", of=held.number, why="looked at: good", who="Olga")
    walk.do("hold", "sun-2", why="waits for the owner")
    walk.do("condemned", "thrust-needles", why="pitted rollers")
    walk.do("reading", "input-cover", check=0, at="clean", values=["0.35"], unit="mm")
    walk.do("reading", "friction-disc", check=0, at="clean", values=["2.50", "2.44"], unit="mm")
    walk.do("reading", "carrier-1", check=0, at="removal", values=["0.35", "0.40", "0.70"], unit="mm")
    walk.do("reading", at="before", values=["1.56210", "1.56464"], fit="brake-stroke", unit="mm")
    walk.do("deviation", "input-cover", what="pockets worn", reason="overhaul next year", agreed="J. Owner")
    slip = walk.do("side_seen", "brake-hub", up="long hub")
    walk.do("correction", of=slip.number, why="it was the other way")
    walk.do("reading", at="apart", values=["0.58", "0.60", "0.59"], fitted=["2.60"], verdict="ok", **read)
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.75"], predicted="0.41")
    unlike = "outside diameter 141 mm, the profile has 140 mm: 1 mm larger"
    seal, note = "output-seal-flange", f"{unlike}; from old stock"
    walk.do("received", seal, pieces=1, measured="id 109 mm", note="inside diameter 109 mm, too tight")
    walk.do("returned", seal, pieces=1, counted=1, why="too tight")
    walk.do("received", seal, pieces=1, measured="od 141 mm; id 110 mm", note=note)
    walk.do("installed", seal, new=True)
    walk.do("received", "thrust-needles", pieces=1)
    walk.do("returned", "thrust-needles", pieces=1, why="cage of brass")
    walk.put_in("thrust-needles", new=True)
    walk.do("side_seen", "tab-washer", up="stamped side")
    walk.do("side_seen", "tab-washer", clock="7")
    walk.do("inspected", "brake-hub", verdict="replace", note="serial number P-8")
    walk.do("received", "brake-hub", pieces=1, note="serial number P-9")
    walk.do("installed", "brake-hub", new=True)
    walk.do("side_seen", "oil-plugs", up="EITHER WAY", clock="FREE")
    walk.do("side_seen", "oil-guide-ring", up="COLLAR UP", clock="9 o'clock")
    walk.do("side_seen", "ring-housing", up="64-tooth end", clock="12")
    walk.do("side_seen", "ring-housing", up="75-tooth end", clock="12", who="Bo")
    walk.do("installed", "tab-washer")
    walk.do("installed", "carrier-bolt")
    walk.do("torque_signed", "carrier-bolt", torque="210", wrench="TW-3", oiled=False)
    walk.do("installed", "through-bolts", new=True)
    walk.do("torque_signed", "through-bolts", torque="30", share="0.5", who="Bo")
    walk.do("inspected", "sun-2", verdict="reuse", note="serial number P-77")
    walk.do("inspected", "brake-housing", check=1, verdict="repair", note="blow it out")
    walk.do("inspected", "sun-1-21", check=3, verdict="reuse")
    for rise, verdict in (("1.2", "out"), ("1.62", "ok")):
        walk.do("reading", "brake-port", check=1, at="assembled", values=[rise], unit="mm", verdict=verdict)
    for part in ("input-cover", "input-cover", None):
        walk.do("photo", part, sha256=sha256(PICTURE).hexdigest())
    walk.do("reading", at="assembled", values=["1.41", "1.42", "1.40"], verdict="out", **read)
    trials = {"values": ["1.6", "6.0"], "unit": "N·m", "note": "trials 5.30 mm: 1.6 N·m, 5.20 mm: 6.0 N·m"}
    walk.do("reading", fit="output-preload", at="apart", **trials)
    walk.do("received", "end-play-washer", pieces=1, measured="t 2.75 mm")
    walk.do("staged", "end-play-washer", pieces=1, note="serial number K 7")
    walk.do("installed", "end-play-washer", new=True, sizes=["2.75"])
    refusal = {"reason": "trial fit", "agreed": "Olga", "refusal": "Not yet the ring-gear housing"}
    walk.do("installed", "ring-housing", override=refusal)
    return walk


@pytest.fixture(scope="module")
def report(walk: Walk) -> Report:
    return job_report(walk.view, walk.record, told)


@pytest.fixture
def ann(store: Store, walk: Walk) -> Person:
    open_job(store, demo("planetary-reducer"), options=BREATHER)
    with_pin(store)
    store.journal.keep_picture(PICTURE)
    store.journal.append(1, [Entry(e.act, e.who, e.when, e.token, e.place) for e in walk.events])
    return person(create_app(store, clock=lambda: START + timedelta(hours=9)))


def row(report: Report, title: str, *words: str) -> list[str]:
    """Return the one row of a table that has all of these words, each of its texts on one line."""
    table = next(table for table in report.tables if table.title.startswith(title))
    found = [cells for cells in table.rows if all(any(word in cell for cell in cells) for word in words)]
    assert len(found) == 1, (title, words, table.rows)
    return [" | ".join(cell.split("\n")) for cell in found[0]]


def test_readings_stand_before_and_after_with_what_was_chosen(report: Report) -> None:
    """All of one fit in one row: before, dry, chosen and predicted, after, and what the difference looks like."""
    _, what, limits, before, chosen, after, judged = row(report, "Readings", "carrier end play")

    assert ("carrier end play | end play", "0.30 to 0.60 mm") == (what, limits.split(" | ")[0])
    assert "0.55 0.56 0.54 mm = 0.55 mm | cold, DI-07 | Ana, 07:31 UTC" in before
    assert "dry fit: 0.58 0.60 0.59 mm = 0.59 mm | with 2.60 mm" in before
    assert chosen.startswith("2.75 mm | predicted 0.41 mm | Ana")
    assert after.startswith("1.41 1.42 1.40 mm = 1.41 mm | Ana")
    assert judged.startswith("OUT of limits | ")
    assert "difference +1.00 mm" in judged
    assert "not read" in row(report, "Readings", "brake stroke")[-1]


def test_trials_with_two_spacers_have_no_mean(report: Report) -> None:
    """Each torque is that of a spacer of its own: 3.8 N·m was read by nobody."""
    before = row(report, "Readings", "output preload")[3]

    assert before.startswith(
        "not read as it was found | dry fit: 1.6 6.0 N·m | trials 5.30 mm: 1.6 N·m, 5.20 mm: 6.0 N·m | Ana"
    )


def test_new_parts_say_their_measured_size_and_serial_number(report: Report) -> None:
    """What went in, as it was measured and marked."""
    washer = row(report, "What is replaced", "2.75 mm", "serial K 7")

    assert "new | thickness 2.75 mm | serial K 7" == washer[-1]


def test_a_new_part_that_measures_otherwise_stands_with_its_figure(report: Report) -> None:
    """Taken all the same: where it is said what is in, and among the deviations with who took it; what went back is
    not in."""
    unlike = "outside diameter 141 mm, the profile has 140 mm: 1 mm larger"

    assert f"new | inside diameter 110 mm | {unlike}" == row(report, "What is replaced", unlike)[-1]
    _, _, what, why, agreed, _ = row(report, "Deviations", unlike)
    assert f"1 new came, measured inside diameter 110 mm; {unlike}; from old stock" in what
    assert ("It is the right part all the same", "Ana") == (why, agreed)


def test_readings_in_inches_are_told_as_finely_as_a_gauge_reads(report: Report) -> None:
    """0.0615 and 0.0616 in are 1.56210 and 1.56464 mm (NIST SP 811: 25.4 mm to the inch), which nobody reads so."""
    assert row(report, "Readings", "brake stroke")[3].startswith("1.5621 1.5646 mm = 1.5634 mm")


def test_figures_of_several_pieces_have_no_mean(report: Report) -> None:
    """Of shims it would be one more size, and a wrong one for their stack."""
    assert "clean: 2.50 2.44 mm | Ana" in " ".join(row(report, "Readings", "Friction disc", "2.44"))
    assert "2 of 15 read" == row(report, "Readings", "Friction disc", "2.44")[-1], "not OK before all are read"


def test_a_point_at_each_of_several_pieces_of_one_part_has_no_mean(report: Report) -> None:
    """Of three planets one is out at 0.70 where 0.60 is allowed (the profile's limit): 0.48 mm would hide it."""
    before, judged = (row(report, "Readings", "end play at each planet", "0.35")[cell] for cell in (3, -1))

    assert before.startswith("at removal: 0.35 0.40 0.70 mm | Ana")
    assert "OUT of limits" == judged


def test_a_reading_out_of_limits_says_what_was_decided(report: Report) -> None:
    """0.35 where at most 0.30 is allowed, agreed as a deviation."""
    assert row(report, "Readings", "wear of the spring pockets")[2].startswith("at most 0.30 mm")
    assert row(report, "Readings", "wear of the spring pockets")[-1] == "OUT of limits | agreed, see deviations"
    rise = row(report, "Readings", "rise of the piston")
    assert (1, "OK") == (rise[5].count("OUT of limits"), rise[-1]), "of two the one that was read again"


def test_what_is_replaced_says_why_and_whether_it_is_in(report: Report, walk: Walk) -> None:
    """Condemned and new; always renewed and the old one in; pulled by another part and not in."""
    needles = row(report, "What is replaced", "pitted rollers")
    assert needles[2:4] == ["1", walk.bin("thrust-needles").part.number]
    assert needles[4].startswith("pitted rollers (Ana, ")
    assert "1 new sent back: cage of brass (Ana, " in needles[4]
    assert needles[5] == "new"
    assert row(report, "What is replaced", "Tab washer")[4:] == ["always renewed", "THE OLD PART IS IN"]
    assert row(report, "What is replaced", "Thrust race")[4].startswith("renewed with Thrust needle cage")
    assert row(report, "What is replaced", "Thrust race")[5] == "not in"


def test_what_lies_ready_or_went_back_is_named_while_the_old_one_is_in() -> None:
    """Nothing is out yet: the seal that lies ready and the ring that was wrong are named, the ring to come is not."""
    part = "  - {{id: {0}, name: {0}, number: S-{1}, renew: always}}\n"
    parts = "".join(part.format(name, number) for number, name in enumerate(("seal", "ring", "band")))
    walk = Walk(profile_of(f'format: 1\nunit: {{mark: S1, name: Box, revision: "1", up: top}}\nparts:\n{parts}'))
    walk.do("staged", "seal", pieces=1)
    walk.do("returned", "ring", pieces=1, number="S-1", why="10 mm too small")

    (rows,) = (each.rows for each in job_report(walk.view, walk.record, told).tables if "replaced" in each.title)

    assert [("seal", "1", "ready, not in"), ("ring", "1", "not in")] == [(row[1], row[2], row[5]) for row in rows]
    assert "10 mm too small" in rows[1][4]


def test_the_number_of_a_graded_part_that_came_before_anything_was_chosen_is_that_of_its_size() -> None:
    walk = Walk("planetary-reducer", BREATHER)
    walk.take_apart()
    walk.do("condemned", "end-play-washer", why="scored")
    walk.do("received", "end-play-washer", pieces=1, measured="t 2.90 mm")
    assert "G2B-1337 2.90 mm" == row(job_report(walk.view, walk.record, told), "What is replaced", "Selective")[3]


@pytest.mark.parametrize(
    ("sizes", "number"),
    [
        (["2.75"], "G2B-1336 2.75 mm"),
        (["2.60", "2.61", "2.60"], "G2B-1335 2.60 mm"),
        (["2.68"], "NOT RECORDED"),
        ([], "G2B-1337 2.90 mm"),
    ],
)
def test_the_number_of_a_graded_part_is_that_of_what_is_in(sizes: list[str], number: str) -> None:
    """2.60 was chosen: what is in has the number of its own size in the profile's series, or none where there is no
    such size; without a figure it is what measured 2.90 as it came."""
    walk = Walk("planetary-reducer", BREATHER)
    walk.take_apart()
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.60"], predicted="0.49")
    assert "G2B-1335 2.60 mm" == row(job_report(walk.view, walk.record, told), "What is replaced", "Selective")[3]
    walk.do("received", "end-play-washer", pieces=1, measured="t 2.90 mm")
    walk.do("installed", "end-play-washer", new=True, sizes=sizes)

    assert number == row(job_report(walk.view, walk.record, told), "What is replaced", "Selective thrust washer")[3]


def test_deviations_and_overrides_name_reason_and_consent(report: Report) -> None:
    """What a person agreed to, and what was done although the gate refused."""
    assert row(report, "Deviations", "pockets worn")[3:5] == ["overhaul next year", "J. Owner"]
    done = row(report, "Deviations", "trial fit")
    assert "although: Not yet the ring-gear housing" in done[2]
    assert done[3:5] == ["trial fit", "Olga"]


def test_holds_say_whether_they_are_over(report: Report) -> None:
    """One released by another person, one still on."""
    assert row(report, "Holds", "inspector looks")[4].startswith("looked at: good | Olga")
    assert row(report, "Holds", "waits for the owner")[4] == "STILL HELD"


def test_torques_that_are_not_signed_are_listed(report: Report) -> None:
    """What was signed with which wrench, and what is wanted and was not."""
    signed = row(report, "Torques", "Carrier bolt")
    assert signed[2:5] == ["210 N·m", "210 N·m", "TW-3 | dry"]
    assert row(report, "Torques", "Input-cover screw", "125 N·m")[3] == "NOT SIGNED"
    passes = [cells[2:4] for table in report.tables for cells in table.rows if "Through bolt" in cells[1]][-3:]
    assert [("50 %: 30 N·m", "50 %: 30 N·m"), ("60 N·m", "NOT SIGNED"), ("90° further", "NOT SIGNED")] == passes


def test_a_point_without_a_figure_says_what_was_found(report: Report) -> None:
    """A look has no reading: the verdict, by whom; one that was measured stands with the readings."""
    found = row(report, "Looked at", "oil feed hole open")
    assert ("to be repaired | blow it out", "Ana, ") == (found[3], found[4][:5])
    assert "OK" == row(report, "Looked at", "turned by hand")[3], "it goes in no more"
    assert "seen: stamped side up, at 7" == row(report, "Looked at", "Which way it sat: not recorded")[3], (
        "the profile does not say it"
    )


def test_what_was_seen_otherwise_stands_beside_what_was_seen_since(report: Report) -> None:
    """How the unit was found is not lost when it is put right; what agrees with the profile from the first is none."""
    found = [row(report, "Looked at", "64-tooth end"), row(report, "Looked at", "seen: 75-tooth end up")]

    assert ["Which way it sat: the profile says 75-TOOTH END UP"] * 2 == [cells[2] for cells in found]
    assert ["seen: 64-tooth end up, at 12", "seen: 75-tooth end up, at 12"] == [cells[3] for cells in found]
    assert ["Ana", "Bo"] == [cells[4].partition(",")[0] for cells in found]
    assert not any("COLLAR" in cell for table in report.tables for cells in table.rows for cell in cells)


def test_the_reason_of_a_verdict_on_a_point_is_told() -> None:
    """What was typed with it; without a word, which point it was; a repair of what was measured says how, too."""
    walk = Walk("planetary-reducer", BREATHER)
    walk.do("inspected", "input-bearing", check=0, verdict="replace", note="rough at one place")
    walk.do("inspected", "brake-piston", check=0, verdict="replace")
    walk.do("inspected", "sun-1-21", check=0, verdict="reuse", note="21 teeth")
    walk.do("reading", "input-cover", check=1, at="clean", values=["0.08"], unit="mm", verdict="out")
    walk.do("inspected", "input-cover", check=1, verdict="repair", note="dressed on the plate")

    report = job_report(walk.view, walk.record, told)

    assert "rough at one place (Ana, 07:31 UTC)" == row(report, "What is replaced", "G2B-1211")[4]
    assert "seal lands, by eye and fingernail" in row(report, "What is replaced", "Brake piston")[4]
    assert "good, goes in again | 21 teeth" == row(report, "Looked at", "21 teeth counted")[3]
    assert "OUT of limits | repaired | dressed on the plate" == row(report, "Readings", "flatness")[-1]


def test_the_report_says_of_what_is_in_and_not_of_what_is_gone() -> None:
    """The play that the washer makes that is in, as the page of fits has it; and nothing good of it goes in again."""
    walk = Walk("planetary-reducer", BREATHER)
    walk.take_apart()
    walk.do("inspected", "friction-disc", check=2, verdict="reuse")
    assert "good, goes in again" == row(job_report(walk.view, walk.record, told), "Looked at", "lining bonded")[3]
    walk.do("condemned", "friction-disc", why="worn")
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.60"], predicted="0.433")
    walk.do("installed", "end-play-washer", new=True, sizes=["2.61"])

    report = job_report(walk.view, walk.record, told)

    assert "OK" == row(report, "Looked at", "lining bonded")[3]
    assert "2.60 mm | predicted 0.423 mm | " in row(report, "Readings", "carrier end play")[4]


def test_the_marks_of_old_parts_are_kept(report: Report, walk: Walk) -> None:
    """By which a matched pair is known again; of what is renewed it is that of the new part."""
    sun, hub = walk.bin("sun-2").full_name, walk.bin("brake-hub").full_name
    assert f"{hub}: P-9 (the old part had P-8); {sun}: P-77" == dict(report.facts)["Marks"]


def test_photos_are_counted_by_step(report: Report, walk: Walk) -> None:
    """Three were kept: two of one bin, one of the job."""
    assert dict(report.facts)["Photos"] == f"3 kept; by step: {walk.bin('input-cover').step} (2), job (1)"


def test_what_was_taken_back_stays_visible(report: Report) -> None:
    """The event that does not count, who took it back and why."""
    taken = row(report, "What was taken back", "long hub")
    assert "it was the other way" == taken[3]


def test_an_unsigned_job_says_so_and_lists_what_is_open(report: Report) -> None:
    """As many points as are listed; the race that is missing among them."""
    assert not report.signer
    assert f"NOT SIGNED: {len(report.points)} points are open" in report.signature[0]
    assert any("is one Thrust race 50 x 70 x 1: is it missing?" in point for point in report.points)


def test_a_signature_is_told_with_what_it_says() -> None:
    """Statement, who and when; an override of it is not hidden, nor what is open all the same."""
    walk = Walk("planetary-reducer", BREATHER)
    refusal = {"reason": "owner takes it as it is", "agreed": "J. Owner", "refusal": "NO: 60 points open"}
    walk.do("signature", statement="Everything is in.", override=refusal)

    report = job_report(walk.view, walk.record, told)

    assert "Ana" == report.signer
    assert ("Everything is in.", "Signed: Ana, 07:31 UTC") == (report.signature[0], report.signature[-1])
    assert "NO: 60 points open" in report.signature[1]
    assert any("nobody recorded that it came out" in point for point in report.points)
    assert row(report, "Deviations", "owner takes it")[4] == "J. Owner"
    walk.do("closed")
    walk.do("reopened", why="seal leaks", who="Olga")
    again = job_report(walk.view, walk.record, told)
    assert not again.signer
    assert () == next(table.rows for table in again.tables if table.title.startswith("Deviations")), "it is taken back"
    assert ["Olga", "seal leaks"] == [
        cell.split(",")[0] for cell in row(again, "What was taken back", "Everything is in")[2:]
    ]


def test_the_page_and_the_pdf_say_the_same(ann: Person, store: Store, walk: Walk) -> None:
    """Every line of the report stands on the page, and every one of its words in the PDF, in the same order."""
    expected = job_report(Lookup(store).view(1), walk.record)
    page = ann.open("/job/1/report")
    answer = ann.client.get("/job/1/report.pdf")
    document = pypdfium2.PdfDocument(answer.data)
    printed = " ".join(" ".join(document[k].get_textpage().get_text_bounded() for k in range(len(document))).split())

    lines = [*expected.signature, *expected.points, *(text for _, text in expected.facts)]
    lines += [line for table in expected.tables for cells in table.rows for text in cells for line in text.split("\n")]
    assert len(lines) > 300
    assert "application/pdf" == answer.mimetype
    for line in lines:
        assert " ".join(line.split()) in page.text
    missing = {word for line in lines for word in re.findall(r"\S+", line) if word not in printed}
    assert missing == set()
    for table in expected.tables:
        assert table.title in page.text
        assert table.title in printed


def test_the_report_needs_a_sign_in_and_a_job(ann: Person, store: Store) -> None:
    """Nobody reads it without one; a job or paper that is not there is told."""
    stranger = create_app(store).test_client()

    for path in ("/job/1/report", "/job/1/report.pdf"):
        assert stranger.get(path).location.startswith("/sign-in")
    assert ann.client.get("/job/99/report.pdf").status_code == 404
    wrong = ann.client.get("/job/1/report.pdf?paper=a5")
    assert wrong.status_code in (400, 404)
    assert "a5" in Page(wrong.text).text


def test_a_page_opens_no_file_that_is_named_to_it(ann: Person, tmp_path: Path) -> None:
    """A path instead of the name of a paper is refused, whether a file is there or not."""
    there = tmp_path / "a4.yaml"
    there.write_text("format: 1\nstock: {a4: {kind: paper, size: [210, 297]}}\n")

    for path in (there, tmp_path / "a5.yaml"):
        refused = ann.client.get(f"/job/1/report.pdf?paper={path}")
        assert refused.status_code == 404
        assert "allowed: a name, and no path" in Page(refused.text).text


def test_deviations_of_pieces_that_went_out_are_told_apart() -> None:
    """The worn cover was agreed on, then it was replaced all the same: what is in does not deviate."""
    walk = Walk("planetary-reducer", BREATHER)
    walk.take_apart()
    walk.do("deviation", "input-cover", what="pockets worn", reason="overhaul next year", agreed="J. Owner")
    before = [table.title for table in job_report(walk.view, walk.record, told).tables if table.title[:4] == "Devi"]
    walk.do("condemned", "input-cover", why="cracked")
    staying, gone = [t for t in job_report(walk.view, walk.record, told).tables if t.title[:4] == "Devi"]

    assert before == ["Deviations from the profile"]
    assert (staying.rows, gone.title) == ((), "Deviations of pieces that went out since")
    assert "pockets worn" in gone.rows[0]


def test_what_came_after_a_signature_stands_beside_it() -> None:
    """The report says before what it was signed."""
    walk = Walk("planetary-reducer", BREATHER)
    walk.do("signature", statement="all is in")
    walk.do("reading", fit="carrier-end-play", at="before", values=["0.55"], unit="mm", who="Ben")

    assert job_report(walk.view, walk.record, told).signature[-1] == (
        "Signed before event 2: carrier end play: 0.55 mm (Ben, 07:32 UTC)"
    )


def test_two_sizes_of_a_stack_are_told_each_for_itself() -> None:
    """How many of which number, what each measured, and whether it is in; the numbers are those of the profile."""
    walk = Walk("marine-gear", {"pto": "none"})
    walk.take_apart()
    walk.do("fit_chosen", fit="ahead-end-play", sizes=["0.30", "0.30", "0.15"], unit="mm")

    def rows() -> list[tuple[str, ...]]:
        found = job_report(walk.view, walk.record, told).tables
        (table,) = (each for each in found if each.title.startswith("What is replaced"))
        step = walk.bin("ahead-shims").step
        return [(each[2], each[3], each[5]) for each in table.rows if each[0] == step]

    walk.do("staged", "ahead-shims", pieces=2, measured="t 0.30 0.30 mm")
    assert [("2", "MR3-2304 0.30 mm", "ready, not in"), ("1", "MR3-2302 0.15 mm", "not in")] == rows()
    walk.do("installed", "ahead-shims", new=True, pieces=3, sizes=["0.30", "0.31", "0.15"])
    assert [
        ("2", "MR3-2304 0.30 mm", "new\n0.30 + 0.31 mm"),
        ("1", "MR3-2302 0.15 mm", "new\n0.15 mm"),
    ] == rows()
