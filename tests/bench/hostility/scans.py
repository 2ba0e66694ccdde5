"""What is typed and scanned: codes, addresses, the lines of offline cards, jobs that another store exported."""

from __future__ import annotations

import atexit
import io
import json
import os
import shutil
import sys
import tempfile
from contextlib import redirect_stderr, redirect_stdout, suppress
from functools import cache
from pathlib import Path
from random import Random
from typing import Any
from unittest.mock import patch

import click

from labelkit.bench.app import create_app
from labelkit.calc.codes import ALPHABET, LENGTH, is_genuine, read_code, serial_of
from labelkit.errors import LabelkitError
from labelkit.model.events import act_data
from labelkit.sheets.cards import card
from labelkit.sheets.jobview import JobView
from labelkit.sheets.lookup import Lookup, read_scan
from labelkit.sheets.offline import code_in, offline_card
from labelkit.store.exchange import export_job, import_job, read_job_file
from labelkit.store.jobs import Store
from tests.bench.hostility.mutate import figure, moved, near, text, tokens
from tests.bench.hostility.watch import Broken, Target
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import all_out, person, record, with_pin
from tests.bench_app.workshop import FITTED, SECRET, open_job, png, pump


@cache
def folder() -> Path:
    """Return a folder of this process, gone when it ends."""
    made = Path(tempfile.mkdtemp(prefix="hostile-"))
    atexit.register(shutil.rmtree, made, ignore_errors=True)
    return made


@cache
def _shop() -> tuple[Lookup, JobView, tuple[str, ...]]:
    store = Store(str(folder() / "scans.sqlite"), secret=SECRET)
    view = open_job(store, pump(FITTED), photos={"photos/cover.png": png()})
    cards = tuple(offline_card(card(view, each)).text for each in view.teardown.bins)
    codes = [view.code(each) for each in view.teardown.bins] + [view.new_code(each) for each in view.teardown.bins]
    return Lookup(store), view, (*cards, *codes, *(view.url(each) for each in view.teardown.bins))


def make(random: Random) -> list[str]:
    """Return lines that a hand scanner might type, or a person."""
    lines = []
    for _ in range(random.choice((1, 1, 2, 5))):
        whole = random.choice(_shop()[2])
        way = random.random()
        if way < 0.3:
            whole = tokens(random, whole, random.choice((1, 2)))
        elif way < 0.6:
            whole = near(random, near(random, whole))
        elif way < 0.7:
            whole = text(random)
        elif way < 0.75:
            whole = "".join(random.choice(ALPHABET) for _ in range(LENGTH))
        lines += whole.splitlines() or [""]
    return lines


def tries(case: list[str]) -> None:
    """Read the lines as one text, one by one, and as a hand scanner's."""
    lookup, view, _ = _shop()
    known = {view.code(each) for each in view.teardown.bins} | {view.new_code(each) for each in view.teardown.bins}
    for each in (*case, "\n".join(case)):
        code_in(each)
        for reads in (read_code, read_scan, lookup.job_of, lookup.find):
            try:
                found = reads(each)
            except LabelkitError:
                continue
            if isinstance(found, str):
                is_genuine(SECRET, found)
                serial_of(found)
            elif reads == lookup.find and read_scan(each) not in known:
                raise Broken(f"opened by what is no code of the job: {each!r}")
    told = list(lookup.scans(case))
    if "".join("".join(told).split()) != "".join("".join(case).split()):
        raise Broken("a line of the scanner is lost")
    for each in told:
        lookup.opens(each)


_CONTROLS = (b"\x00", b"\xff\xfe", b"\x1b[A", b"\r", b"\x0c", b"\x85", b"\t")


def make_typed(random: Random) -> bytes:
    """Return what a hand scanner sends to `labelkit scan -`, or what somebody types behind `labelkit scan`."""
    lines = "\n".join(make(random)).encode("utf-8", "surrogatepass")
    if random.random() < 0.4:
        at = random.randrange(len(lines) + 1)
        lines = lines[:at] + random.choice(_CONTROLS) + lines[at:]
    return lines


