"""From the inspection to the sticker and back: `labelkit kit --condemned`, `proof` and `scan` of what it printed."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest

from labelkit.calc.codes import grouped
from tests.bench_app.workshop import Shell, called

VERDICTS = ("--condemned", "22.1=2", "--condemned", "32", "--condemned", "input-bearing")


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a job, its labels, and the stickers of what three verdicts bring about."""
    folder = tmp_path_factory.mktemp("shop")
    called(folder, "kit", "planetary-reducer", "--only", "labels,stickers,picklist", *VERDICTS, "--out", "kit")
    return folder


@pytest.fixture
def labelkit(labelkit: Shell, shop: Path) -> Shell:
    return replace(labelkit, folder=shop)


def stickers(shop: Path, kit: str = "kit") -> dict[str, dict[str, object]]:
    return {each["part"]: each for each in json.loads((shop / kit / "kit.json").read_text("utf-8"))["stickers"]}


def test_verdicts_bring_their_stickers_with_all_they_pull(shop: Path) -> None:
    """Two planets with all needle cages; a bearing's cone with its cup; a captured one with its circlip and guide."""
    names = {str(each["name"]): each for each in stickers(shop).values()}

    assert names["First-stage planet gear, 27 teeth"]["qty"] == 2
    assert names["Needle cage 25 x 31 x 17, planet 27 teeth"]["qty"] == 3
    assert {"Tapered bearing cone 80 x 125 x 29 (upper)", "Tapered bearing cup 125 (upper)"} <= names.keys()
    assert {
        "Deep-groove ball bearing 50 x 80 x 16",
        "Internal circlip DIN 472 - 80 x 2.5",
        "Oil guide ring",
    } <= names.keys()


def test_labels_and_stickers_are_proved_together(labelkit: Shell, shop: Path) -> None:
    """Each against its own pages; a kit that lacks one of the stickers does not pass."""
    said = labelkit("proof", "kit/labels.pdf", "kit/stickers.pdf", "--json")
    data = json.loads(said.out)

    assert said.status == 0
    assert {each["print"] for each in data["decoded"]} == {"labels", "stickers"}
    assert sum(each["print"] == "stickers" for each in data["decoded"]) == len(stickers(shop))

    manifest = json.loads((shop / "kit" / "kit.json").read_text("utf-8"))
    manifest["stickers"][0]["code"] = manifest["bins"][0]["code"]
    (shop / "other").mkdir()
    (shop / "other" / "kit.json").write_text(json.dumps(manifest), "utf-8")
    told = labelkit("proof", "kit/stickers.pdf", "--kit", "other")
    assert told.status == 1
    assert "WRONG stickers page 1: in the place of step 2 is" in told.out


def test_a_sticker_opens_the_card_of_its_part_as_a_new_part(labelkit: Shell, shop: Path) -> None:
    """By its code; the label of the same bin opens it without these words."""
    code = str(stickers(shop)["hub-circlip"]["code"])
    new = labelkit("scan", grouped(code)).out.splitlines()
    bins = json.loads((shop / "kit" / "kit.json").read_text("utf-8"))["bins"]
    old = labelkit("scan", next(each["code"] for each in bins if each["step"] == "13")).out.splitlines()

    assert new[0].startswith("NEW PART   External circlip DIN 471")
    assert new[3].startswith("STEP 13 ")
    assert grouped(code) in new[4]
    assert new[5:] == old[2:]
    assert not any("NEW PART" in line for line in old)


def test_the_sticker_of_what_goes_inside_another_opens_the_card_of_that_alone(labelkit: Shell, shop: Path) -> None:
    """Its own seat, size and mass, and what closes it in; nothing of its housing's, which weighs 20.5 kg."""
    said = labelkit("scan", str(stickers(shop)["input-bearing"]["code"])).out

    assert said.startswith(
        "NEW PART   Deep-groove ball bearing 50 x 80 x 16, which goes inside step 16   number G2B-1211"
    )
    assert "inside step 16 · G2B" in said
    assert "Lies on: step 16 · Brake housing" in said
    assert "Next: step 16.1 · Oil guide ring; it holds Deep-groove ball bearing" in said
    assert "Mass: 0.260 kg" in said
    assert "20.5 kg" not in said


