"""`labelkit fit`: what is typed is understood or told what is wrong, the sum is shown, a job fills in its profile."""

from __future__ import annotations

import ast
import importlib
import inspect
import json
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.cli.fit import KINDS, fit
from labelkit.errors import LabelkitError
from labelkit.store.jobs import Store
from tests.bench_app.workshop import SECRET, WAVE_PACK, Shell, open_job
from tests.shop import demo, profile_of

ROOT = Path(__file__).parents[2]
END_PLAY = ["--fitted", "2.60", "--target", "0.40:0.60", "--series", "2.00:3.50:0.15", "--thicker", "reduces"]
# What this command's own kinds are made of; the others have their own tests.
OWN = ("readings", "selective", "selecting", "showing", "fingerprint", "depthplay", "clutchplay")


def answer(*words: str) -> dict[str, Any]:
    """Return the answer of a kind as data."""
    result = run(*words, "--json")
    assert result.output, result.exception
    data = json.loads(result.output)
    assert result.exit_code == (1 if data["verdict"] in ("none", "refused", "out", "ask") else 0)
    return dict(data)


def run(*words: str) -> Result:
    return CliRunner().invoke(fit, list(words))


def complaint(*words: str) -> str:
    """Return what is said of input that is wrong."""
    result = run(*words)
    assert isinstance(result.exception, LabelkitError | click.ClickException | SystemExit)
    return str(result.exception) if isinstance(result.exception, LabelkitError) else result.output


def test_the_example_of_an_end_play() -> None:
    """The keys and figures that other programs rely on; worked here by hand: 2.60 + 1.10 - 0.50 = 3.20."""
    data = answer("end_play", "--reading", "1.08", "--reading", "1.10", "--reading", "1.12", *END_PLAY)

    expected = {"fit": "end_play", "mean": "1.10", "spread": "0.04", "window": ["3.10", "3.30"], "wanted": "3.20",
                "choice": ["3.20"], "predicted": "0.50", "verdict": "ok"}  # fmt: skip
    assert {key: data[key] for key in expected} == expected
    assert data["others"]
    assert data["notes"]


def test_the_sum_is_shown_with_units() -> None:
    """Lines that a person can check by hand, then the answer."""
    said = run("end_play", "--reading", "1.08,1.10,1.12", *END_PLAY).output

    assert "mean = (1.08 + 1.10 + 1.12) mm / 3 = 1.10 mm\n" in said
    assert "wanted = 2.60 mm + 1.10 mm - 0.50 mm = 3.20 mm\n" in said
    assert "3.20 mm: play = 1.10 mm - (3.20 mm - 2.60 mm) = 0.50 mm, inside\n" in said
    assert "end play: OK: take 3.20 mm, then 0.50 mm\n" in said


@pytest.mark.parametrize(
    ("typed", "mean"),
    [("1,10", "1.10"), ("1.10", "1.10"), ("0.104 in", "2.64"), ("3/32 in", "2.3812"), ("1.08,1.12", "1.10")],
)
def test_readings_are_understood_as_people_write_them(typed: str, mean: str) -> None:
    """Decimal comma, unit, fraction, list (0.104 in = 2.6416 mm, 3/32 in = 2.38125 mm, half to even)."""
    assert answer("end_play", "--reading", typed, "--target", "0.4:9")["mean"] == mean


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--reading", "abc", *END_PLAY], '--reading: "abc" is no length; write a number and its unit'),
        (["--reading", "1,250", *END_PLAY], "write the decimal mark as a point, 1.250 or 1250"),
        (["--reading", "-0.05", *END_PLAY], "a play or clearance is never below zero"),
        (["--reading", "5 kg", *END_PLAY], '"kg" is not a unit of length'),
        (["--reading", "1", "--target", "0.60:0.40"], "did you mean 0.40:0.60?"),
        (["--reading", "1", "--target", "0.40"], "found one value; allowed: LOW:HIGH"),
        (["--reading", "1", "--target=-0.1:0.4"], "never below zero"),
        (["--reading", "1"], "--target is missing"),
        (["--target", "0.4:0.6"], "--reading is missing"),
        (["--reading", "1", *END_PLAY[:4]], "--series is missing"),
        (["--reading", "1", *END_PLAY[:6]], "--thicker reduces or --thicker increases is missing"),
        (["--reading", "1", *END_PLAY, "--series", ""], '--series "": is empty'),
        (["--reading", "1", *END_PLAY, "--series", "2:3:0.15"], "do not reach 3 mm; list the sizes"),
        (["--reading", "1", *END_PLAY, "--series", "2.5,2.5"], "names 2.5 mm twice"),
        (["--reading", "1", *END_PLAY, "--aim", "0.7"], "--aim 0.7: lies outside the target"),
        (["--reading", "1", *END_PLAY, "--angle", "10"], "which gauge lean?"),
        (["--reading", "1", *END_PLAY, "--chain", "race"], "allowed: NAME=LENGTH"),
        (["--reading", "1", *END_PLAY, "--predicted", "0.5"], "one of the two"),
    ],
)
def test_what_cannot_be_understood_is_told(words: list[str], message: str) -> None:
    """Which option, what was given, what is allowed, what was probably meant."""
    assert message in complaint("end_play", *words)


