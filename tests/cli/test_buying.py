"""`labelkit order --job`: what must be new, in packs, with what was condemned; figures from the demo's profile."""

from __future__ import annotations

import json
import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from labelkit.cli.kit import kit
from labelkit.cli.order import order
from labelkit.errors import LabelkitError, UsageError
from labelkit.model.events import Entry, act_of
from labelkit.sheets.lookup import Lookup
from labelkit.store.jobs import Store
from tests.bench_app.workshop import called


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a job on the reducer and its kit."""
    folder = tmp_path_factory.mktemp("shop")
    called(folder, *["kit", "planetary-reducer", "--only", "cards", "--out", "kit"])
    return folder


@pytest.fixture(autouse=True)
def job(shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each test has a copy of its own."""
    shutil.copytree(shop, tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LABELKIT_STORE", "labelkit.sqlite")


def ordered(words: str) -> Result:
    return CliRunner().invoke(order, words.split())


def line_of(words: str, number: str) -> dict[str, object]:
    data = json.loads(ordered(f"{words} --json").output)
    return next(line for line in data["lines"] if line["number"] == number)


def test_one_number_at_two_places_is_one_line_in_packs() -> None:
    """The O-ring 212 x 3.55 is in the ring-gear housing twice and in the input cover once; five are in a pack."""
    said = ordered("--job 1").output

    assert "G2B-1107  O-ring 212 x 3.55" in said
    assert "order 1 pack of 5 (need 3, 2 left over)" in said
    assert 1 == said.count("G2B-1107")


def test_what_was_condemned_is_ordered_and_says_why() -> None:
    """A planet that is renewed if worn is not in the order before, and is after."""
    before = ordered("--job 1").output
    assert "condemned" not in before
    assert "Not final: 35 parts that are renewed if worn are not judged yet: 1 Fill, level and drain plug" in before
    assert "8 Input cover (motor flange); and 29 more\n" in before
    assert "condemned" in ordered("--job 1 --condemned 22.1").output


def test_the_shelf_is_taken_off_and_prices_are_exact() -> None:
    """Two of the three on the shelf: one pack of five at 2.50; what was taken from the shelf is not on it."""
    Path("counter.csv").write_text("number;price;on shelf;pack\nG2B-1107;2,50;2;5\n", encoding="utf-8")
    said = ordered("--job 1 --catalogue counter.csv --currency EUR").output

    assert "order 1 pack of 5 (need 3, 2 on the shelf, 4 left over), 2.50 EUR" in said
    recorded(("cover-oring", {"kind": "received", "pieces": 1}))
    said = ordered("--job 1 --catalogue counter.csv --currency EUR").output
    assert "order 1 pack of 5 (need 3, 1 on the shelf, 1 from the shelf, 4 left over), 2.50 EUR" in said


def test_a_part_of_an_open_option_is_priced_either_way() -> None:
    """Two breathers, of which the unit has one: two totals, and each line says when it is needed."""
    Path("counter.csv").write_text("number;price;on shelf\nG2B-1103;14,00;0\nG2B-1104;19,90;0\n", encoding="utf-8")
    condemned = "--condemned breather-std --condemned breather-remote"
    said = ordered(f"--job 1 {condemned} --catalogue counter.csv --currency EUR").output

    assert "if Breather = Breather on the output housing: order 1 (need 1), 14.00 EUR" in said
    assert "if Breather = Breather on the output housing: order 0 (need 0), 0.00 EUR" in said
    assert "Total if Breather = Breather on the output housing: 14.00 EUR" in said
    assert "Total if Breather = Remote breather, hose to the tank: 19.90 EUR" in said


def test_a_matched_pair_is_ordered_as_a_pair_and_its_serials_are_asked_for() -> None:
    """The upper bearing's cone brings its cup."""
    said = ordered("--job 1 --condemned 32").output

    assert "order as a pair with Tapered bearing cup 125 (upper)" in said
    assert "matched with Tapered bearing cone 80 x 125 x 29 (upper)" in said
    assert said.count("matched: write down its serial number") == 2


def test_it_says_whom_a_shortage_blocks_and_what_can_be_built() -> None:
    """The captured bearing blocks the brake housing, not the output shaft."""
    said = ordered("--job 1 --condemned input-bearing").output.splitlines()

    assert "Short: the first step that waits is 35, for Radial shaft seal 110 x 140 x 12" in said
    assert "Output shaft, flange: can be built" in said
    assert any(line.startswith("Brake housing: waits for Oil guide ring, Internal circlip") for line in said)


def test_some_pieces_of_a_part_can_be_condemned() -> None:
    """Two of three planets."""
    assert "order 2 (need 2)" in ordered("--job 1 --condemned 22.1=2").output


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("--job 1 --condemned 99", '"99": there is no such step or part'),
        ("--job 1 --condemned 9 --lost 10 --catalogue none.csv", "none.csv"),
        ("--job 1 --condemned 9 --lost 9", "--lost 9: step 9 has another verdict already; keep one of them"),
        ("--job 1 --condemned 22.1=9", "found 9 pieces; allowed: 1 to 3"),
        ("planetary-reducer", "what to order is of a job: labelkit order --job N; or add --assembly"),
    ],
)
def test_one_clear_message(words: str, message: str) -> None:
    """No traceback, and nothing printed that could be taken for an order."""
    done = ordered(words)

    assert isinstance(done.exception, LabelkitError | UsageError)
    assert message in str(done.exception)
    assert done.output == ""