def test_a_picture_of_stickers_opens_all_of_them(labelkit: Shell, shop: Path) -> None:
    """Each as a new part, with its own code."""
    said = labelkit("scan", "kit/stickers.pdf", "--json")
    cards = [json.loads(line) for line in said.out.splitlines()]

    assert said.status == 0
    assert {card["code"] for card in cards} == {each["code"] for each in stickers(shop).values()}
    assert all(card["new"] for card in cards)


def test_the_pick_list_is_cut_as_the_counters_own_file(labelkit: Shell, shop: Path) -> None:
    """Semicolons in, semicolons out: it opens in the same program. What the shelf has is not missing."""
    (shop / "counter.csv").write_text("number;price;on shelf\nG2B-1107;2,50;9\n", "utf-8")
    words = ("--only", "picklist", "--catalogue", "counter.csv", "--currency", "EUR", "--out", "list")
    said = labelkit("kit", "--job", "1", *words)
    text = (shop / "list" / "picklist.csv").read_text("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text, newline=""), delimiter=";"))

    assert said.status == 0
    assert {row["missing"] for row in rows if row["number"] == "G2B-1107"} == {"0"}


def test_single_stickers_go_on_a_started_sheet(labelkit: Shell, shop: Path) -> None:
    """Those of one step, from the fifth place on."""
    said = labelkit(
        *(
            "kit",
            "--job",
            "1",
            *VERDICTS,
            "--only",
            "stickers",
            "--steps",
            "16",
            "--first-sticker",
            "5",
            "--out",
            "more",
        )
    )
    labels = [each["label"] for each in stickers(shop, "more").values()]

    assert said.status == 0
    assert len(labels) == 3
    assert (labels[0]["x_mm"], labels[0]["y_mm"]) == (9.25, 43.5)  # the first of the second row of a4-4x12-46x21
    assert "3 stickers on a4-4x12-46x21" in said.out


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("--condemned 22.1=x", '--condemned "22.1=x": allowed: a step, or a step and how many, as in 9 or 22.1=2'),
        ("--condemned 9 --lost 9", "--lost 9: step 9 has another verdict already"),
        ("--condemned 22.1=4", "found 4 pieces; allowed: 1 to 3"),
        ("--first-sticker 99", "--first-sticker 99: a sheet of a4-4x12-46x21 has 48 stickers; allowed: 1 to 48"),
        ("--first-sticker 2 --sticker-stock roll-50", "a sheet of roll-50 has one piece; allowed: 1"),
        ("--sticker-stock none", "none"),
    ],
)
def test_what_cannot_be_meant_is_told(labelkit: Shell, shop: Path, words: str, message: str) -> None:
    """One line, and no folder."""
    said = labelkit("kit", "--job", "1", "--only", "stickers", *words.split(), "--out", "none")

    assert said.status != 0
    assert message in said.err
    assert not (shop / "none").exists()


def test_too_many_open_options_do_not_keep_a_kit_from_being_made(labelkit: Shell, shop: Path) -> None:
    """Eleven open groups are 2048 ways to order: labels are printed all the same, and why there is no list is told."""
    groups = "\n".join(f"  o{k}: {{name: O{k}, choices: {{a: A, b: B}}}}" for k in range(11))
    parts = "\n".join(f"  - {{id: p{k}, name: P{k}, renew: always, only: {{o{k}: a}}}}" for k in range(11))
    text = f"format: 1\nunit: {{mark: T1, name: Test, up: top}}\noptions:\n{groups}\nparts:\n{parts}\n"
    (shop / "many.yaml").write_text(text, "utf-8")
    said = labelkit("kit", "./many.yaml", "--out", "many")

    assert said.status == 0
    assert "no stickers and no pick list: the options o0, " in said.err
    assert (shop / "many" / "labels.pdf").exists()
    assert "the options o0, " in labelkit("kit", "./many.yaml", "--only", "stickers", "--out", "none").err
