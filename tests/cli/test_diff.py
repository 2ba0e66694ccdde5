"""`labelkit diff`: changes in words, and labels of open jobs that are out of date."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from labelkit.bench.app import create_app
from labelkit.bench.delivery import delivery
from labelkit.calc.openpoints import place_points
from labelkit.calc.record import Record
from labelkit.calc.supply import supply
from labelkit.language import speaking
from labelkit.model.acts import Noted
from labelkit.model.catalogue import NO_CATALOGUE
from labelkit.model.events import Entry
from labelkit.sheets.lookup import Lookup
from labelkit.store.jobs import Store
from tests.bench_app.hands import all_out, person, record, with_pin
from tests.bench_app.workshop import PUMP, SECRET, Shell, code_of, open_job, pump, put_profiles
from tests.shop import demo

START = datetime(2026, 3, 2, 7, 30, tzinfo=UTC)
NEW = PUMP.replace('revision: "3"', 'revision: "4"').replace("name: Selective side plate", "name: Graded side plate")


@pytest.fixture
def labelkit(labelkit: Shell) -> Shell:
    put_profiles(labelkit.folder, old=PUMP, new=NEW)
    return labelkit


@pytest.fixture
def store(tmp_path: Path) -> Store:
    store = Store(str(tmp_path / "labelkit.sqlite"), secret=SECRET)
    open_job(store, pump())
    return store


CHANGED = [
    "P7: revision 3 to 4",
    "steps as they are with Drive ?",
    "names",
    "  step 3 Graded side plate: name: Graded side plate (was Selective side plate)",
    "  unit revision: 4 (was 3)",
]
OUT_OF_DATE = [
    "job 1: labels out of date: step 3",
    "job 1: tray sheets out of date: A; labelkit kit --job 1 --only trays",
]


def test_changes_are_told_without_any_store(labelkit: Shell) -> None:
    """No store is made by looking."""
    said = labelkit("diff", "old.yaml", "new.yaml")

    assert (0, CHANGED, "") == (said.status, said.out.splitlines(), said.err)
    new = (labelkit.folder / "new.yaml").read_text(encoding="utf-8")
    (labelkit.folder / "same.yaml").write_text(new.replace('revision: "4"', 'revision: "3"'), encoding="utf-8")
    told = labelkit("diff", "old.yaml", "same.yaml").out.splitlines()
    assert ["P7: revision 3 in both", "raise the revision"] == [told[0], told[1].split(",")[0]]
    (labelkit.folder / "other.yaml").write_text(new.replace("mark: P7", "mark: P8"), encoding="utf-8")
    told = labelkit("diff", "old.yaml", "other.yaml").out.splitlines()
    words = "P7, revision 3, to P8, revision 4: marks of two units; a job of P7 takes up only what has its mark"
    assert words == told[0]
    assert not (labelkit.folder / "labelkit.sqlite").exists()


def test_open_jobs_tell_which_labels_are_out_of_date(labelkit: Shell, store: Store) -> None:
    """As text and as data; a closed job and one of another unit are not asked."""
    open_job(store, pump(PUMP.replace("mark: P7", "mark: P8")))
    store.close()

    said = labelkit("diff", "old.yaml", "new.yaml")
    data = json.loads(labelkit("diff", "old.yaml", "new.yaml", "--json").out)

    assert [*CHANGED, *OUT_OF_DATE] == said.out.splitlines()
    assert ["names", "names"] == [each["topic"] for each in data["changes"]]
    assert {"Selective side plate"} == {each["was"] for each in data["changes"] if each["part"] == "side-plate"}
    assert data["jobs"] == OUT_OF_DATE


def test_a_job_takes_the_revision_up_with_its_labels(labelkit: Shell, store: Store) -> None:
    """The folder has these labels and no other, on the stock that is named; old labels open the new card; the record
    says who did it."""
    view = Lookup(store).view(1)
    store.update_job(replace(view.job, stocks=replace(view.job.stocks, labels="roll-70x37"), language="de"))

    once = ("--label-stock", "roll-50x30", "--language", "es")  # some labels, and the next kit is as the last was
    said = labelkit("diff", "old.yaml", "new.yaml", "--job", "1", "--by", "A. Fitter", *once, "--out", "again")
    manifest = json.loads((labelkit.folder / "again" / "kit.json").read_text())
    later, found = Lookup(store).find(code_of(view, "side-plate"))
    events = store.journal.events(1)
    store.close()

    assert 0 == said.status, said.err
    printed = {each["step"]: each["label"] for each in manifest["bins"] if each["label"]}
    assert {"3": (50, 30)} == {step: (label["w_mm"], label["h_mm"]) for step, label in printed.items()}
    assert ("4", "Graded side plate") == (later.profile.unit.revision, found.part.name)
    assert (("side-plate",), "de", "roll-70x37") == (later.job.changed, later.job.language, later.job.stocks.labels)
    assert [("A. Fitter", "profile revision 4 taken up instead of 3")] == [(e.who, e.act.note) for e in events]
    assert labelkit("diff", "old.yaml", "new.yaml").out.splitlines() == CHANGED


def test_what_came_keeps_its_number_when_a_revision_changes_it(labelkit: Shell, tmp_path: Path) -> None:
    """A washer that came is held until somebody says whether it does; its order came, and the new number did not.

    Sent back it is the old number that went, and the new one is to be ordered.
    """
    text = demo("marine-gear").source.decode()
    for name, written in (("gear", text), ("later", text.replace("MR3-2118", "MR3-2118B"))):
        (labelkit.folder / f"{name}.yaml").write_text(written, encoding="utf-8")
    store = Store(str(tmp_path / "labelkit.sqlite"), secret=SECRET)
    with_pin(store)
    view = open_job(store, demo("marine-gear"))
    (washer,) = (each for each in view.teardown.bins if each.part.number == "MR3-2118")
    ordered, came = {"kind": "ordered", "number": "MR3-2118", "pieces": 1}, {"kind": "received", "pieces": 1}
    record(store, view, START, *all_out(view), (None, ordered), (washer.step, came))
    record(store, view, START, (None, {"kind": "received", "number": "MR3-2118", "pieces": 2}))

    said = labelkit("diff", "gear.yaml", "later.yaml", "--job", "1", "--by", "A. Fitter", "--out", "again")
    why = "came as MR3-2118, the number is MR3-2118B by now: say whether it still does"
    assert f"job 1: on hold: {washer.full_name}: {why}" in said.out.splitlines(), said.err
    later = Lookup(store).view(1)

    def stands() -> Record:
        return later.record(store.journal.events(1))

    def told() -> tuple[int, int, int, int]:
        (at,) = (each for each in supply(stands()).progress if each.line.number == "MR3-2118B")
        return at.buy, at.came, at.arrivals.former, stands().arrivals_of("MR3-2118").coming(0)

    assert (0, 0, 1, 0) == told()
    assert [why] == [hold.act.why for hold in stands().at(washer.ordinal).holds]  # type: ignore[attr-defined]
    with speaking("de"):
        assert {
            f"{washer.full_name} ist gesperrt von A. Fitter: gekommen als MR3-2118, inzwischen ist die Nummer "
            "MR3-2118B: sagen, ob es noch passt"
        } == {point.text for point in place_points(stands(), stands().at(washer.ordinal)) if point.kind == "hold"}
    assert "    order 0 (need 1, 1 came as MR3-2118)" in labelkit("order", "--job", "1").out.splitlines()
    assert "MR3-2118  in no list: 2 came, at no place" in labelkit("order", "--job", "1").out.splitlines()
    with Store(str(tmp_path / "labelkit.sqlite")) as bench:
        page = person(create_app(bench), "Petra").open("/job/1/parts").text
    assert "came 0 · came as MR3-2118: 1" in page
    assert "Here, and in no list MR3-2118 2 at no place" in page
    for path in ("/job/1", f"/{code_of(later, washer.part.id)}"):
        with Store(str(tmp_path / "labelkit.sqlite")) as bench:
            petra = person(create_app(bench), "Petra")
            petra.client.set_cookie("language", "es")
            page = petra.open(path).text
        assert "llegó como MR3-2118, el número es ahora MR3-2118B: diga si todavía sirve" in page
        assert "say whether" not in page
    back = delivery(stands(), washer.ordinal, {"do": "back", "note": "the old one", "pieces": "1"}, NO_CATALOGUE)
    assert ["MR3-2118"] == [act["number"] for act in back.acts]
    record(store, later, START, (washer.step, back.acts[0]))
    assert (1, 0, 0, 0) == told()
    record(store, later, START, (washer.step, came))
    assert (0, 1, 0, 0) == told()


@pytest.mark.parametrize("gone", ["sent back", "used up"])
def test_what_came_and_is_gone_is_not_on_its_way_under_its_old_number(
    labelkit: Shell, tmp_path: Path, gone: str
) -> None:
    """Nothing of it is here any more, so that nothing is held; the new number is to be ordered. By hand, no source."""
    text = demo("marine-gear").source.decode()
    for name, written in (("gear", text), ("later", text.replace("MR3-2118", "MR3-2118B"))):
        (labelkit.folder / f"{name}.yaml").write_text(written, encoding="utf-8")
    store = Store(str(tmp_path / "labelkit.sqlite"), secret=SECRET)
    view = open_job(store, demo("marine-gear"))
    (washer,) = (each for each in view.teardown.bins if each.part.number == "MR3-2118")
    back = {"kind": "returned", "number": "MR3-2118", "pieces": 1, "counted": 1, "why": "bent"}
    acts = {
        "sent back": ({"kind": "received", "pieces": 1}, back),
        "used up": ({"kind": "installed", "new": True, "source": "order"}, {"kind": "removed", "count": 1}),
    }[gone]
    record(store, view, START, *all_out(view), (None, {"kind": "ordered", "number": "MR3-2118", "pieces": 1}))
    record(store, view, START, *((washer.step, act) for act in acts))

    said = labelkit("diff", "gear.yaml", "later.yaml", "--job", "1", "--by", "A. Fitter", "--out", "again")
    stands = Lookup(store).view(1).record(store.journal.events(1))

    assert "on hold" not in said.out
    assert 0 == stands.arrivals_of("MR3-2118").coming(0)
    (at,) = (each for each in supply(stands).progress if each.line.number == "MR3-2118B")
    assert (1, 0) == (at.buy, at.coming)


def test_steps_are_those_on_the_labels_of_the_job(labelkit: Shell, store: Store) -> None:
    """An option that the job has chosen moves them; without a job they are those of the options as by default."""
    (labelkit.folder / "plug.yaml").write_text(PUMP.replace("Plug M10", "Plug M12"), encoding="utf-8")
    number = open_job(store, pump(), options={"drive": "splined"}).job.number
    store.close()

    alone = labelkit("diff", "old.yaml", "plug.yaml").out
    of_job = labelkit("diff", "old.yaml", "plug.yaml", "--job", str(number), "--by", "A. Fitter", "--out", "again").out

    assert "steps as they are with Drive ?\nnames\n  step 7 Plug M12: " in alone
    assert "steps as they are with Splined shaft\nnames\n  step 6 Plug M12: " in of_job


SEAL = "name: Radial shaft seal 25 x 40 x 7"


@pytest.mark.parametrize(
    ("acts", "out_of_date"),
    [
        ((), ["labels out of date: step 2.1", "stickers out of date: step 2.1"]),
        (({"kind": "removed", "count": 1},), ["labels out of date: step 2.1", "stickers out of date: step 2.1"]),
        (
            ({"kind": "removed", "count": 1}, {"kind": "staged", "pieces": 1}),
            ["no label is out of date", "stickers out of date: step 2.1"],
        ),
        (
            ({"kind": "removed", "count": 1}, {"kind": "installed", "new": True}),
            ["no label is out of date", "stickers out of date: step 2.1"],
        ),
    ],
    ids=["not out", "out", "the new one lies ready", "the new one is in"],
)
def test_a_sticker_is_out_of_date_with_its_part_and_a_retired_label_is_not(
    labelkit: Shell, store: Store, acts: tuple[dict[str, object], ...], out_of_date: list[str]
) -> None:
    """The name stands on both; the label counts no more once the new part lies ready. What is told is printed."""
    (labelkit.folder / "seal.yaml").write_text(PUMP.replace(SEAL, "name: Oil seal 25 x 40 x 7"), encoding="utf-8")
    record(store, Lookup(store).view(1), datetime.now(UTC), *(("2.1", act) for act in acts))
    store.close()
    told = [f"job 1: {words}" for words in out_of_date]

    looked = labelkit("diff", "old.yaml", "seal.yaml").out
    taken = labelkit("diff", "old.yaml", "seal.yaml", "--job", "1", "--by", "A. Fitter", "--out", "again").out

    assert told == [line for line in looked.splitlines() if "date" in line and "tray" not in line]
    assert "\n".join(told) in taken
    manifest = json.loads((labelkit.folder / "again" / "kit.json").read_text())
    assert ["2.1"] == [each["step"] for each in manifest["stickers"]]
    assert ["2.1"] * ("labels" in out_of_date[0]) == [each["step"] for each in manifest["bins"] if each["label"]]
    there = {path.name for path in (labelkit.folder / "again").iterdir()}
    assert {"stickers.pdf", "kit.json"} == there - {"labels.pdf"}


def test_a_number_is_on_the_sticker_only(labelkit: Shell, store: Store) -> None:
    """Another order number leaves every label as it is; that of a part which must not be new is on no sticker."""
    numbered = PUMP.replace(SEAL, f"{SEAL}\n        number: P7-99").replace("number: P7-01", "number: P7-02")
    (labelkit.folder / "number.yaml").write_text(numbered, encoding="utf-8")
    store.close()

    told = labelkit("diff", "old.yaml", "number.yaml").out.splitlines()

    assert ["job 1: no label is out of date", "job 1: stickers out of date: step 2.1"] == told[-2:]


def test_parts_keep_their_order_once_the_record_speaks_of_one(labelkit: Shell, store: Store) -> None:
    """An entry that speaks of none, as that a revision was taken up, leaves them free."""
    more = NEW.replace("  - {id: plug,", "  - {id: cap, name: Cap M10}\n  - {id: plug,")
    (labelkit.folder / "more.yaml").write_text(more, encoding="utf-8")
    for job, place in ((1, None), (open_job(store, pump()).job.number, 0)):
        store.journal.append(job, [Entry(Noted(note="x"), "Ana", datetime.now(UTC), "token-000001", place)])
    store.close()

    told = labelkit("diff", "old.yaml", "more.yaml").out
    refused = labelkit("diff", "old.yaml", "more.yaml", "--job", "2", "--by", "A. Fitter", "--out", "again").err

    assert "job 1: labels out of date" in told
    assert "job 2 keeps its revision: the record of job 2 speaks of parts" in told
    assert "another order from plug on" in refused


def test_a_revision_that_cannot_be_taken_up_leaves_all_as_it_was(labelkit: Shell, store: Store) -> None:
    """Neither the job nor the folder is touched."""
    before = store.job(1)
    (labelkit.folder / "other.yaml").write_text(NEW.replace("mark: P7", "mark: P8"))

    said = labelkit("diff", "old.yaml", "other.yaml", "--job", "1", "--by", "A. Fitter", "--out", "again")

    assert (2, "", False) == (said.status, said.out, (labelkit.folder / "again").exists())
    assert "job 1 is a P7, other.yaml is of P8" in said.err
    assert before == store.job(1)
    store.close()


def test_what_a_job_really_had_is_what_its_labels_are_compared_with(labelkit: Shell, store: Store) -> None:
    """Between OLD and NEW nothing may be changed, and the labels of the job be out of date all the same."""
    store.close()

    said = labelkit("diff", "new.yaml", "new.yaml", "--job", "1", "--by", "A. Fitter", "--out", "again")

    assert [
        "P7: revision 4 in both",
        "nothing is changed",
        "job 1 had another profile than new.yaml; its labels are compared with its own",
        "job 1: labels out of date: step 3",
    ] == said.out.splitlines()[:4]


def test_a_profile_that_says_the_same_is_not_taken_up(labelkit: Shell, store: Store) -> None:
    """A comment is no revision: nothing is recorded, nothing is printed, and the job did not have another profile."""
    (labelkit.folder / "same.yaml").write_text("# copied\n" + PUMP, encoding="utf-8")

    said = labelkit("diff", "same.yaml", "same.yaml", "--job", "1", "--by", "A. Fitter", "--out", "again")

    assert ["job 1: nothing is taken up, its profile says the same"] == said.out.splitlines()[2:]
    assert ((), False) == (store.journal.events(1), (labelkit.folder / "again").exists())
    store.close()


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--job", "1"), "--job 1: name who lets it, with --by, and the folder for its labels, with --out"),
        (("--out", "again"), "--by and --out are of the job that takes the revision up; add --job N"),
        (("--job", "9", "--by", "A", "--out", "again"), "job 9 is not in the store"),
    ],
)
def test_what_goes_together_is_told(labelkit: Shell, store: Store, words: tuple[str, ...], message: str) -> None:
    """In one line, with what is missing."""
    store.close()

    said = labelkit("diff", "old.yaml", "new.yaml", *words)

    assert said.status != 0
    assert message in said.err
