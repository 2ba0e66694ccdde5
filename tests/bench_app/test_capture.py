"""A unit without a profile, captured part by part at the bench: it becomes a profile, a job and its labels."""

from __future__ import annotations

import io
import json
import re
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pypdfium2
import pytest
from flask import Flask
from PIL import Image
from werkzeug.test import TestResponse

from labelkit.bench.app import create_app
from labelkit.bench.capturetree import unit_of
from labelkit.load.archive import unpack
from labelkit.load.profile import load_profile, parse_profile
from labelkit.model.events import act_data
from labelkit.proof.decode import read_symbols
from labelkit.proof.raster import pictures_of
from labelkit.store.jobs import Store
from tests.bench_app.hands import Page, Person, person, with_pin
from tests.bench_app.workshop import Shell, open_job, pump
from tests.kitchecks import kit_faults
from tests.shop import view_of

UNIT = {"mark": "kx1", "name": "Two-stage reducer", "up": "input side", "clock_from": "above"}
# Invented: thirty parts as somebody may tell them, in mm and inch, with a comma, and with much that was not looked at.
THIRTY: list[tuple[str, str, dict[str, str]]] = [
    ("Cover bolt M8 x 30", "bolt", {"qty": "6", "way": "up", "clock": "free", "on": "next"}),
    ("Cover", "hub", {"size-od": "120", "size-h": "30,5", "size-bore": "40", "way": "down", "clock": "6:00"}),
    ("Thrust washer", "ring", {"size-od": "72,1", "size-id": "50", "size-t": "0.104 in", "way": "free", "on": "2"}),
    ("Shim", "ring", {"size-od": "2 in", "size-id": "1 1/2 in", "size-t": "3/32 in", "face": "marked side"}),
    ("Lip seal 40 x 62 x 8", "lip_seal", {"way": "down", "along": "4"}),
    ("Snap ring", "snap_ring", {"size-fits": "bore", "size-d": "62", "size-t": "2", "way": "up"}),
    ("Sun gear", "gear", {"size-teeth": "24", "size-module": "2", "size-width": "30", "size-bore": "20"}),
    ("Shaft", "shaft", {"size-steps": "20 x 30; 30 x 55"}),
    ("Needles", "none", {"qty": "other", "qty_other": "24", "clock": "other", "clock_other": "6:30"}),
    ("Planet carrier", "carrier", {"size-od": "168", "remark": "one pin is blue"}),
    ("Friction plate", "friction_plate", {"size-od": "80", "size-id": "55", "size-t": "2", "size-teeth": "30"}),
    *[("Friction plate", "friction_plate", {"same": str(n), "on": "next"}) for n in range(11, 20)],
    *[("Dowel 6 x 18", "pin", {"way": "any", "on": "next"})] * 10,
]
TWELVE = [*THIRTY[:11], THIRTY[20]]


@pytest.fixture
def app(store: Store) -> Flask:
    with_pin(store)
    return create_app(store)


@pytest.fixture
def ann(app: Flask) -> Person:
    return person(app)