def test_a_kind_that_is_not_there() -> None:
    """The nearest is named."""
    assert "did you mean end_play?" in complaint("endplay")


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_has_help_with_an_example(kind: str) -> None:
    """And the example is of this kind."""
    said = run(kind, "--help").output

    assert f"Example: labelkit fit {kind} " in said


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        # 0.022 in is 0.5588 mm: 0.0012 is less than a gauge of two decimals shows.
        ("end_play --reading 0.56 --target 0.004:0.022_in", {"verdict": "borderline"}),
        ("end_play --reading 0.50 --target 0.50:0.70", {"verdict": "ok"}),
        ("end_play --reading 1.41 --target 0.30:0.60 --predicted 0.41 --chain race=1.0",
         {"verdict": "out", "difference": "1.00",
          "suspects": [{"part": "race", "thickness": "1.0", "pieces": 1, "missing": True}]}),
        ("readings --reading 0.48,0.62,0.50,0.49 --spread 0.04", {"verdict": "refused", "mean": None}),
        ("readings --reading 0.55 --gauge lever --angle 15", {"mean": "0.53"}),
        ("series --series 0.059,0.075,0.091,0.107,0.123 --tol 0.002 --target 0.004:0.022 --unit in",
         {"series": "if measured", "largest_step": "0.016", "width_unmeasured": "0.014"}),
        ("stack --depth 34.22 --plate friction=5x2.52 --plate steel=5x2.01 --plate pressure=7.95 --target 1.40:1.80 "
         "--series 1.60:2.60:0.20 --state none", {"choice": ["2.00"], "predicted": "1.62"}),
        ("clearance --reading 2.60 --state free --limit-state flat --wave 0.80 --target 1:2", {"verdict": "ask"}),
        ("clearance --reading 2.60 --target 1:2", {"verdict": "ask"}),
        ("clearance --reading 1.50 --state none --target 1:2 --predicted 2.50 --chain disc=1.00",
         {"verdict": "unexpected", "suspects": [{"part": "disc", "thickness": "1.00", "pieces": 1, "missing": False}]}),
        ("step_gauge --first 0.074_in --second 0.147_in --goes first", {"verdict": "ok"}),
        ("swap --reading 1.45 --target 0.90:1.20 --steels 4 --old 1.80 --new 2.00", {"predicted": "1.05"}),
        ("depth_gauge --to-seat 12.45 --to-ring 12.10 --target 0.30:0.40", {"play": "0.35", "verdict": "ok"}),
        ("straightedge --over-bar 41.27 --bar 6.35 --other 39.90 --row 7=4.574:4.843 --row 8=4.844:5.113",
         {"gap": "4.98", "row": "8"}),
        ("rows --reading 0.191_in --row 1=4.574:4.843_mm;0.180:0.190_in --row 2=4.844:5.113_mm;0.192:0.201_in",
         {"row": "2", "verdict": "ok"}),
        ("retainer --depth 1.482 --thickness 1.375 --add 0.012 --unit in", {"wanted": "0.119"}),
        ("gasket_shim --depth 52.30 --height 49.10 --gasket 0.28 --gasket-state compressed --target 0.05:0.10 "
         "--series 3.30,3.40", {"choice": ["3.40"], "predicted": "0.080"}),
    ],
)  # fmt: skip
def test_each_kind_answers(words: str, expected: dict[str, Any]) -> None:
    """Figures worked here by hand; where from is said at the tests of each sum."""
    data = answer(*(word.replace("_", " ") if i else word for i, word in enumerate(words.split())))

    assert {key: data[key] for key in expected} == expected


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.integers(1, 80), min_size=1, max_size=4),
    st.integers(50, 120), st.integers(0, 20), st.integers(2, 40), st.sets(st.integers(40, 160), min_size=1, max_size=6),
    st.sampled_from(["reduces", "increases"]),
)  # fmt: skip
def test_inches_and_millimetres_agree(
    read: list[int], old: int, low: int, width: int, sizes: set[int], thicker: str
) -> None:
    """The same case in thousandths of an inch and in the same lengths in mm: verdict, choice, others."""

    def words(factor: str) -> list[str]:
        def text(number: int) -> str:
            return str(Decimal(number).scaleb(-3) * Decimal(factor))

        return ["end_play", *(word for each in read for word in ("--reading", text(each))), "--fitted", text(old),
                "--target", f"{text(low)}:{text(low + width)}", "--series", ",".join(map(text, sorted(sizes))),
                "--thicker", thicker, "--spread", text(10), "--tol", text(1)]  # fmt: skip

    inches, mm = answer(*words("1"), "--unit", "in"), answer(*words("25.4"))

    def in_mm(data: dict[str, Any], factor: str) -> list[Any]:
        offers = [data["choice"], *(other["choice"] for other in data["others"])]
        return [data["verdict"], *([Decimal(size) * Decimal(factor) for size in offer] for offer in offers)]

    assert in_mm(inches, "25.4") == in_mm(mm, "1")


