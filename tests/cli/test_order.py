"""`labelkit order --assembly`: of a profile, and of a job with the steps of its labels."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from labelkit.store.jobs import Store
from tests.bench_app.workshop import PUMP, SECRET, Shell, open_job, pump, put_profiles


@pytest.fixture
def labelkit(labelkit: Shell) -> Shell:
    """Runs the command in a folder with the pump's profile and no store."""
    put_profiles(labelkit.folder, pump=PUMP)
    return labelkit


def job(folder: Path, **options: str) -> None:
    """Open a job; each of its labels would be printed with these options."""
    with Store(str(folder / "labelkit.sqlite"), secret=SECRET) as store:
        open_job(store, pump(), options=options, serial="4711")


def lines(labelkit: Shell, *words: str) -> dict[str, str]:
    """Return the lines of the order by their steps."""
    said = labelkit("order", "--assembly", *words)
    assert (0, "") == (said.status, said.err)
    return {line.split()[2]: line for line in said.out.splitlines() if re.match(r" +\d+  step ", line)}


def test_a_job_has_the_steps_of_its_labels(labelkit: Shell, tmp_path: Path) -> None:
    """Decided after the print, an option leaves a gap; a profile alone would count on."""
    job(tmp_path)
    with Store(str(tmp_path / "labelkit.sqlite")) as store:
        first = store.job(1)
        store.update_job(replace(first, options={"drive": "splined"}))
    of_job, of_profile = lines(labelkit, "--job", "1"), lines(labelkit, "./pump.yaml", "--option", "drive=splined")

    assert "Splined hub" in of_job["6"]
    assert "5" not in of_job
    assert "Splined hub" in of_profile["5"]
    assert len(of_job) == len(of_profile)


def test_a_job_keeps_its_own_profile(labelkit: Shell, tmp_path: Path) -> None:
    """What the file says today is not what lies in pieces."""
    job(tmp_path)
    (tmp_path / "pump.yaml").write_text(PUMP.replace("name: Cover\n", "name: Lid\n"), encoding="utf-8")

    assert lines(labelkit, "--job", "1")["2"].split()[3] == "Cover"
    assert lines(labelkit, "./pump.yaml")["2"].split()[3] == "Lid"


def test_a_job_is_named_with_its_options(labelkit: Shell, tmp_path: Path) -> None:
    """Number, serial, unit, and each option in words; nothing is assumed."""
    job(tmp_path, drive="splined")
    said = labelkit("order", "--assembly", "--job", "1")

    assert [
        "Job 1, serial 4711: Gear pump with relief valve, profile revision 3",
        "  drive splined: Splined shaft",
    ] == said.out.splitlines()[:2]
    assert "assumed" not in said.out


def test_what_was_assumed_is_said(labelkit: Shell) -> None:
    """A default is named as one, a chosen option is not, an open one says how to tell."""
    said = labelkit("order", "planetary-reducer", "--assembly", "--option", "output=splined").out

    assert "  brake b12: 12 springs, pockets at 12, 3, 6 and 9 empty; assumed, it is the default\n" in said
    assert "  output splined: Splined shaft with extension housing\n" in said
    assert re.search(r"  breather is open, its parts are marked \? \(look .*\): std or remote\n", said)
    assert "of no job: the labels of a job may have other steps, see --job\n" in said


def test_parts_of_an_open_option_are_marked(labelkit: Shell, tmp_path: Path) -> None:
    """Only one of the two goes in: each has its mark, also where others wait for it, and the condition."""
    job(tmp_path)
    order = lines(labelkit, "--job", "1")

    assert {"5?", "6?"} == {step for step in order if step.endswith("?")}
    assert order["5?"].endswith("  only if Drive = Keyed shaft")
    assert order["6?"].endswith("  only if Drive = Splined shaft")


def test_pieces_on_either_side_of_a_part_come_before_it_in_part(labelkit: Shell) -> None:
    """The needles lie on one race and under the other; the washer on top comes after both. Steps: the profile's own."""
    said = labelkit("order", "--assembly", "planetary-reducer").out

    assert re.search(r"step 18 +Thrust needle cage 50 x 70 x 3  after 19 in part\n", said)
    assert re.search(r"step 17 +Selective thrust washer  after .*19(,|\n)", said)


def test_a_rule_that_waits_for_a_doubtful_part_is_marked_too(labelkit: Shell, tmp_path: Path) -> None:
    """After 5? means: if there is one."""
    text = PUMP.replace("assembly:\n", "assembly:\n  - {first: key, then: plug, because: the plug holds it}\n")
    (tmp_path / "pump.yaml").write_text(text, encoding="utf-8")
    said = labelkit("order", "--assembly", "./pump.yaml").out

    assert re.search(r"step 7 +Plug M10  after (.*, )?5\?", said)
    assert "Plain reverse fails: step 5? must be in before step 7: the plug holds it" in said


def test_what_is_renewed_inside_another_goes_in_before_what_closes_it(labelkit: Shell) -> None:
    """Bearing and circlip that stay in the housing have a line before the ring that is staked over them."""
    said = labelkit("order", "planetary-reducer", "--assembly").out

    assert re.search(r"in 16 +Deep-groove.*\n +in 16 +Internal circlip.*renewed\n +\d+ +step 16.1 +Oil guide", said)


def test_json_says_whose_order_it_is(labelkit: Shell, tmp_path: Path) -> None:
    """Job, options, what was assumed, and when a doubtful part is there."""
    job(tmp_path)
    of_job = json.loads(labelkit("order", "--assembly", "--job", "1", "--json").out)
    of_profile = json.loads(labelkit("order", "marine-gear", "--assembly", "--json", "--option", "pto=none").out)

    assert (1, {"drive": None}, []) == (of_job["job"], of_job["options"], of_job["assumed"])
    assert {"5": "Drive = Keyed shaft", "6": "Drive = Splined shaft"} == {
        entry["step"]: entry["only"] for entry in of_job["order"] if "only" in entry
    }
    assert (None, "none") == (of_profile["job"], of_profile["options"]["pto"])
    assert of_profile["assumed"]
    assert "pto" not in of_profile["assumed"]


@pytest.mark.parametrize(
    ("words", "status", "message"),
    [
        ("", 2, "name a profile, or a job with --job"),
        ("./pump.yaml --job 1", 2, "a job has its own profile; name one of the two"),
        ("--job 2", 1, "job 2 is not in the store labelkit.sqlite; it holds 1 job"),
        ("--job 0", 1, "job 0 is not in the store"),
        (
            "--job 1 --option drive=splined",
            2,
            "--option drive=splined: job 1 has its own options (drive ?); "
            "decide one with `labelkit kit --job 1 --option drive=splined`",
        ),
    ],
)
def test_what_does_not_go_together_is_told(
    labelkit: Shell, tmp_path: Path, words: str, status: int, message: str
) -> None:
    """One sentence, no answer."""
    job(tmp_path)
    said = labelkit("order", "--assembly", *words.split())

    assert (status, "") == (said.status, said.out)
    assert message in said.err


def test_a_job_without_a_store_makes_none(labelkit: Shell, tmp_path: Path) -> None:
    """In the wrong folder."""
    said = labelkit("order", "--assembly", "--job", "1")

    assert (1, "") == (said.status, said.out)
    assert "there is no store labelkit.sqlite" in said.err
    assert ["photos", "pump.yaml"] == sorted(path.name for path in tmp_path.iterdir())
