"""The kinds of `labelkit fit`: every example of their help runs, a profile's fit has its kind, bad input is told."""

from __future__ import annotations

import json
import re
import shlex
from typing import get_args

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.fitsums import work_out
from labelkit.cli.fit import KINDS, fit
from labelkit.errors import LabelkitError, UsageError
from labelkit.model.profile import READ, Fit
from labelkit.sheets.wording import FIT_KINDS


def run(line: str) -> tuple[int, str]:
    """Return exit status and output of `labelkit fit LINE`."""
    result = CliRunner().invoke(fit, shlex.split(line))
    if isinstance(result.exception, LabelkitError):
        return result.exception.exit_status, str(result.exception)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


def examples(kind: str) -> list[str]:
    """Return the examples in a kind's help, without `labelkit fit`."""
    _, text = run(f"{kind} --help")
    told = text.partition("Example:")[2].partition("Options:")[0]
    return [each.strip() for each in re.split(r"labelkit fit", " ".join(told.split())) if each.strip()]


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_example_of_the_help_answers(kind: str) -> None:
    """An example that is shown works, with a verdict, a sum, and no float; --json says the same as the lines."""
    found = examples(kind)

    assert found
    for line in found:
        status, output = run(f"{line} --json")
        data = json.loads(output, parse_float=lambda text: pytest.fail(f"a float: {text}"))
        assert data["sum"]
        assert status == (data["verdict"] in ("out", "none", "ask", "refused"))
        assert run(line)[1].startswith(data["sum"][0])


@pytest.mark.parametrize("kind", get_args(Fit.model_fields["kind"].annotation))
def test_every_kind_of_a_profiles_fit_has_its_sum_its_command_and_its_word(kind: str) -> None:
    """A kind that a profile may name can be worked out; without figures the sum asks for one."""
    assert kind in KINDS
    assert kind in FIT_KINDS
    assert kind in READ
    with pytest.raises(UsageError, match="--"):
        work_out(kind, {"unit": "mm"})


@pytest.mark.parametrize(
    ("line", "status", "said"),
    [
        ('limit --reading 0.56 --max "0.022 in"', 0, "limit: BORDERLINE"),
        ("limit --reading 0,61 --target 0.20:0.60", 1, "limit: OUT"),
        ('wear --new 2.10 --allowance "1/128 in" --reading 1.97 --unit mm', 0, "wear: OK"),
        ("torque --torque 48 --unit lb-ft --set '48 N·m'", 1, "26 % under"),
        ("torque --torque 48 --wrench lb-ft --set 48", 1, "48 lbf·ft is 36 % over"),
        ('preload --reading "35 lbf in" --new "5:45 lbf in" --used "10:30 lbf in"', 1, "new or used?"),
        ("preload --fitted 5.40 --play 0.12 --target 0.03:0.07 --unit mm --series 5.20:5.30:0.05", 0, "5.25 mm"),
        ('heating --interference 0.03 --diameter 50 --cap "275 F" --room "68 F"', 0, "cap 135 °C"),
        ("tightening --pattern 1,3,2,4 --screws 4", 0, "own list: 1-3-2-4"),
        ("teeth --sun 18 --planet 30 --option a=21:27", 1, "unknown variant"),
        ("clock --degrees 150 --from above", 0, "7:00"),
    ],
)
def test_what_people_type(line: str, status: int, said: str) -> None:
    """Commas, fractions and units are understood; the answer and its exit status agree."""
    got, output = run(line)

    assert (got, said in output) == (status, True), output


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("limit --reading abc --max 1", '--reading: "abc" is no length'),
        ("limit --reading 1 --target 0.6:0.2", "did you mean 0.2:0.6?"),
        ("limit --reading 1 --target 0.2:0.6 --max 3", "either --target LOW:HIGH"),
        ("stackup --add case=168.4", '--add "case=168.4": allowed: NAME=SIZE:TOL'),
        ("preload", "either --reading"),
        ("preload --trial 5.3 --trial 5.2", "allowed: SIZE=TORQUE"),
        ("preload --trial 5.3=1 --trial 5.2=2", "which preload is wanted?"),
        ("preload --fitted 5.40 --play 0.1", "--fitted, --play and --squeeze go together"),
        ("torque --torque 48 --wrench furlong", '"furlong" is not a unit of torque'),
        ("torque --torque 48 --range 1:2:3", "LOW:HIGH, or the highest figure"),
        ("tightening --pattern 1,x --screws 2", 'found "x"'),
        ("tightening --pattern 1- --screws 2", 'found ""'),
        ("clock", "either --at 5:00"),
        ("teeth --sun 21", "either --sun and --planet"),
        ("teeth --sun 21 --planet 27 --option a", "allowed: NAME=A:B"),
        ("plates --found S --wanted S --name F", "allowed: PLATE=NAME"),
        ("spring --wire 4 --mean 18 --coils 5 --length 3", "--length goes with --free"),
        ("passes --torque 60 --shares 1,0.5", "rising shares"),
        ("wear --new 2.10 --reading 1.97 --allowance ''", "--allowance"),
        ("backlash --reading 1 --pitch-radius 40 --lever-radius 80 --max 2 --target 0:1", "either --target LOW:HIGH"),
    ],
)
def test_bad_input_is_told(line: str, said: str) -> None:
    """Exit status 2, and a text that names the option, what was given and what is allowed."""
    status, output = run(line)

    assert status == 2
    assert said in output


_NUMBERS = st.sampled_from(
    ["0", "-1", "0.00000000001", "99999999999", "1e10", "9e-11", "3", "7/8", "12 in", "2 N·m", "5 lbf"]
)
_LINES = [
    "limit --reading={} --max={} --resolution={}",
    "backlash --reading={} --pitch-radius={} --lever-radius={}",
    "wear --new={} --reading={} --allowance={}",
    "cone --height={} --thickness={} --max={}",
    "spring --wire={} --mean={} --coils={} --squeezed=9e10",
    "spring_load --load={} --at={} --max={}",
    "cover --springs=99 --rate={} --squeezed={} --pitch={}",
    "release --force={} --area={}",
    "bushing --bore={} --journal={} --max={}",
    "heating --interference={} --diameter={} --cap={}",
    "preload --reading={} --radius={} --drag={}",
    "preload --trial={}=3 --trial={}={} --aim=4 --series=1,2",
    "preload --fitted={} --play={} --squeeze={} --series=1,2",
    "stackup --add=a={}:{} --less=b={}:1",
    "torque --torque={} --length={} --adapter={} --wrench=lb-in --set=7",
    "passes --torque={} --shares={},{}",
    "torque_angle --snug={} --angle={} --pitch={}",
    "clamping --torque={} --diameter={}",
]


@given(line=st.sampled_from(_LINES), numbers=st.lists(_NUMBERS, min_size=3, max_size=3))
@settings(max_examples=50, deadline=None)
def test_no_figure_is_too_odd(line: str, numbers: list[str]) -> None:
    """Very large, very small, of another kind: an answer or a clear text, never a traceback."""
    status, output = run(line.format(*(f"'{number}'" for number in numbers)))

    assert status in (0, 1, 2)
    assert output