def test_nothing_is_binary() -> None:
    """No float constant, no float() and no math in any module of these sums: decimals end to end."""
    for name in OWN:
        tree = ast.parse(inspect.getsource(importlib.import_module(f"labelkit.calc.{name}")))
        nodes = list(ast.walk(tree))
        assert not [n for n in nodes if isinstance(n, ast.Constant) and isinstance(n.value, float)]
        names = {n.id for n in nodes if isinstance(n, ast.Name)}
        assert not names & {"float", "round", "math"}


def test_fewer_readings_of_a_pack_than_its_sum_takes_cannot_be_asked_for(labelkit: Shell) -> None:
    """The help says how many by itself, and the option refuses fewer."""
    fewer = labelkit("fit", "clearance", "--readings", "3", "--reading", "2.83,2.88,2.85", "--state", "none")

    assert (2, True) == (fewer.status, "3 is not in the range x>=4" in fewer.err)
    assert "[default: 4; x>=4]" in labelkit("fit", "clearance", "--help").out


def test_no_answer_holds_a_float() -> None:
    """Every figure of an answer is text; a float would be a number in JSON."""
    found: list[Any] = [
        answer("end_play", "--reading", "1.08,1.10,1.13", *END_PLAY),
        answer("clearance", "--reading", "2.83,2.88", "--state", "none", *END_PLAY),
        answer("swap", "--reading", "1.45", "--target", "0.90:1.20", "--steels", "4", "--old", "1.80", "--new", "2.00"),
        answer("series", *END_PLAY[2:6]),
    ]
    while found:
        each = found.pop()
        assert not isinstance(each, float)
        found.extend(each.values() if isinstance(each, dict) else each if isinstance(each, list) else ())


@pytest.fixture
def labelkit(labelkit: Shell) -> Shell:
    """Runs the command in a folder whose store has a job on each demo unit."""
    with Store(str(labelkit.folder / "labelkit.sqlite"), secret=SECRET) as store:
        open_job(store, demo("planetary-reducer"))
        open_job(store, demo("marine-gear"))
    return labelkit


