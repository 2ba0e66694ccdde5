"""What README and DEVELOPERS tell to type, typed: in their order, in one new folder, as by somebody who reads them."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Final

import pytest
from PIL import Image

from labelkit.cli.main import COMMANDS
from labelkit.load.catalogue import parse_catalogue
from labelkit.proof.raster import pictures_of
from labelkit.sheets.lookup import Lookup
from labelkit.store.jobs import Store
from tests.bench_app.workshop import Shell, ended_at_once, open_job, pump
from tests.shop import DEMO_UNITS, ROOT

DEMO: Final = ".venv/bin/labelkit kit"
# These install, test or measure the whole house: `.ci/run` runs the first two, a hand the others. Of the last the tests
# of the bench start two processes on a PostgreSQL of their own.
BY_HAND: Final = (".ci/run", "python3 -m venv", "python -m ", "pytest", "LABELKIT_STORE=postgresql")
# A unit that lies in pieces cannot be closed, and a play that is not as predicted is told by the end status too.
REFUSED: Final = {
    'labelkit job close 1 --by "A. Fitter"': "points open",
    "labelkit fit --job 1 carrier-end-play --reading 1.41,1.40,1.42 --predicted 0.41": "is one Thrust race",
}
EXAMPLE_CODE: Final = "7K3M-9Q2X-F4H"


def commands(document: str) -> list[str]:
    """Return the lines of all shell blocks of a document."""
    text = (ROOT / document).read_text(encoding="utf-8")
    return [line for block in re.findall(r"^```sh\n(.*?)^```", text, re.M | re.S) for line in block.splitlines()]


@pytest.fixture
def labelkit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Shell:
    monkeypatch.delenv("LABELKIT_STORE", raising=False)
    ended_at_once(monkeypatch)
    (tmp_path / "unit_profiles").mkdir()
    for name in DEMO_UNITS:  # what somebody made beside them as the README says is theirs
        (tmp_path / "unit_profiles" / f"{name}.yaml").write_bytes(
            (ROOT / "unit_profiles" / f"{name}.yaml").read_bytes()
        )
    (tmp_path / "counter.csv").write_text("number,name,pack,price (EUR),on shelf\nX-1,Seal,5,2.10,3\n")
    return Shell(tmp_path, monkeypatch, capsys)


def photographed(folder: Path) -> None:
    page = list(pictures_of((folder / "kit" / "labels.pdf").read_bytes(), "labels.pdf", dpi=150))[-1]
    Image.fromarray(page.pixels).save(folder / "photo.jpg")


def captured(folder: Path) -> None:
    """Open jobs until there is the fourth, in whose place the reader has one that was captured at the bench."""
    with Store(str(folder / "labelkit.sqlite")) as store:
        while store.find(4) is None:
            open_job(store, pump())


# What the reader has at hand before a line.
AT_HAND: Final[dict[str, Callable[[Path], None]]] = {
    "labelkit scan photo.jpg": photographed,
    "labelkit kit --job 4 --out job-4": captured,
}


def test_every_command_of_the_readme_does_what_it_says(labelkit: Shell) -> None:
    """From the demo kit, whose files its table names, to the last line; but for what a unit in pieces is refused."""
    lines = commands("README.md")
    first = next(line for line in lines if DEMO in line)
    assert 0 == labelkit("kit", *shlex.split(first.partition(DEMO)[2])).status
    with Store(str(labelkit.folder / "labelkit.sqlite")) as store:
        view = Lookup(store).view(1)
    plate = next(each for each in view.teardown.bins if each.part.id == "friction-disc")
    failed = []
    for line in lines:
        if line.startswith(BY_HAND):
            continue
        if prepare := AT_HAND.get(line):
            prepare(labelkit.folder)
        words = shlex.split(line.replace(EXAMPLE_CODE, view.new_code(plate)))
        said = labelkit(*words[1:], stdin=view.code(plate).encode())
        expected = REFUSED.get(line, "")
        if words[0] != "labelkit" or (said.status == 0) == bool(expected) or expected not in said.out + said.err:
            failed.append(f"{line}\n  ends with {said.status}: {said.err[-400:]}")

    assert not failed, "\n".join(failed)
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    files = {re.sub(r"tray-[A-Z]+", "tray-A", path.stem) for path in (labelkit.folder / "kit").iterdir()}
    assert [] == [stem for stem in files if f"`{stem}." not in text]


def test_the_readme_shows_every_command() -> None:
    """One that it does not show is found by nobody who begins."""
    shown = {words[1] for words in map(shlex.split, commands("README.md")) if words[0] == "labelkit"}

    assert set() == COMMANDS.keys() - shown


def test_the_columns_of_a_catalogue_are_read_as_the_readme_names_them() -> None:
    """Typed as headings, none is left out, the price among them."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    names = re.findall("`(.+?)`", readme.partition("CSV file with the columns")[2].partition(";")[0])
    read = parse_catalogue(f"{','.join(names)}\nX-1,Seal,Shop,5,2.10,3,A1\n".encode(), "counter.csv")

    assert (7, ()) == (len(names), read.ignored)
    assert "2.10 EUR" == str(read.catalogue.entries["X-1"].price)


def test_developers_are_told_no_other_command() -> None:
    """What they type is run by who types it, and by the checks of every change."""
    assert [] == [line for line in commands("DEVELOPERS.md") if not line.startswith(BY_HAND)]