def recorded(*acts: tuple[str | None, dict[str, object]]) -> None:
    """Write acts into the record of job 1, each at the first place of a part."""
    with Store("labelkit.sqlite", create=False) as store:
        view = Lookup(store).view(1)
        places = {each.part.id: each.ordinal for each in (*view.teardown.inside, *reversed(view.teardown.bins))}
        when, last = datetime(2026, 3, 2, 9, tzinfo=UTC), store.journal.last(1)
        entries = [
            Entry(act_of(act), "Ann", when, f"token-{last + number:04}", None if part is None else places[part])
            for number, (part, act) in enumerate(acts)
        ]
        store.journal.append(1, entries)


def test_what_the_bench_recorded_is_ordered() -> None:
    """Condemned and lost at the bench as if it had been typed here; typed besides, both count."""
    words = "--json --job 1"
    typed = json.loads(ordered(f"{words} --condemned 32 --lost 22.1=2").output)
    before = json.loads(ordered(words).output)
    recorded(
        ("upper-cone", {"kind": "condemned", "why": "pitted"}),
        ("planet-1-27", {"kind": "condemned", "why": "not found", "pieces": 2, "lost": True}),
    )

    assert typed == json.loads(ordered(words).output) != before
    assert typed == json.loads(ordered(f"{words} --condemned 32").output)


def test_a_verdict_that_is_typed_counts_before_the_recorded_one() -> None:
    """Two of the planets at the bench, all three on second thoughts."""
    recorded(("planet-1-27", {"kind": "condemned", "why": "worn", "pieces": 2}))

    assert "order 2 (need 2)" in ordered("--job 1").output
    assert "order 3 (need 3)" in ordered("--job 1 --condemned 22.1").output


def test_what_was_ordered_and_what_came_is_not_ordered_again() -> None:
    """Three rings are needed and are in packs of five: one pack, and nothing is left to order."""
    recorded((None, {"kind": "ordered", "number": "G2B-1107", "pieces": 5}))
    line = line_of("--job 1", "G2B-1107")
    said = ordered("--job 1").output
    assert (0, 0) == (line["ways"][0]["short"], line["ways"][0]["packs"])
    assert "order 0 packs of 5 (need 3, 5 on the way)" in said
    assert "G2B-1107" in [each["number"] for each in json.loads(ordered("--job 1 --json").output)["missing"]]

    recorded((None, {"kind": "received", "number": "G2B-1107", "pieces": 5}))
    data = json.loads(ordered("--job 1 --json").output)
    assert "G2B-1107" not in [each["number"] for each in data["missing"]]
    at = {"number": "G2B-1107", "ordered": 5, "came": 5, "from_shelf": 0, "returned": 0, "ready": 0, "coming": 0}
    assert {**at, "used": 0, "spare": 0, "former": 0, "formerly": []} in data["supply"]
    assert "(need 3, 5 came)" in ordered("--job 1").output


def test_what_lies_ready_blocks_no_step() -> None:
    """Bolts that are used once block their step until they came; sent back, they block it again."""
    said = ordered("--job 1").output
    lines = [line for line in said.splitlines() if "blocks step" in line and "Through bolt" in line]
    assert lines
    recorded(("through-bolts", {"kind": "received", "pieces": 12}))
    assert lines[0] not in ordered("--job 1").output
    back = {"kind": "returned", "number": "G2B-1207", "pieces": 12, "counted": 12, "why": "too short"}
    recorded(("through-bolts", back))
    assert lines[0] in ordered("--job 1").output
    assert "order 12 (need 12, 12 came, 12 sent back)" in ordered("--job 1").output


def test_what_a_trial_assembly_used_up_is_said_to_be() -> None:
    """The tab washer came, went in and came out again: it is ordered once more, and nobody wonders why."""
    for kind, fields in (("received", {"pieces": 1}), ("installed", {"new": True}), ("removed", {"count": 1})):
        recorded(("tab-washer", {"kind": kind, **fields}))

    assert "order 1 (need 1, 1 came, 1 out of use)" in ordered("--job 1").output


def test_stickers_are_made_of_what_the_bench_condemned() -> None:
    """Nobody types the verdicts a second time."""
    words = ["--job", "1", "--only", "stickers,picklist", "--out"]
    assert 0 == CliRunner().invoke(kit, [*words, "before"]).exit_code
    recorded(("upper-cone", {"kind": "condemned", "why": "pitted"}))
    assert 0 == CliRunner().invoke(kit, [*words, "after"]).exit_code
    before, after = (
        {each["part"] for each in json.loads(Path(name, "kit.json").read_text("utf-8"))["stickers"]}
        for name in ("before", "after")
    )

    assert {"upper-cone", "upper-cup"} <= after - before