def test_a_job_fills_in_its_profile(labelkit: Shell) -> None:
    """Target, aim, series, sign, tolerance, pieces, spread and chain are those of the job's own profile."""
    shims = labelkit("fit", "--job", "2", "ahead-end-play", "--reading", "0.27", "--fitted", "0.30", "--fitted", "0.15",
                     "--json")  # fmt: skip
    ring = labelkit(
        "fit", "--job", "2", "clutch-clearance-ahead", "--reading", "2.83,2.88,2.85,2.84", "--fitted", "3.0"
    )
    lost = labelkit("fit", "--job", "1", "carrier-end-play", "--reading", "1.41,1.40,1.42", "--predicted", "0.41")

    assert json.loads(shims.out)["choice"] == ["0.50", "0.15"]
    assert "clearance: OK: take 3.6 mm, then 2.25 mm" in ring.out
    assert lost.status == 1
    assert re.search(r"1(\.0+)? mm is one Thrust race 50 x 70 x 1: is it missing\?", lost.out)


def test_a_job_knows_the_plates_of_its_stack(labelkit: Shell) -> None:
    """Frictions 0.15 thinner than 2.52: 2.60 leaves 1.77, and the discs are doubted; counts are the profile's."""
    words = ["fit", "--job", "1", "brake-stroke", "--plate", "friction-disc=2.37", "--plate", "steel-disc=2.01",
             "--plate", "pressure-plate=7.95", "--depth", "34.22"]  # fmt: skip
    thin = labelkit(*words)

    assert "stack: OK: take 2.60 mm, then 1.77 mm" in thin.out
    assert "Friction disc 2.50 measures 2.37 mm, the profile says 2.50: 0.13 mm thinner" in thin.out
    assert "no such plate; allowed: " in labelkit(*words, "--plate", "friction=2.5").err
    assert "the profile has 5 of them, not 4" in labelkit(*words, "--plate", "friction-disc=4x2.5").err


def test_readings_of_a_job_are_refused_beyond_its_spread(labelkit: Shell) -> None:
    """0.14 apart, over the profile's 0.04; how to seat the part are the profile's words."""
    said = labelkit("fit", "--job", "1", "carrier-end-play", "--reading", "0.48,0.62,0.50,0.49", "--fitted", "2.60")

    assert said.status == 1
    assert "over 0.04 mm; seat the part again: turn the sun shaft ten times" in said.out


def test_a_job_without_such_a_fit(labelkit: Shell) -> None:
    """The names that there are, also where none was said."""
    said = labelkit("fit", "--job", "1", "carrier-play", "--reading", "1")
    none = labelkit("fit", "--job", "1")

    assert (none.status, none.out) == (2, "")
    assert "which fit of this job? allowed: carrier-end-play, brake-stroke, output-preload" in none.err
    assert (said.status, said.out) == (1, "")
    assert "job 1 has no fit carrier-play; allowed: carrier-end-play" in said.err


PACK = (
    """\
format: 1
unit: {mark: W1, name: Pack, up: top}
series: {rings: {sizes: ["1.0", "1.2"]}}
parts:
"""
    + WAVE_PACK
    + """\
fits:
  gap: {kind: clearance, of: pack, state: wave flat, target: ["1.40", "1.80"], set_by: ring, thicker: reduces}
  high: {kind: stack, of: pack, state: wave free, target: ["1.40", "1.80"], set_by: ring}
  open: {kind: clearance, of: pack, target: ["1.40", "1.80"]}
"""
)


def test_the_wave_plate_of_a_job_is_asked_for(tmp_path: Path, labelkit: Shell) -> None:
    """The limit means it flat: not said, or measured free, nothing is chosen; 2.60 - 1.80 is 0.80 apart."""
    with Store(str(tmp_path / "labelkit.sqlite")) as store:
        open_job(store, profile_of(PACK))
    words = ["fit", "--job", "3", "gap", "--reading", "2.60", "--fitted", "1.0"]

    assert "how was it measured" in labelkit(*words).out
    assert "free and flat are 0.80 mm apart" in labelkit(*words, "--state", "free").out
    assert "NONE FITS" in labelkit(*words, "--state", "flat").out
    assert "does the limit mean it free or flat?" in labelkit("fit", "--job", "3", "open", "--reading", "1.6",
                                                              "--state", "flat").out  # fmt: skip
    # 2.60 free + 2.0 + 2.5 = 7.10; 9.70 - 7.10 = 2.60; with 1.0: 1.60
    assert "stack: OK: take 1.0 mm, then 1.60 mm" in labelkit("fit", "--job", "3", "high", "--depth", "9.70").out
