"""What somebody typed comes back when it cannot be written: on every form of the bench, whatever is wrong with it."""

from __future__ import annotations

import html
import io
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from functools import cached_property
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from werkzeug.datastructures import MultiDict

from labelkit.bench.acting import kind_of
from labelkit.bench.app import create_app
from labelkit.bench.cardforms import _FORMS
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import PIN, Person, all_out, off_every_job, person, record, with_pin
from tests.bench_app.workshop import FITTED, SECRET, code_of, open_job, pump

# No record takes a bell (U+0007), and no figure begins with a letter.
BAD = "x\a"
# Where there is nothing but a button.
UNTYPED = frozenset(
    {"language", "sign_out", "work", "capture_step", "capture_done", "capture_go_on", "capture_out", "keep_pack"}
)


@dataclass
class Sheet:
    """A form of a page with all that can be filled in: names and values, what is typed, ticked or chosen."""

    name: str
    action: str
    method: str
    hidden: list[tuple[str, str]] = field(default_factory=list)
    typed: dict[str, str] = field(default_factory=dict)
    boxes: list[tuple[str, str, bool]] = field(default_factory=list)
    radios: list[tuple[str, str, bool]] = field(default_factory=list)
    files: list[str] = field(default_factory=list)

    def chosen(self) -> dict[str, str]:
        """Return the last choice of every group, which none begins with."""
        return {name: value for name, value, _ in self.radios}


