"""A unit without a profile, captured at the bench part by part: what is typed becomes a profile, a job and its labels."""

from __future__ import annotations

import io
import json
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from flask import Flask
from PIL import Image

from labelkit.bench.app import create_app
from labelkit.load.profile import parse_profile
from labelkit.load.writer import profile_yaml
from labelkit.proof.decode import decode
from labelkit.store.jobs import Store
from tests.bench_app.hands import Page, Person, person, with_pin
from tests.bench_app.workshop import SECRET, Shell, open_job, pump

UNIT = {"mark": "kx1", "name": "Two-stage reducer", "up": "input side", "clock_from": "above"}
# Invented: thirty parts as somebody may tell them, in mm and inch, with a comma, and with much that was not looked at.
THIRTY: list[tuple[str, str, dict[str, str]]] = [
    ("Cover bolt M8 x 30", "bolt", {"size-d": "8", "size-l": "30", "qty": "6", "way": "up", "clock": "free", "on": "next"}),
    ("Cover", "hub", {"size-od": "120", "size-h": "30,5", "size-bore": "40", "way": "down", "clock": "6:00"}),
    ("Thrust washer", "ring", {"size-od": "72,1", "size-id": "50", "size-t": "0.104 in", "way": "free", "on": "2"}),
    ("Shim", "ring", {"size-od": "2 in", "size-id": "1 1/2 in", "size-t": "3/32 in", "face": "marked side"}),
    ("Lip seal 40 x 62 x 8", "lip_seal", {"size-id": "40", "size-od": "62", "size-w": "8", "way": "down", "along": "4"}),
    ("Snap ring", "snap_ring", {"size-fits": "bore", "size-d": "62", "size-t": "2", "way": "up"}),
    ("Sun gear", "gear", {"size-teeth": "24", "size-module": "2", "size-width": "30", "size-bore": "20"}),
    ("Shaft", "shaft", {"size-steps": "20 x 30; 30 x 55"}),
    ("Needles", "none", {"qty": "other", "qty_other": "24", "clock": "other", "clock_other": "6:30"}),
    ("Planet carrier", "carrier", {"size-od": "168", "remark": "one pin is blue"}),
    *((f"Friction plate {n}", "friction_plate", {"size-od": "80", "size-id": "55", "size-t": "2", "size-teeth": "30"}) for n in range(10)),
    *((f"Dowel {n}", "pin", {"size-d": "6", "size-l": "18", "way": "free", "clock": "free", "on": "next"}) for n in range(10)),
]


@pytest.fixture
def app(store: Store) -> Flask:
    with_pin(store)
    return create_app(store)


@pytest.fixture
def ann(app: Flask) -> Person:
    return person(app)


def started(ann: Person, **more: str) -> Page:
    page = ann.open("/capture")
    answer = post(ann, page, "start", UNIT | more)
    assert 303 == answer.status_code, Page(answer.text).text
    return ann.open(answer.location)


def post(who: Person, page: Page, name: str, typed: dict[str, object]):  # type: ignore[no-untyped-def]
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
    assert 303 == answer.status_code
    return who.open(answer.location)


def step(who: Person, way: str) -> Page:
    page = who.open("/capture/1")
    form = next(form for form in page.forms if form.action.endswith(f"/{way}"))
    return who.open(who.client.post(form.action, data=dict(form.fields)).location)


def parts(who: Person) -> list[str]:
    """Return the parts of the list as it is shown: step and name."""
    return re.findall(r'<b>([\d.]+)</b> <span>(?:\d+ × )?([^<]+?)<', who.client.get("/capture/1").text)  # type: ignore[return-value]


def photo(colour: str) -> tuple[io.BytesIO, str]:
    written = io.BytesIO()
    Image.new("RGB", (60, 40), colour).save(written, "PNG")
    return io.BytesIO(written.getvalue()), f"{colour}.png"


def code_of(who: Person, part: int) -> str:
    """Return the code on the label of a part, read back from its printed page."""
    pdf = who.client.get(f"/capture/1/part/{part}/label.pdf?stock=roll-100x50")
    assert "application/pdf" == pdf.mimetype
    return printed(pdf.data)[0]


def printed(pdf: bytes) -> list[str]:
    """Return the codes that an independent decoder reads on a PDF."""
    found = [reading.text for page in pictures_of(pdf, "labels.pdf") for reading in read_symbols(page.grey, thorough=False)]
    return sorted({text.rpartition("/")[2] for text in found})


def test_thirty_parts_become_a_profile_a_job_and_a_kit(store: Store, ann: Person, shell: Shell) -> None:
    """From nothing to a printed kit: the file loads, passes `labelkit check`, makes the same codes as the labels that
    were printed in the middle, and holds every figure as it was typed."""
    started(ann)
    for number, (name, kind, typed) in enumerate(THIRTY, 1):
        shots: dict[str, object] = {"picture": photo("red" if number % 2 else "blue")} if number <= 4 else {}
        page = tell(ann, name, kind, **typed, **shots)
        assert f"Kept: {number} {name}" in page.text
    early = code_of(ann, 2)
    assert "The capture of job 1 is finished" in finish(ann).text

    packed = zipfile.ZipFile(io.BytesIO(ann.client.get("/capture/1/profile.zip").data))
    packed.extractall(shell.folder)
    source = (shell.folder / "kx1.yaml").read_bytes()
    assert ann.client.get("/capture/1/profile.yaml").data == source == store.job(1).source
    profile = parse_profile(source, "kx1.yaml", shell.folder).profile
    assert [name for name, _, _ in THIRTY] == [part.name for part in profile.parts]
    assert 4 == sum(part.photo is not None for part in profile.parts)
    assert {"JPEG"} == {Image.open(io.BytesIO(packed.read(name))).format for name in packed.namelist() if "/" in name}

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
    assert 30 == len(told["bins"])
    assert early == told["bins"][1]["code"]


def finish(who: Person) -> Page:
    page = who.open("/capture/1/end")
    form = next(form for form in page.forms if form.action.endswith("/done"))
    return who.open(who.client.post(form.action, data=dict(form.fields)).location)


def test_a_printed_label_stays_right_when_a_part_comes_before_it(store: Store, ann: Person) -> None:
    """Each part keeps its own number, whatever its step: the code printed at step 2 is that of the same part at 3."""
    started(ann)
    tell(ann, "Bolt")
    tell(ann, "Cover")
    before = code_of(ann, 2)
    page = tell(ann, "Gasket", where="&before=2")
    assert "Now step 3: labels printed before say another step. Their codes stay right" in page.text
    act(ann, 1, "down")

    assert ["2 Bolt", "1 Gasket", "3 Cover"] == [
        f"{steps} {name}" for _, name, steps in sorted((number, name, each) for number, (each, name) in listed(store).items())
    ] or listed(store) == {1: ("2", "Bolt"), 3: ("1", "Gasket"), 2: ("3", "Cover")}
    assert before == code_of(ann, 2)
    assert "Cover" in ann.open(f"/{before}").text
    kit = printed(ann.client.get("/capture/1/labels.pdf?stock=a4-2x5-99x56").data)
    assert before in kit
    assert 3 == len(kit)


def listed(store: Store) -> dict[int, tuple[str, str]]:
    """Return step and name of every part of job 1 by the number it was captured under."""
    from labelkit.bench.capturetree import unit_of

    unit = unit_of(store.drafts.current(1).body)
    return {part.number: (step, part.name) for step, part, _ in unit.walk()}
