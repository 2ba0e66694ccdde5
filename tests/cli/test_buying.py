"""`labelkit order --job`: what must be new, in packs, with what was condemned; figures from the demo's profile."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from labelkit.cli.kit import kit
from labelkit.cli.order import order
from labelkit.errors import LabelkitError, UsageError


@pytest.fixture(autouse=True)
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LABELKIT_STORE", "store.sqlite")
    assert CliRunner().invoke(kit, ["planetary-reducer", "--only", "cards", "--out", "kit"]).exit_code == 0


def ordered(words: str) -> Result:
    return CliRunner().invoke(order, words.split())


def line_of(words: str, number: str) -> dict[str, object]:
    data = json.loads(ordered(f"{words} --json").output)
    return next(line for line in data["lines"] if line["number"] == number)


def test_one_number_at_two_places_is_one_line_in_packs() -> None:
    """The O-ring 212 x 3.55 is in the ring-gear housing twice and in the input cover once; five are in a pack."""
    said = ordered("--job 1").output

    assert "G2B-1107  O-ring 212 x 3.55" in said
    assert "order 1 packs of 5 (need 3, 2 left over)" in said
    assert 1 == said.count("G2B-1107")


def test_what_was_condemned_is_ordered_and_says_why() -> None:
    """A planet that is renewed if worn is not in the order before, and is after."""
    assert "condemned" not in ordered("--job 1").output
    assert "condemned" in ordered("--job 1 --condemned 22.1").output


def test_the_shelf_is_taken_off_and_prices_are_exact() -> None:
    """Two of the three on the shelf: one pack of five at 2.50."""
    Path("counter.csv").write_text("number;price;on shelf;pack\nG2B-1107;2,50;2;5\n", encoding="utf-8")
    said = ordered("--job 1 --catalogue counter.csv --currency EUR").output

    assert "order 1 packs of 5 (need 3, 2 on the shelf, 4 left over), 2.50 EUR" in said


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("--job 1 --condemned 99", '"99": there is no such step or part'),
        ("--job 1 --condemned 9 --lost 10 --catalogue none.csv", "none.csv"),
        ("planetary-reducer", "what to order is of a job: labelkit order --job N; or add --assembly"),
    ],
)
def test_one_clear_message(words: str, message: str) -> None:
    """No traceback, and nothing printed that could be taken for an order."""
    done = ordered(words)

    assert isinstance(done.exception, LabelkitError | UsageError)
    assert message in str(done.exception)
    assert done.output == ""