class Sheets(HTMLParser):
    """Finds the forms of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[Sheet] = []
        self._area = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            name = given.get("id", "").removeprefix("form-")
            self.found.append(Sheet(name, given.get("action", ""), given.get("method", "get")))
        name, value, kind = given.get("name", ""), given.get("value", ""), given.get("type", "text")
        if tag not in ("input", "textarea") or not name or not self.found:
            return
        sheet = self.found[-1]
        if tag == "textarea":
            self._area = name
            sheet.typed[name] = ""
        elif kind == "hidden":
            sheet.hidden.append((name, value))
        elif kind == "checkbox":
            sheet.boxes.append((name, value, "checked" in given))
        elif kind == "radio":
            sheet.radios.append((name, value, "checked" in given))
        elif kind == "file":
            sheet.files.append(name)
        else:
            sheet.typed[name] = value

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea":
            self._area = ""

    def handle_data(self, data: str) -> None:
        if self._area:
            self.found[-1].typed[self._area] += data


@dataclass
class Bench:
    """A bench on which every form of every page can be found."""

    app: Flask
    ann: Person
    paths: list[str]
    hours: list[float]

    @cached_property
    def pages(self) -> dict[str, str]:
        """The pages by their paths; no form that is filled in badly changes them."""
        found = {path: self.ann.client.get(path, follow_redirects=True) for path in self.paths}
        assert {200, 409} >= {answer.status_code for answer in found.values()}
        return {path: answer.text for path, answer in found.items()}

    def sheets(self) -> Iterator[tuple[str, str, Sheet]]:
        """Yield page, endpoint and form, each kind of form once."""
        seen = set()
        adapter = self.app.url_map.bind("")
        for path, text in self.pages.items():
            for sheet in Sheets(text).found:
                if sheet.method == "post" and sheet.action:  # a script sends the one without
                    action = sheet.action.partition("?")[0]
                    endpoint, values = adapter.match(action, method="POST")
                    key = (endpoint, kind_of(sheet.name), values.get("way"))
                    if key not in seen:
                        seen.add(key)
                        yield path, str(endpoint), sheet


def pack_of(view: JobView) -> str:
    return next(each.step for each in view.teardown.bins if each.part.stack)


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    folder: Path = tmp_path_factory.mktemp("typed")
    with Store(str(folder / "shop.sqlite"), secret=SECRET) as store:
        with_pin(store)
        hours = [0.0]
        app = create_app(store, clock=lambda: NOON + timedelta(hours=hours[0]))
        ann = person(app)
        loaded = pump(FITTED)
        options = {"drive": "keyed"}
        fresh, apart, together, closed = (open_job(store, loaded, options=options, serial=str(k)) for k in range(4))
        # The key must be out before the wash, and is not: the washer is refused.
        key_step = apart.teardown.of("key")[0].step
        removed = [act for act in all_out(apart, but=(key_step,)) if act[1]["kind"] == "removed"]
        hold = {"kind": "hold", "why": "waits"}
        record(store, fresh, NOON, (None, hold), (None, hold))
        record(
            store,
            apart,
            NOON,
            *removed,
            ("1", hold),
            ("1", hold),
            (None, {"kind": "ordered", "number": "P7-01", "pieces": 6}),
        )
        record(store, together, NOON, *all_out(together))
        sizes = {"sizes": ["5.00"]}
        installs = [
            (each.step, {"kind": "installed", **(sizes if each.part.series else {})}) for each in together.teardown.bins
        ]
        record(store, together, NOON, *installs)
        record(store, closed, NOON, (None, {"kind": "closed"}))
        with ann.client.session_transaction() as kept:
            key = str(kept["key"])
        began = {"mark": "Q1", "name": "Q", "up": "input side", "clock_from": "", "lengths": "mm", "token": "t" * 12}
        assert 303 == ann.client.post("/capture", data={"csrf": key, **began}).status_code
        ring = {"kind": "ring", "name": "Ring", "qty": "1", "face": ""}
        for turn in range(3):
            ann.client.post("/capture/5/next", data={"csrf": key, "token": f"{turn}" * 12, **ring})
        off_every_job(ann)
        paths = ["/", "/sign-in", "/job/1", "/capture", "/capture/5", "/capture/5/next?name=Ring&kind=ring"]
        paths += ["/capture/5/part/3", "/capture/5/part/2", "/capture/5/end", "/capture/5/labels"]
        paths += ["/job/2", "/job/2/parts", "/job/1/next", "/job/2/wash", "/job/2/correct/1", "/job/2/correct/2"]
        paths += ["/job/3/sign-off", "/job/4", "/job/4/sign-off", f"/job/1/pack/{pack_of(fresh)}"]
        reads = "&".join(f"reading{k}=0.07" for k in (1, 2, 3))
        paths += [f"/job/1/fits/side-play?sum=1&at=apart&gasket=none&cold=yes&fitted1=5.00&{reads}"]
        shown = ((fresh, ("cover-screws", "cover")), (apart, ("cover-screws", "gears", "side-plate")))
        for view, parts in (*shown, (together, ("cover-screws", "side-plate"))):
            paths += [f"/{code_of(view, part)}" for part in parts]
        new = apart.new_code(apart.teardown.of("cover-screws")[0])
        paths += [f"/{new}", f"/{new}/receive"]
        yield Bench(app, ann, paths, hours)


def filled(sheet: Sheet) -> tuple[dict[str, Any], dict[str, str]]:
    """Return what is sent of a form that was filled in badly, and what must be in its fields again."""
    typed = {name: f"{name[:20]} {BAD}" for name in sheet.typed if name != "pin"}
    if sheet.name == "sign_in":
        typed = {"name": "Ann"}
    data: dict[str, Any] = {**dict(sheet.hidden), **typed, **sheet.chosen()}
    for name, value, _ in sheet.boxes:
        if sheet.typed or name != "ticked":  # where nothing can be typed badly, cautions are left unticked
            data[name] = [*data.get(name, ()), value]
    return data, typed


def lost(shop: Bench, path: str, sheet: Sheet) -> Iterator[str]:
    """Fill in a form badly, send it, and yield what is not there again."""
    data, typed = filled(sheet)
    files = {name: (io.BytesIO(b"no picture"), "a.jpg") for name in sheet.files}
    answer = shop.ann.client.post(sheet.action, data=data | files)
    again = [each for each in Sheets(answer.text).found if (each.name, each.action) == (sheet.name, sheet.action)]
    if not 400 <= answer.status_code < 500 or not again:
        yield f"{path} {sheet.name}: status {answer.status_code}, and {len(again)} such forms"
        return
    for name, text in typed.items():
        if again[0].typed.get(name) != text:
            yield f"{path} {sheet.name}: {name} is {again[0].typed.get(name)!r}"
    ticked = {(name, value) for name, value, checked in (*again[0].boxes, *again[0].radios) if checked}
    wanted = {(name, value) for name, value, _ in sheet.boxes if name in data} | set(sheet.chosen().items())
    for name, value in sorted(wanted - ticked):
        yield f"{path} {sheet.name}: {name} is not {value}"
    if 'class="fault"' not in answer.text and 'class="refused' not in answer.text:
        yield f"{path} {sheet.name}: nobody is told why"


def test_every_form_comes_back_as_it_was_filled_in(shop: Bench) -> None:
    """With something wrong in it, each field, choice and tick stands again as it was, with a sentence that says why."""
    forms = [each for each in shop.sheets() if each[2].typed or each[2].files or each[2].boxes]

    assert [] == [line for path, _, sheet in forms for line in lost(shop, path, sheet)]
    posts = {rule.endpoint for rule in shop.app.url_map.iter_rules() if "POST" in (rule.methods or ())}
    assert posts - UNTYPED == {endpoint for _, endpoint, _ in forms}
    assert set(_FORMS) <= {kind_of(sheet.name) for _, endpoint, sheet in forms if endpoint == "act"}


def test_no_id_stands_twice_on_a_page(shop: Bench) -> None:
    """A link leads to one place and a label to one field, also where there are two holds. Source: HTML, 3.2.6."""
    told = {path: Counter(re.findall(r'\sid="([^"]*)"', text)) for path, text in shop.pages.items()}

    assert {} == {path: twice for path, ids in told.items() if (twice := [name for name, n in ids.items() if n > 1])}


def test_after_the_end_of_a_shift_every_form_is_shown_in_words(shop: Bench) -> None:
    """Signed in again, one reads what was typed under the words of its field, not under the name that programs use."""
    forms = [each for each in shop.sheets() if each[2].typed or each[2].boxes or each[2].radios]
    shop.hours[0] = 12.5
    try:
        for path, endpoint, sheet in forms:
            if endpoint != "sign_in":
                assert [] == [f"{path} {sheet.name}: {line}" for line in unsaid(shop, sheet)]
    finally:
        shop.hours[0] = 0.0


def unsaid(shop: Bench, sheet: Sheet) -> Iterator[str]:
    """Send a form when nobody is signed in any more, sign in, and yield what is not shown in words, or not carried."""
    data, typed = filled(sheet)
    asked = Sheets(shop.ann.client.post(sheet.action, data=data).text).found
    carried = MultiDict(next(each for each in asked if each.action == "/sign-in").hidden)
    other = shop.app.test_client()  # the next form comes late, too
    carried["csrf"] = dict(Sheets(other.get("/sign-in").text).found[0].hidden)["csrf"]
    carried.update({"name": "Ann", "pin": PIN})
    page = other.post("/sign-in", data=carried).text
    pairs = re.findall(r"<dt>([^<]*)</dt><dd><span>([^<]*)</span>", page)
    names = {*typed, *(name for name, _, _ in (*sheet.boxes, *sheet.radios))}
    yield from (f"{name} stands there as it is called inside" for name in names & {name for name, _ in pairs})
    yield from {html.escape(text) for text in typed.values()} - {text for _, text in pairs}
    form = next(each for each in Sheets(page).found if each.action == sheet.action)
    yield from (f"{name} is not sent again" for name in data.keys() - {name for name, _ in form.hidden})
    of_code = re.fullmatch(r"/(\w{11})/\w+", sheet.action)
    about = r"Job \d+ · \d[\d.?]* \w" if of_code else "" if sheet.action.startswith("/capture") else r"Job \d+[ <]"
    if about and not re.search(f'<p class="meta">{about}', page):
        yield "nobody is told of what"