def tries_typed(case: bytes) -> None:
    """Run the command as a person does."""
    from labelkit.cli.scan import scan

    _shop()
    typed = case.decode("utf-8", "surrogateescape").replace("\x00", "")
    for words in (["-"], ["-", "--json"], ["--", typed[:200]]):
        stdin = io.TextIOWrapper(io.BytesIO(case), encoding="utf-8")
        out, err = io.StringIO(), io.StringIO()
        with (
            patch.object(sys, "stdin", stdin),
            patch.dict(os.environ, {"LABELKIT_STORE": str(folder() / "scans.sqlite")}),
            redirect_stdout(out),
            redirect_stderr(err),
            suppress(LabelkitError, click.ClickException, click.exceptions.Exit),
        ):
            scan.main(words, prog_name="labelkit scan", standalone_mode=False)
        for line in (out.getvalue() + err.getvalue()).splitlines():
            if "\x1b" in line or "\x00" in line:
                raise Broken(f"a control character reaches the terminal: {line!r}")


@cache
def _exported() -> dict[str, Any]:
    with Store(str(folder() / "export.sqlite"), secret=SECRET) as store:
        view = open_job(store, pump(FITTED), serial="4711", photos={"photos/cover.png": png()})
        sha = store.journal.keep_picture(png())
        bins = view.teardown.bins
        record(
            store,
            view,
            NOON,
            (bins[0].step, {"kind": "removed", "count": 6}),
            (bins[0].step, {"kind": "photo", "sha256": sha}),
            (None, {"kind": "noted", "note": "Öl"}),
            (None, {"kind": "hold", "why": "wait"}),
            (None, {"kind": "released", "of": 4, "why": "filled"}),
            *all_out(view, but={bins[0].step}),
            (bins[2].step, {"kind": "reading", "check": 0, "at": "apart", "values": ["5.00"], "unit": "mm"}),
            (bins[1].step, {"kind": "installed"}),
            (bins[1].step, {"kind": "verified"}),
        )
        act_data(store.journal.events(1)[0].act)
        return export_job(store, 1)


def _value(random: Random) -> Any:
    return random.choice((text(random), figure(random), 0, -1, 2**70, 1.5, float("nan"), True, None, [], {}, "removed"))


def make_job(random: Random) -> str:
    """Return the file of a job that somebody has edited."""
    if random.random() < 0.15:
        return tokens(random, json.dumps(_exported(), indent=1), 2)
    whole = _exported()
    times = random.choice((1, 1, 2, 4))
    if random.random() < 0.7:  # most of the file is the profile, most of what can be edited are events
        inner = random.choice(("events", "events", "events", "job", "photos"))
        whole = whole | {inner: moved(random, whole[inner], _value, times)}
    else:
        whole = moved(random, whole, _value, times)
    if isinstance(whole.get("events"), list) and random.random() < 0.7:
        for number, event in enumerate(whole["events"], 1):
            if isinstance(event, dict):
                event |= {"number": number}
    return json.dumps(whole, ensure_ascii=random.random() < 0.9)


@cache
def empty_store() -> bytes:
    """Return the file of a store with a PIN and no job."""
    path = folder() / "empty.sqlite"
    with Store(str(path), secret=SECRET) as store:
        with_pin(store)
    return path.read_bytes()


def tries_job(case: str) -> None:
    """Import it into an empty store; what is taken is read again, by the bench and by the export."""
    path = folder() / "import.sqlite"
    for each in folder().glob("import.sqlite*"):
        each.unlink()
    path.write_bytes(empty_store())
    with Store(str(path), secret=SECRET) as store:
        try:
            job = import_job(store, read_job_file(case, "job.json"))
        except LabelkitError:
            if store.jobs():
                raise Broken("refused, and yet there is a job") from None
            raise
        exported = export_job(store, job.number)
        json.dumps(exported)
        app = create_app(store, clock=lambda: NOON)
        app.testing = True
        ann = person(app)
        codes = [Lookup(store).view(job.number).code(each) for each in Lookup(store).view(job.number).teardown.bins[:3]]
        base = f"/job/{job.number}"
        pages = ("", "/next", "/wash", "/parts", "/fits", "/sign-off", "/report", ".json", "/correct/1")
        for address in ("/", "/jobs.json", *(base + page for page in pages), *(f"/{code}" for code in codes)):
            status = ann.client.get(address).status_code
            if status >= 500:
                raise Broken(f"{address} answers {status}")


TARGETS = (
    Target("codes and cards", make, tries),
    Target("scan -", make_typed, tries_typed),
    Target("job import", make_job, tries_job),
)