@pytest.fixture
def shell(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Shell:
    """The terminal of the same shop."""
    monkeypatch.setenv("LABELKIT_STORE", str(tmp_path / "shop.sqlite"))
    return Shell(tmp_path, monkeypatch, capsys)


def started(ann: Person, **more: str) -> Page:
    page = ann.open("/capture")
    answer = post(ann, page, "start", UNIT | more)
    assert 303 == answer.status_code, Page(answer.text).text
    return ann.open(answer.location)


def post(who: Person, page: Page, name: str, typed: Mapping[str, object]) -> TestResponse:
    """Send a form as it is on the page with what is typed."""
    form = page.form(name)
    return who.client.post(form.action, data={**dict(form.fields), **typed}, content_type="multipart/form-data")


def tell(who: Person, name: str, kind: str = "none", *, where: str = "", **typed: object) -> Page:
    page = who.open(f"/capture/1/next?name={name.replace(' ', '+')}&kind={kind}{where}")
    answer = post(who, page, "part", typed)
    assert 303 == answer.status_code, Page(answer.text).text
    return who.open(answer.location)


def act(who: Person, part: int, way: str, **typed: str) -> Page:
    page = who.open(f"/capture/1/part/{part}")
    form = next(form for form in page.forms if form.action.endswith(f"/{way}"))
    answer = who.client.post(form.action, data={**dict(form.fields), **typed})
    assert answer.status_code in (303, 422)
    return who.open(answer.location) if answer.status_code == 303 else Page(answer.text)


def step(who: Person, way: str) -> Page:
    page = who.open("/capture/1")
    form = next(form for form in page.forms if form.action.endswith(f"/{way}"))
    return who.open(who.client.post(form.action, data=dict(form.fields)).location)


def listed(store: Store) -> dict[int, tuple[str, str]]:
    """Return step and name of every part of job 1 by the number it was captured under."""
    unit = unit_of(store.drafts.current(1).body)
    return {part.number: (step, part.name) for step, part in unit.walk()}


def finish(who: Person) -> Page:
    page = who.open("/capture/1/end")
    form = next(form for form in page.forms if form.action.endswith("/done"))
    return who.open(who.client.post(form.action, data=dict(form.fields)).location)


def photo(colour: str) -> tuple[io.BytesIO, str]:
    written = io.BytesIO()
    Image.new("RGB", (60, 40), colour).save(written, "PNG")
    return io.BytesIO(written.getvalue()), f"{colour}.png"


def code_of(who: Person, part: int) -> str:
    """Return the code on the label of a part, read back from its printed page."""
    pdf = who.client.get(f"/capture/1/part/{part}/label.pdf")
    assert "application/pdf" == pdf.mimetype
    return printed(pdf.data)[0]


def words_on(who: Person, part: int) -> str:
    """Return what is written on the label of a part."""
    page = pypdfium2.PdfDocument(who.client.get(f"/capture/1/part/{part}/label.pdf").data)[0]
    return " ".join(page.get_textpage().get_text_range().split())


def printed(pdf: bytes) -> list[str]:
    """Return the codes that an independent decoder reads on a PDF."""
    found = [
        reading.text for page in pictures_of(pdf, "labels.pdf") for reading in read_symbols(page.pixels, thorough=False)
    ]
    return sorted({text.rpartition("/")[2] for text in found})


def test_what_is_captured_becomes_a_profile_a_job_and_a_kit(store: Store, ann: Person, shell: Shell) -> None:
    """From nothing to a printed kit: the file loads, passes `labelkit check`, makes the same codes as the labels that
    were printed in the middle, and holds every figure as it was typed. Every sheet is what it has to be.

    All thirty parts, in a browser and at every resolution, are `python -m tests.bench.capture_walk`.
    """
    started(ann)
    for number, (name, kind, typed) in enumerate(TWELVE, 1):
        shots: dict[str, object] = {"picture": photo("red" if number % 2 else "blue")} if number <= 4 else {}
        page = tell(ann, name, kind, **typed, **shots)  # type: ignore[arg-type]
        assert f"Kept: {number} {name}" in page.text
    early = code_of(ann, 2)
    assert "The capture of job 1 is finished" in finish(ann).text

    (offered,) = (each for each in ann.open("/capture/1/end").addresses() if "/profile." in each)
    packed = ann.client.get(offered).data
    assert packed == ann.client.get("/capture/1/profile.zip").data
    files = unpack(packed, "kx1.zip")
    for path, data in files.items():
        (shell.folder / path).parent.mkdir(exist_ok=True)
        (shell.folder / path).write_bytes(data)
    source = (shell.folder / "kx1.yaml").read_bytes()
    assert source == store.job(1).source
    profile = parse_profile(source, "kx1.yaml", shell.folder).profile
    assert [name for name, _, _ in TWELVE] == [part.name for part in profile.parts]
    assert 4 == sum(part.photo is not None for part in profile.parts)
    assert {"JPEG"} == {Image.open(io.BytesIO(data)).format for path, data in files.items() if "/" in path}

    bolt, cover, washer, shim, seal = profile.parts[:5]
    assert (6, "cover", "free", "up") == (bolt.qty, bolt.sits.on, bolt.sits.clock, bolt.sits.opens)  # type: ignore[union-attr]
    assert "30.5 mm" == str(cover.form.h)  # type: ignore[union-attr]
    assert ("0.104 in", "free", "cover") == (str(washer.form.t), washer.sits.up, washer.sits.on)  # type: ignore[union-attr]
    # 1/2 = 0.5, 3/32 = 0.09375: by hand.
    assert ("1.5 in", "0.09375 in", "marked side") == (str(shim.form.id), str(shim.form.t), shim.sits.up)  # type: ignore[union-attr]
    assert "shim" == seal.out.together  # type: ignore[union-attr]
    assert (24, "6:30", None) == (profile.parts[8].qty, str(profile.parts[8].sits.clock), profile.parts[8].form)  # type: ignore[union-attr]
    assert b"Step 10, Planet carrier: carrier, od 168; not recorded: h, planets, planet_od" in source

    store.close()
    assert 0 == shell("check", "kx1.yaml").status
    made = shell("kit", "kx1.yaml", "--only", "labels,cards", "--label-stock", "roll-100x50")
    assert 0 == made.status, made.err
    told = json.loads((shell.folder / "kit" / "kit.json").read_text())
    assert 1 == told["job"]
    assert 12 == len(told["bins"])
    assert early == told["bins"][1]["code"]
    counts, faults = kit_faults(view_of(load_profile(str(shell.folder / "kx1.yaml"))), (300,))
    assert faults == []
    assert (24, 12) == (counts["symbols of labels at 300 dpi"], counts["symbols of stickers at 300 dpi"])


def test_a_printed_label_stays_right_when_a_part_comes_before_it(store: Store, ann: Person) -> None:
    """Each part keeps its own number, whatever its step: the code printed at step 2 is that of the same part at 3."""
    started(ann)
    tell(ann, "Bolt")
    tell(ann, "Cover")
    before = code_of(ann, 2)
    (choosing,) = (each for each in ann.open("/capture/1").addresses() if "earlier" in each)
    assert "/capture/1/next?before=2" in ann.open(choosing).addresses()
    page = tell(ann, "Gasket", where="&before=2")
    assert "Now step 3: labels printed before say another step. Their codes stay right" in page.text
    act(ann, 1, "down")

    assert {1: ("2", "Bolt"), 2: ("3", "Cover"), 3: ("1", "Gasket")} == listed(store)
    assert before == code_of(ann, 2)
    assert "Cover" in ann.open(f"/{before}").text
    kit = printed(ann.client.get("/capture/1/labels.pdf").data)
    assert before in kit
    assert 3 == len(kit)


def test_labels_are_printed_on_the_stock_that_the_job_keeps(store: Store, ann: Person) -> None:
    """As `labelkit kit` keeps it; how many there are is said before, and that there is none yet."""
    started(ann)
    assert "Nothing is captured yet" in ann.open(ann.client.get("/capture/1/labels").location).text
    for name in ("Bolt", "Cover", "Gasket"):
        tell(ann, name)
    page = ann.open("/capture/1/labels")
    for field, wrong in {"stock": "/etc/hostname", "steps": "4", "first": "11"}.items():
        refused = post(ann, page, "labels", {"stock": "a4-2x5-99x56", field: wrong})
        assert (422, True) == (refused.status_code, f'id="e-{field}"' in refused.text)
    assert "roll-100x50" == store.job(1).stocks.labels

    told = ann.open(post(ann, page, "labels", {"stock": "a4-2x5-99x56", "steps": "2-3", "first": "9"}).location)
    assert "2 labels are ready to print" in told.text
    (file,) = (each for each in told.addresses() if "labels.pdf" in each)
    assert ("a4-2x5-99x56", 2) == (store.job(1).stocks.labels, len(printed(ann.client.get(file).data)))


def test_a_label_says_what_was_seen_since(ann: Person) -> None:
    """Which way up nobody told in the capture, but at the bench, once it was finished: as the kit prints it."""
    started(ann)
    tell(ann, "Cover")
    finish(ann)
    code = code_of(ann, 1)
    assert "NOT RECORDED" in words_on(ann, 1)

    ann.does(f"/{code}", "removed", count="1", up="boss")

    assert "BOSS UP (SEEN)" in words_on(ann, 1)
    assert code == code_of(ann, 1)


def test_undo_and_redo_are_a_step_back_and_forth(store: Store, ann: Person) -> None:
    """What was undone is told in words; a number that was given once is given to no other part."""
    started(ann)
    tell(ann, "Bolt")
    tell(ann, "Cover")
    assert "Teil 2 Cover" in ann.client.get("/capture/1", headers={"Accept-Language": "de"}).text
    assert "Undone: part 2 Cover" in step(ann, "undo").text
    assert "Done again: part 2 Cover" in step(ann, "redo").text
    step(ann, "undo")
    tell(ann, "Gasket")
    assert {1: ("1", "Bolt"), 3: ("2", "Gasket")} == listed(store)

    stale = ann.open("/capture/1")
    tell(ann, "Washer")
    form = next(form for form in stale.forms if form.action.endswith("/undo"))
    again = ann.open(ann.client.post(form.action, data=dict(form.fields)).location)
    assert "something was changed since (part 3 Washer)" in again.text
    assert 3 == len(listed(store))


def test_a_form_that_is_sent_twice_is_kept_once(store: Store, ann: Person) -> None:
    """Thick gloves tap twice, and two people may tell parts at the same time: both are kept."""
    page, bo = started(ann), person(create_app(store), "Bo")
    page = ann.open("/capture/1/next?name=Bolt&kind=none")
    other = bo.open("/capture/1/next?name=Cover&kind=none")
    for _ in range(2):
        assert 303 == post(ann, page, "part", {}).status_code
    assert 303 == post(bo, other, "part", {}).status_code

    assert {1: ("1", "Bolt"), 2: ("2", "Cover")} == listed(store)


def test_labels_point_to_no_address_that_is_none(store: Store, ann: Person) -> None:
    """What a browser calls the bench stands on every label of the capture: it is looked at first."""
    form = ann.open("/capture").form("start")
    refused = ann.client.post("/capture", data={**dict(form.fields), **UNIT}, headers={"Host": "a b"})

    assert (400, 0) == (refused.status_code, len(store.jobs()))
    assert "allowed: http://HOST:PORT" in refused.text


WRONG: list[tuple[str, dict[str, object], str, str]] = [
    ("ring", {"size-od": "x"}, "size-od", '"x" is no length'),
    ("ring", {"size-od": "40", "size-id": "50", "size-t": "2"}, "size-id", "Inside Ø 50 mm is not smaller"),
    ("ring", {"size-od": "10 20"}, "size-od", "allowed: one figure"),
    ("gear", {"size-teeth": "2.5", "size-module": "2", "size-width": "9", "size-bore": "9"}, "size-teeth", "2.5"),
    ("shaft", {"size-steps": "20"}, "size-steps", "allowed: diameter x length"),
    ("none", {"qty": "other", "qty_other": "-1"}, "qty_other", "-1"),
    ("none", {"clock": "other", "clock_other": "13:00"}, "clock_other", "13:00"),
    ("none", {"on": "other", "on_step": "9"}, "on_step", 'there is no step "9"'),
    ("none", {"face": "seal groove down"}, "face", 'type the face that is up, as in "side opposite seal groove"'),
    ("none", {"face": "up"}, "face", "type only the face that is up"),
    ("none", {"mass": "1 mm"}, "mass", '"mm" is not a unit of mass'),
    ("none", {"picture": (io.BytesIO(b"no picture"), "x.jpg")}, "picture", "allowed: JPEG, PNG and WebP"),
]


def test_what_cannot_be_is_told_at_its_field(store: Store, ann: Person) -> None:
    """The form comes back as it was filled in, and nothing is kept."""
    started(ann)
    for kind, typed, field, words in WRONG:
        page = ann.open(f"/capture/1/next?name=Thing&kind={kind}")
        answer = post(ann, page, "part", {"remark": "as it was", **typed})

        fault = Page(answer.text.partition(f'id="e-{field}">')[2].partition("</strong>")[0]).text
        assert (422, True) == (answer.status_code, words in fault), (field, fault)
        assert "as it was" == dict(Page(answer.text).form("part").fields)["remark"]
    assert {} == listed(store)
    assert "/capture/1" in ann.open("/").addresses()
    assert "at least one entry is wanted" in Page(ann.client.get("/job/1").text).text


def test_all_that_is_wrong_is_told_in_one_round_by_the_names_of_its_fields(ann: Person) -> None:
    """Sizes, steps, clock and mass together; the line above the form calls each field as the form does."""
    started(ann)
    typed = {"size-d": "x", "size-l": "y", "clock_other": "13:00", "mass": "450 gr", "on": "other", "on_step": "9"}
    sent = post(ann, ann.open("/capture/1/next?name=Bolt&kind=bolt"), "part", typed)
    told = Page(sent.text.partition('role="alert">')[2].partition("</div>")[0]).text

    assert {f'id="e-{name}"' in sent.text for name in ("size-d", "size-l", "clock_other", "on_step", "mass")} == {True}
    for name in ("Thread Ø", "Length under head", "Position between two hours", "Step of the part it lay on"):
        assert f'"{name}": ' in told
    assert '"Mass of one, kg": "gr" is not a unit of mass; allowed: kg, g, lb, oz; did you mean g?' in told


def test_the_name_of_a_part_is_asked_for_beside_what_else_is_wrong(ann: Person) -> None:
    """And nothing is said of the whole form."""
    started(ann)
    sent = post(ann, ann.open("/capture/1/next?name=Bolt&kind=none"), "part", {"name": "", "mass": "x"})

    assert ['e-mass"', 'e-name"'] == sorted(
        each.partition(">")[0] for each in sent.text.split('<strong class="fault" id="')[1:]
    )
    assert '<strong class="fault">' not in sent.text


def test_a_photo_is_not_asked_for_again_when_something_else_is_wrong(store: Store, ann: Person) -> None:
    started(ann)
    page = ann.open("/capture/1/next?name=Thing&kind=ring")
    again = Page(post(ann, page, "part", {"size-od": "x", "picture": photo("red")}).text)
    assert 303 == post(ann, again, "part", {"size-od": "40"}).status_code

    (part,) = unit_of(store.drafts.current(1).body).parts
    assert 1 == len(part.photos)
    assert "image/jpeg" == ann.client.get(f"/capture/picture/{part.photos[0]}").mimetype


def test_what_lies_on_each_other_in_a_ring_is_refused(store: Store, ann: Person) -> None:
    """By steps and names, at the field, with the way to the part that was told first."""
    started(ann)
    tell(ann, "Bolt", on="next")
    page = ann.open("/capture/1/next?name=Cover&kind=none")
    refused = post(ann, page, "part", {"on": "1"})

    fault = refused.text.partition('id="e-on_step">')[2].partition("</strong>")[0]
    assert 422 == refused.status_code
    link = '<a href="/capture/1/part/1">1 Bolt</a> is told to lie on this part, so this one does not lie on it'
    assert fault.startswith(link)
    assert link in refused.text.partition('role="alert"')[2].partition("</div>")[0]
    assert {1: ("1", "Bolt")} == listed(store)
    assert "type what it is called" not in ann.open("/capture/1/next").text
    assert "type what it is called" in ann.open("/capture/1/next?name=&kind=").text
    assert "tap the drawing of it" in ann.open("/capture/1/next?name=Whatsit&kind=").text


def test_the_record_begins_when_the_capture_is_finished(store: Store, ann: Person) -> None:
    """Until then parts may change places; afterwards the record knows them by their places, and they keep them."""
    started(ann)
    tell(ann, "Bolt")
    tell(ann, "Cover")
    code = code_of(ann, 1)
    data = dict(ann.open("/capture/1/part/1").form("part").fields)
    early = ann.client.post(f"/{code}/act", data={"csrf": data["csrf"], "kind": "removed"})
    assert (409, 0) == (early.status_code, store.journal.last(1))
    assert "Job 1 is still being captured" in Page(early.text).text

    finish(ann)
    ann.does(f"/{code}", "removed", count="1")
    assert 1 == store.journal.last(1)
    assert "so they keep their order" in act(ann, 2, "up").text
    tell(ann, "Washer")
    assert {1: ("1", "Bolt"), 2: ("2", "Cover"), 3: ("3", "Washer")} == listed(store)


def test_who_captures_a_unit_works_on_its_job(store: Store, ann: Person) -> None:
    """From the first part on, whatever the phone was at before: the next label that is scanned is of this unit."""
    started(ann)
    open_job(store, pump())
    over = next(each for each in ann.open("/job/2/next").forms if each.action.endswith("/work"))
    ann.client.post(over.action, data=dict(over.fields))
    tell(ann, "Bolt")

    assert "you work on job 1" in ann.open("/job/2/next").text


def test_every_name_is_suggested_with_its_kind(store: Store, ann: Person) -> None:
    """Names come from earlier jobs and from this capture; a name alone is enough where it says the kind."""
    open_job(store, pump())
    begun = post(ann, ann.open("/capture"), "start", UNIT).location
    for page, offered in ((begun, False), ("/capture/2/picks?name=cov", True)):
        names = {attrs["value"] for _tag, attrs in ann.open(page).elements if attrs.get("name") == "pick"}
        assert offered == ("Cover|hub" in names), "names of other units take room before a letter is typed"

    shown = ann.open("/capture/2/next?name=Lip+seal+40+x+62&kind=")
    assert {"size-id", "size-od", "size-w"} <= shown.form("part").names
    assert {"up", "down", "free", "any", ""} == {
        attrs["value"] for tag, attrs in shown.elements if tag == "input" and attrs.get("name") == "way"
    }
    assert "LIP DOWN" in shown.text


def test_nothing_is_asked_twice(store: Store, ann: Person) -> None:
    """Sizes that stand in the name stand in their fields; those of a part like it are taken over with one tick; and
    either way with a free clock is one button."""
    started(ann)
    page = ann.open("/capture/1/next?name=Lip+seal+40+x+62+x+8&kind=lip_seal")
    fields = dict(page.form("part").fields)
    assert ("40", "62", "8") == tuple(fields[f"size-{name}"] for name in ("id", "od", "w"))
    post(ann, page, "part", {"way": "any"})
    tell(ann, "Lip seal 2", "lip_seal", same="1", clock="6:00", way="any")

    one, two = unit_of(store.drafts.current(1).body).parts
    assert (one.sizes, "free", "free") == (two.sizes, one.way, one.clock)
    assert ("free", "6:00") == (two.way, two.clock)


def test_how_it_sat_is_told_in_one_tap_and_what_else_is_told_counts_more(store: Store, ann: Person) -> None:
    """Without the script, too; a part of which nobody tapped anything stays not recorded."""
    started(ann)
    tell(ann, "Cover", "hub", way="down", clock="6:00", on="next")
    page = ann.open("/capture/1/next?name=Cover&kind=hub")
    offered = {attrs["value"] for tag, attrs in page.elements if attrs.get("name") == "quick"}
    assert {";free;next;", "down;6:00;next;"} == offered, "the first one lies on this one, so this one not on it"
    tell(ann, "Cover", "hub", quick="down;6:00;next;", clock="3:00")
    tell(ann, "Shim", "ring")
    tell(ann, "Washer", "ring", quick="free;free;3;")

    seats = [(part.way, part.clock, part.on) for part in unit_of(store.drafts.current(1).body).parts]
    assert [("down", "6:00", "next"), ("down", "3:00", "next"), ("", "", ""), ("free", "free", "3")] == seats


def test_which_end_was_down_is_told_in_words_where_no_drawing_tells_it(store: Store, ann: Person) -> None:
    """Of a seal that nobody measured there is no form, so `opens: down` alone would not say what is down."""
    started(ann)
    tell(ann, "Seal", "lip_seal", way="down")
    tell(ann, "Seal 40 x 62 x 8", "lip_seal", way="down", **{"size-id": "40", "size-od": "62", "size-w": "8"})

    unmeasured, measured = parse_profile(store.job(1).source, "kx1.yaml", None).profile.parts
    assert ("down", "LIP DOWN") == (unmeasured.sits.opens, unmeasured.sits.tell)  # type: ignore[union-attr]
    assert ("down", None) == (measured.sits.opens, measured.sits.tell)  # type: ignore[union-attr]


def test_one_more_like_the_last_is_there_already(store: Store, ann: Person) -> None:
    """Name, kind, sizes, count and how it sat; it lies on the next one out as that one did. Its photo is its own."""
    started(ann)
    told: dict[str, object] = {"size-od": "80", "qty": "2", "way": "any", "on": "next", "picture": photo("red")}
    tell(ann, "Plate", "ring", **told)  # type: ignore[arg-type]
    tell(ann, "Plate", where="&again=1")

    one, two = unit_of(store.drafts.current(1).body).parts
    assert ("next", "next", ()) == (one.on, two.on, two.photos)
    assert (one.name, one.kind, one.sizes, "2", "free", "free") == (
        two.name,
        two.kind,
        two.sizes,
        two.qty,
        two.way,
        two.clock,
    )


def test_bare_figures_are_in_the_unit_that_was_tapped(store: Store, ann: Person) -> None:
    """A keypad of figures has no letters; a module is in mm in every unit. 1 1/2 in = 38.1 mm, by hand."""
    started(ann)
    tell(ann, "Shim", "ring", **{"figures_in": "in", "size-od": "2", "size-id": "1 1/2", "size-t": "2.5 mm"})
    tell(ann, "Shaft", "shaft", **{"figures_in": "in", "size-steps": "1 1/2 x 2; 3/4 x 1"})
    tell(
        ann,
        "Gear",
        "gear",
        **{"figures_in": "in", "size-teeth": "24", "size-module": "2", "size-width": "1", "size-bore": "1"},
    )

    shim, shaft, gear = parse_profile(store.job(1).source, "kx1.yaml", None).profile.parts
    assert ("2 in", "1.5 in", "2.5 mm") == tuple(str(getattr(shim.form, name)) for name in ("od", "id", "t"))
    assert [["1.5 in", "2 in"], ["0.75 in", "1 in"]] == [[str(end) for end in pair] for pair in shaft.form.steps]  # type: ignore[union-attr]
    assert ("2 mm", "1 in") == (str(gear.form.module), str(gear.form.width))  # type: ignore[union-attr]


def test_what_is_typed_beside_the_buttons_is_what_is_meant(store: Store, ann: Person) -> None:
    """Without the script the button beside the field is not tapped by typing."""
    started(ann)
    tell(ann, "Needles", qty_other="24", clock_other="6:30")

    (part,) = unit_of(store.drafts.current(1).body).parts
    assert ("24", "6:30") == (part.qty, part.clock)


def test_what_is_not_asked_at_first_is_told_later(store: Store, ann: Person) -> None:
    """How it is held, what it is matched with, when it is renewed and the rest: as the format of profiles has it."""
    started(ann)
    tell(ann, "Snap ring", "snap_ring", **{"size-fits": "bore", "size-d": "62", "size-t": "2"})
    tell(ann, "Nut", "nut")
    assert "more" not in ann.open("/capture/1/next?name=Nut&kind=nut").form("part").names
    told = {
        "held": "ring", "held_part": "1", "look_under": "a thin washer", "tool": "Hook spanner, 40", "pair": "1",
        "renew": "always", "one_time": "yes", "wash": "wipe", "left_hand": "yes", "torque": "25,5", "caution": "Sharp",
    }  # fmt: skip
    wrong = post(ann, ann.open("/capture/1/part/2"), "part", told | {"held_part": "", "pair": "7", "torque": "x"})
    assert {"held_part", "pair", "torque"} == {
        text.partition('"')[0] for text in wrong.text.split('<strong class="fault" id="e-')[1:]
    }
    assert 303 == post(ann, ann.open("/capture/1/part/2"), "part", told).status_code

    profile = parse_profile(store.job(1).source, "kx1.yaml", None).profile
    nut = profile.parts[1]
    assert ("ring", "snap-ring", "a thin washer") == (nut.held.by, nut.held.part, nut.out.look_under)  # type: ignore[union-attr]
    assert {"hook-spanner-40": "Hook spanner, 40"} == profile.tools
    assert ("hook-spanner-40", ("snap-ring",), "always", True) == (nut.out.tool, nut.pair, nut.renew, nut.one_time)  # type: ignore[union-attr]
    assert ("wipe", "left", "25.5 N·m") == (nut.wash, nut.thread, str(nut.fasten.torque))  # type: ignore[union-attr]
    assert [("caution", "Sharp")] == [(each.signal, each.text) for each in nut.hazards]
    again = dict(ann.open("/capture/1/part/2").form("part").fields)
    assert ("ring", "1", "25,5") == (again["held"], again["held_part"], again["torque"])
    act(ann, 1, "remove")
    assert parse_profile(store.job(1).source, "kx1.yaml", None).profile.parts[0].held is None


def test_a_name_that_says_left_hand_is_taken_at_its_word(store: Store, ann: Person) -> None:
    """Its label shouts it from the first print on, and whoever knows better unticks it."""
    started(ann)
    tell(ann, "Load nut M24 x 2 LH", "nut", **{"size-d": "24"})
    assert "left" == parse_profile(store.job(1).source, "kx1.yaml", None).profile.parts[0].thread

    page = ann.open("/capture/1/part/1")
    assert "left_hand" in dict(page.form("part").fields)
    post(ann, page, "part", {"left_hand": ""})
    assert "right" == parse_profile(store.job(1).source, "kx1.yaml", None).profile.parts[0].thread


def test_what_is_used_once_is_not_told_as_never_renewed(ann: Person) -> None:
    """At the question of when it is renewed; every other answer goes with it, also none."""
    started(ann)
    tell(ann, "Nut", "nut")
    told = {"one_time": "yes", "renew": "never"}
    wrong = post(ann, ann.open("/capture/1/part/1"), "part", told)

    assert 422 == wrong.status_code
    assert 'id="e-part-renew">used once, and never put back: it is renewed each time' in wrong.text
    for renew in ("always", "if_worn", ""):
        assert 303 == post(ann, ann.open("/capture/1/part/1"), "part", told | {"renew": renew}).status_code


def test_the_photo_for_the_card_is_chosen_and_no_other_is_lost(store: Store, ann: Person) -> None:
    """A profile names one photo of a part; the others lie beside it and are named in a comment. What is named and is
    no photo of the store is left out: the files of the capture could not be made with it."""
    started(ann)
    tell(ann, "Cover", picture=photo("red"))
    answer = post(ann, ann.open("/capture/1/part/1"), "part", {"picture": photo("blue")})
    first, second = unit_of(store.drafts.current(1).body).parts[0].photos
    page = ann.open(answer.location.partition("#")[0] + "/part/1")
    data = {**dict(page.form("part").fields), "kept": [first, "0" * 64, second], "shown": second}
    assert 303 == ann.client.post("/capture/1/part/1", data=data, content_type="multipart/form-data").status_code

    source = store.job(1).source.decode()
    assert f"photo: photos/cover-{second[:8]}.jpg\n    # more photos of it: photos/cover-{first[:8]}.jpg\n" in source
    names = unpack(ann.client.get("/capture/1/profile.zip").data, "kx1.zip")
    assert {"kx1.yaml", f"photos/cover-{first[:8]}.jpg", f"photos/cover-{second[:8]}.jpg"} == set(names)


def test_parts_are_split_off_into_a_sub_assembly(store: Store, ann: Person) -> None:
    """Steps 2 to 3 become 2.1 and 2.2 of a new one; a part leaves it again; nothing else moves."""
    started(ann)
    for name in ("Bolt", "Gear", "Shaft", "Body"):
        tell(ann, name)
    act(ann, 2, "gather", last="3", name="Gear train")
    assert {1: "1", 5: "2", 2: "2.1", 3: "2.2", 4: "3"} == {number: each for number, (each, _) in listed(store).items()}
    act(ann, 3, "out")
    assert {1: "1", 5: "2", 2: "2.1", 3: "3", 4: "4"} == {number: each for number, (each, _) in listed(store).items()}
    assert "type the name" in act(ann, 1, "gather", last="1").text
    assert "do not follow each other" in act(ann, 4, "gather", last="1", name="X").text


def test_what_is_known_of_the_unit_is_told_later(store: Store, ann: Person) -> None:
    """What stands at 12 o'clock, where figures come from, mass, oil; figures with a comma; nothing else is lost."""
    started(ann)
    tell(ann, "Shim", "ring", face="ground face up")
    told = {
        "unit-twelve": "fill plug", "unit-source": "shop notes", "unit-mass": "13,6", "unit-oil.kind": "VG 150",
        "unit-oil.volume_l": "3,1",
    }  # fmt: skip
    page = ann.open("/capture/1?unit=1")
    wrong = post(ann, page, "header", told | {"unit-mass": "x", "unit-oil.kind": ""})
    assert ['e-unit-mass"', 'e-unit-oil.kind"'] == re.findall(r"e-unit[^>]*", wrong.text.replace('by="e-', ""))
    assert 303 == post(ann, page, "header", told).status_code

    profile = parse_profile(store.job(1).source, "kx1.yaml", None).profile
    unit, seat = profile.unit, profile.parts[0].sits
    assert ("fill plug", "shop notes", "13.6 kg", "above") == (
        unit.twelve,
        unit.source,
        str(unit.mass),
        unit.clock_from,
    )
    assert ("VG 150", "3.1", "ground face") == (unit.oil.kind, str(unit.oil.volume_l), seat.up)  # type: ignore[union-attr]
    assert "13,6" == dict(ann.open("/capture/1").form("header").fields)["unit-mass"]
    assert "Unit" not in ann.open("/capture/1/end").text.partition("Not recorded")[2]


def test_what_was_captured_is_not_asked_for_again_as_taken_out(store: Store, ann: Person) -> None:
    """One form records every part as out, with its count; a set is not counted."""
    started(ann)
    tell(ann, "Bolt", qty="6")
    tell(ann, "Shims", qty="set")
    tell(ann, "Gear", where="&inside=2")
    ann.does("/capture/1/part/1", "part", caution="do not drop it")
    assert "out" not in [form.name for form in ann.open("/capture/1/end").forms]
    assert "All of it can be filled in here later" in finish(ann).text
    assert ["CAUTION: do not drop it"] == ann.open("/capture/1/end").form("out").cautions, "to be ticked from the first"
    assert "3 parts are out" in ann.does("/capture/1/end", "out", ticked="CAUTION: do not drop it").text

    acts = [(event.place, event.act.kind, act_data(event.act).get("count")) for event in store.journal.events(1)]
    assert [(0, "removed", 6), (1, "removed", None), (2, "removed", 1)] == acts
    assert "out" not in [form.name for form in ann.open("/capture/1/end").forms]


def test_a_capture_is_not_put_over_a_later_revision(store: Store, ann: Person, shell: Shell) -> None:
    """Once the job has taken up a revision of the file, the capture says so and neither goes on nor changes the job.

    Its labels stay those of its parts, whatever has come before them, and their cards tell which profile counts.
    """
    started(ann)
    tell(ann, "Bolt")
    tell(ann, "Cover")
    finish(ann)
    places = {"end": "go-on", "": "undo", "part/2": "up", "part/1": "part/1", "next?name=Lid&kind=none": "next"}
    pages = {place: ann.open(f"/capture/1/{place}".rstrip("/")) for place in places}
    forms = [next(f for f in pages[place].forms if f.action.endswith(f"/{end}")) for place, end in places.items()]
    old, code = store.job(1).source, code_of(ann, 2)
    assert "where the label says otherwise" not in ann.open(f"/{code}").text
    new = old.replace(b'revision: "1"', b'revision: "2"').replace(b"parts:\n", b"parts:\n  - {id: cap, name: Cap}\n")
    (shell.folder / "old.yaml").write_bytes(old)
    (shell.folder / "new.yaml").write_bytes(new)
    taken_up = shell("diff", "old.yaml", "new.yaml", "--job", "1", "--by", "Ann", "--out", "again")
    assert (0, "") == (taken_up.status, taken_up.err)
    revised = store.job(1)

    header = post(ann, pages[""], "header", {"name": "Other"})
    refused = [ann.client.post(form.action, data=dict(form.fields), follow_redirects=True) for form in forms]

    assert ["since it was captured, which this would undo" in each.text for each in (*refused, header)] == [True] * 6
    assert (422, 422, 422) == (refused[-2].status_code, refused[-1].status_code, header.status_code)
    for place in places:
        page = ann.open(f"/capture/1/{place}".rstrip("/"))
        assert "Job 1 has taken up a later revision of its profile" in page.text
        assert [] == [form.action for form in page.forms if form.action.startswith("/capture")]
    assert (revised, False) == (store.job(1), store.drafts.is_open(1))
    assert code == code_of(ann, 2)
    card = ann.open(f"/{code}").text
    assert "This job has taken up profile revision 2: where the label says otherwise, this card counts" in card


def test_the_job_of_a_capture_is_what_the_capture_is_also_when_its_last_part_is_taken_out(
    store: Store, ann: Person
) -> None:
    started(ann)
    empty = store.job(1).source
    tell(ann, "Bolt")
    act(ann, 1, "remove")
    assert empty == store.job(1).source
    step(ann, "undo")
    assert [part.name for part in parse_profile(store.job(1).source, "kx1.yaml", None).profile.parts] == ["Bolt"]


WRITER = """
import re, sys
from labelkit.bench.app import create_app
from labelkit.store.jobs import Store
from tests.bench_app.hands import Page, person
with Store(sys.argv[1]) as store:
    ann = person(create_app(store))
    for turn in range(1000):
        page = ann.open(f"/capture/1/next?name=Part+{turn}&kind=none")
        answer = ann.client.post("/capture/1/next", data=dict(page.form("part").fields))
        print(turn if answer.status_code == 303 else "lost", flush=True)
"""


def test_a_killed_bench_loses_no_part_that_was_acknowledged(tmp_path: Path, store: Store, ann: Person) -> None:
    """The bench is killed in the middle of its work; every part that a phone was told of is there, in order."""
    started(ann)
    running = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(tmp_path / "shop.sqlite")], stdout=subprocess.PIPE, text=True
    )
    said = [running.stdout.readline() for _ in range(6)]  # type: ignore[union-attr]
    running.kill()
    said += running.communicate()[0].splitlines(keepends=True)

    told = [f"Part {line.strip()}" for line in said if line.endswith("\n")]
    kept = [name for _, name in listed(store).values()]
    assert told == kept[: len(told)]
    assert len(told) <= len(kept) <= len(told) + 1
    assert len(kept) == len(parse_profile(store.job(1).source, "kx1.yaml", None).profile.parts)
