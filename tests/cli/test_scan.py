"""`labelkit scan`: from a code, a picture or a hand scanner to the card."""

from __future__ import annotations

import io
import json
import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import segno
from PIL import Image, ImageFilter

from labelkit.calc.codes import grouped
from labelkit.model.acts import Hold, Removed
from labelkit.model.events import Entry
from labelkit.sheets.cardlines import card_lines
from labelkit.sheets.cards import card
from labelkit.sheets.jobview import JobView
from labelkit.sheets.offline import offline_card
from labelkit.store.jobs import Store
from tests.bench_app.workshop import PUMP, SECRET, Shell, bin_of, code_of, open_job, pump


@pytest.fixture
def view(tmp_path: Path) -> JobView:
    with Store(str(tmp_path / "labelkit.sqlite"), secret=SECRET) as store:
        return open_job(store, pump())


@pytest.fixture
def labelkit(labelkit: Shell, view: JobView) -> Shell:
    """Runs the command where the job is."""
    return labelkit


def terminal(view: JobView, part: str) -> str:
    return "\n".join(card_lines(card(view, bin_of(view, part)))) + "\n"


@pytest.mark.parametrize(
    "typed", ["{code}", "{grouped}", "{lower}", "http://10.0.0.5:8080/{code}", "2 Cover × 1\nFREE\n{grouped}"]
)
def test_a_code_opens_its_card(labelkit: Shell, view: JobView, typed: str) -> None:
    """A code in any spelling, the printed address, and an offline label's words."""
    code = code_of(view, "cover")

    said = labelkit("scan", typed.format(code=code, lower=code.lower(), grouped=grouped(code)))

    assert (0, terminal(view, "cover"), "") == (said.status, said.out, said.err)


def test_under_the_card_stands_what_the_record_says_of_the_part(labelkit: Shell, view: JobView) -> None:
    """Where it is, why it is held, what was noted and what is open: as the head of its card at the bench."""
    screws, cover = bin_of(view, "cover-screws"), terminal(view, "cover")
    with Store(str(labelkit.folder / "labelkit.sqlite"), secret=SECRET) as store:
        for number, act in enumerate((Removed(count=5, note="one fell"), Hold(why="owner looks"))):
            entry = Entry(act, "Ana", datetime(2026, 3, 2, 7, 30, tzinfo=UTC), f"token-{number:03}", screws.ordinal)
            store.journal.append(view.job.number, [entry])

    said = labelkit("scan", view.code(screws)).out.removeprefix(terminal(view, "cover-screws"))
    lost = "record them as lost, so that new ones are ordered (Condemn pieces, or lost), or note a deviation"
    missing = f"5 came out, the profile has 6: look where the others are, {lost}"
    assert said.splitlines() == [
        "",
        "Where it is: out, 5 of 6 counted",
        "ON HOLD: owner looks (Ana, 2026-03-02 07:30 UTC)",
        "out, 5 counted; one fell (Ana, 2026-03-02 07:30 UTC)",
        f"Open: Cover screw M8 x 30: {missing}",
    ]
    assert f"{cover}\nWhere it is: in the unit\n" == labelkit("scan", code_of(view, "cover")).out


def test_a_code_may_be_typed_in_pieces(labelkit: Shell, view: JobView) -> None:
    """As it is printed, with blanks for the dashes; two codes at once are refused, and nothing is shown."""
    cover, seal = (grouped(code_of(view, part)) for part in ("cover", "seal"))

    said = labelkit("scan", *cover.split("-"))
    assert (0, terminal(view, "cover")) == (said.status, said.out)
    both = labelkit("scan", cover, seal)
    assert (2, "") == (both.status, both.out)
    assert cover in both.err


def test_json_is_one_card_a_line(labelkit: Shell, view: JobView) -> None:
    """Each line is a whole card that another program reads."""
    codes = [code_of(view, part) for part in ("cover", "seal")]

    said = labelkit("scan", "-", "--json", stdin="\n".join(codes).encode())

    assert codes == [json.loads(line)["code"] for line in said.out.splitlines()]
    assert "× 1" in said.out


def test_a_hand_scanner_goes_on_after_a_bad_line(labelkit: Shell, view: JobView) -> None:
    """Each line is answered; a bad one is told on stderr and makes the end status 1, and the next one still opens."""
    lines = [code_of(view, "cover"), "garbage", "", "7K3M-9Q2X-F4A", code_of(view, "seal")]

    said = labelkit("scan", "-", stdin="\r\n".join(lines).encode())

    assert 1 == said.status
    assert terminal(view, "cover") + "\n" + "=" * 72 + "\n" + terminal(view, "seal") == said.out
    assert ['labelkit: "garbage" is not a code', 'labelkit: "7K3M-9Q2X-F4A" is a mistyped code'] == [
        line.partition(":")[0] + ":" + line.partition(":")[2].partition(":")[0] for line in said.err.splitlines()
    ]


def test_good_lines_end_with_0(labelkit: Shell, view: JobView) -> None:
    """Blank lines are nothing, and no line at all is no error."""
    assert 0 == labelkit("scan", "-", stdin=f"\n{code_of(view, 'cover')}\n\n".encode()).status
    assert (0, "", "") == tuple(vars(labelkit("scan", "-")).values())


def typed(view: JobView, *parts: str) -> str:
    """Return what a scanner types for these parts' offline labels, each with Enter at its end."""
    return "".join(offline_card(card(view, bin_of(view, part))).text + "\n" for part in parts)


EVERY_PART = ["cover-screws", "cover", "seal", "side-plate", "gears", "key", "splined-hub", "plug", "valve", "body"]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\n\n", " \n"])
def test_a_hand_scanner_types_offline_cards_line_by_line(labelkit: Shell, view: JobView, end: str) -> None:
    """Each card's words are one scan: its card opens and nothing is complained about."""
    said = labelkit("scan", "-", "--json", stdin=typed(view, *EVERY_PART).replace("\n", end).encode())

    assert (0, "") == (said.status, said.err)
    assert [code_of(view, part) for part in EVERY_PART] == [json.loads(line)["code"] for line in said.out.splitlines()]


def test_offline_cards_and_codes_come_in_any_order(labelkit: Shell, view: JobView) -> None:
    """Typed by hand, by a scanner from an address, by a scanner from a card's words, with a bad line in between."""
    spaced = grouped(code_of(view, "seal")).replace("-", " ")
    lines = typed(view, "cover") + f"{spaced}\ngarbage\n{view.url(bin_of(view, 'plug'))}\n" + typed(view, "gears")

    said = labelkit("scan", "-", "--json", stdin=lines.encode())

    assert [code_of(view, part) for part in ("cover", "seal", "plug", "gears")] == [
        json.loads(line)["code"] for line in said.out.splitlines()
    ]
    assert 1 == said.status
    assert said.err.startswith('labelkit: "garbage" is not a code')
    assert 1 == len(said.err.splitlines())


@pytest.mark.parametrize("follows", ["", "{url}", "{code}", "{spaced}"])
def test_a_card_without_its_end_opens_nothing(labelkit: Shell, view: JobView, follows: str) -> None:
    """A scan that broke off is told; what is scanned next opens as itself."""
    torn = typed(view, "cover").rpartition("\n")[0].rpartition("\n")[0] + "\n"
    code = code_of(view, "plug")
    then = follows.format(url=view.url(bin_of(view, "plug")), code=code, spaced=grouped(code).replace("-", " "))

    said = labelkit("scan", "-", "--json", stdin=(torn + then).encode())

    assert [code] * bool(follows) == [json.loads(line)["code"] for line in said.out.splitlines()]
    assert 1 == said.status
    assert said.err == (
        'labelkit: "2 Cover × 1" and what follows it do not end with the code of a card; '
        "scan the whole label again, or type its code\n"
    )


def test_words_that_name_another_code_open_their_own_card(labelkit: Shell, view: JobView) -> None:
    """Only a code that stands alone ends a card: text in between may end in anything."""
    other = grouped(code_of(view, "plug"))
    words = f"2 Cover × 1\nCAUTION not like {other}\nKeep with: http://10.0.0.5:8080/{other}\n"

    said = labelkit("scan", "-", "--json", stdin=(words + grouped(code_of(view, "cover"))).encode())

    assert (0, "", 1) == (said.status, said.err, len(said.out.splitlines()))
    assert code_of(view, "cover") == json.loads(said.out)["code"]


@pytest.mark.parametrize("last", ["7K3M-9Q2X-F4A", "7K3M-9Q2X-F4H"])
def test_a_card_whose_code_is_wrong_opens_nothing(labelkit: Shell, view: JobView, last: str) -> None:
    """Mistyped or of another shop: told once, and the next card opens."""
    said = labelkit("scan", "-", "--json", stdin=f"2 Cover × 1\nFREE\n{last}\n{typed(view, 'key')}".encode())

    assert (1, 1) == (said.status, len(said.err.splitlines()))
    assert last in said.err
    assert code_of(view, "key") == json.loads(said.out)["code"]


def test_endless_words_are_told_before_the_end(labelkit: Shell, view: JobView) -> None:
    """What is longer than any card is not waited for."""
    said = labelkit("scan", "-", stdin=b"3 words and more words of no card\n" * 100)

    assert (1, "") == (said.status, said.out)
    assert 5 < len(said.err.splitlines()) < 10
    assert all("do not end with the code of a card" in line for line in said.err.splitlines())


def test_marks_that_a_scanner_puts_round_a_scan_are_nothing(labelkit: Shell, view: JobView) -> None:
    """Start and end of text, and a carriage return alone. Common practice, no source."""
    codes = [code_of(view, part) for part in ("cover", "seal")]

    said = labelkit("scan", "-", "--json", stdin="".join(f"\x02{code}\x03\r" for code in codes).encode())

    assert (0, "") == (said.status, said.err)
    assert codes == [json.loads(line)["code"] for line in said.out.splitlines()]


def test_what_a_strange_symbol_says_does_not_reach_the_terminal_raw(labelkit: Shell) -> None:
    """Control characters could clear the screen or paint a card that is none."""
    said = labelkit("scan", "-", stdin=b"\x1b[2J\x1b[HSTEP 1 all is well\n")

    assert (1, "") == (said.status, said.out)
    assert "\x1b" not in said.err


def test_without_an_input_there_is_nothing_to_scan(labelkit: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    """A service may start a program without a standard input; Python has None there then."""
    monkeypatch.setattr("io.TextIOWrapper", lambda *_args, **_options: None)

    said = labelkit("scan", "-")

    assert (2, "", "labelkit: scan -: there is no standard input to read\n") == (said.status, said.out, said.err)


@pytest.mark.parametrize("typed", ["", " ", "\n"])
def test_nothing_is_no_code(labelkit: Shell, typed: str) -> None:
    """As when a script's variable is empty."""
    said = labelkit("scan", typed)

    assert (1, "") == (said.status, said.out)
    assert "is not a code: it has 0 characters" in said.err


def test_a_folder_is_no_picture_unless_its_name_is_a_code(labelkit: Shell, view: JobView, tmp_path: Path) -> None:
    """Shops keep photographs in folders that are named after codes."""
    (tmp_path / "photos").mkdir()
    (tmp_path / grouped(code_of(view, "cover"))).mkdir()

    assert "labelkit: photos: this is a folder, not a file" in labelkit("scan", "photos").err
    assert terminal(view, "cover") == labelkit("scan", grouped(code_of(view, "cover"))).out


def test_a_picture_is_read_through_a_pipe(labelkit: Shell, tmp_path: Path) -> None:
    """`labelkit scan <(camera)`: what is there is read, whatever kind of file it is."""
    os.mkfifo(tmp_path / "pipe")
    with ThreadPoolExecutor(1) as thread:
        written = thread.submit((tmp_path / "pipe").write_bytes, b"no picture")
        said = labelkit("scan", "pipe")

    assert written.result() == 10
    assert said.err.startswith("labelkit: pipe: this is no picture")


def test_a_scanner_with_the_wrong_keyboard_gets_a_sentence(labelkit: Shell, view: JobView) -> None:
    """Bytes that are no UTF-8 are a bad line like any other."""
    said = labelkit("scan", "-", stdin=b"\xff\xfe\x00\n" + code_of(view, "cover").encode())

    assert (1, terminal(view, "cover")) == (said.status, said.out)
    assert "is not a code" in said.err


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("7K3M-9Q2X-F4", "it has 10 characters, a code has 11"),
        ("7K3M-9Q2X-F4A", "is a mistyped code: its check character does not fit"),
        ("7K3M-9Q2X-F4U", 'codes do not use "U"'),
        ("A" * 6000, "it has 6000 characters"),
        ("nul\0byte", "is not a code"),
    ],
)
def test_a_wrong_code_says_what_is_wrong(labelkit: Shell, typed: str, words: str) -> None:
    """Exit status 1, one sentence on stderr, nothing on stdout."""
    said = labelkit("scan", typed)

    assert (1, "") == (said.status, said.out)
    assert words in said.err
    assert 1 == len(said.err.splitlines())


def test_unknown_and_elsewhere_are_told_apart(labelkit: Shell, view: JobView, tmp_path: Path) -> None:
    """A label of another store, and one of a job that is not here."""
    with Store(str(tmp_path / "other.sqlite"), secret=b"another key" * 3) as other:
        first, second = (code_of(open_job(other, pump()), "cover") for _ in range(2))

    assert "is unknown: no label of the store labelkit.sqlite" in labelkit("scan", first).err
    assert "is of a job that is not in the store labelkit.sqlite" in labelkit("scan", second).err


def test_a_bin_that_the_options_took_away_says_so(labelkit: Shell, view: JobView, tmp_path: Path) -> None:
    """The message names the job and its options."""
    with Store(str(tmp_path / "labelkit.sqlite")) as store:
        store.update_job(replace(view.job, options={"drive": "splined"}))
    code = code_of(view, "key")

    said = labelkit("scan", code)

    assert (1, "") == (said.status, said.out)
    assert (
        f"labelkit: {grouped(code)}: the label is of Key 6 x 6 x 20, which is there only if Drive = Keyed shaft; "
        "job 1 has Drive = Splined shaft. If the unit has it after all, set the option: "
        "`labelkit kit --job 1 --option drive=keyed`\n"
    ) == said.err


def test_without_a_store_it_says_how_to_make_one(tmp_path: Path, labelkit: Shell) -> None:
    """Scanning in the wrong folder makes no store."""
    empty = tmp_path / "empty"
    empty.mkdir()

    said = Shell(empty, labelkit.patch, labelkit.capture)("scan", "7K3M-9Q2X-F4H")

    assert 1 == said.status
    assert "there is no store labelkit.sqlite" in said.err
    assert [] == list(empty.iterdir())


def symbol_picture(text: str) -> Image.Image:
    """Draw a symbol with segno, large and clean."""
    stream = io.BytesIO()
    segno.make(text, micro=False).save(stream, kind="png", scale=6, border=5)
    return Image.open(stream).convert("L")


def drawn(pdf: Path) -> list[np.ndarray]:
    """Return the pages of a PDF at 200 dpi, by pdfium."""
    document = pypdfium2.PdfDocument(pdf)
    pages = [page.render(scale=200 / 72, grayscale=True).to_numpy().squeeze().copy() for page in document]
    document.close()
    return pages


def printed(labelkit: Shell, *more: str) -> Image.Image:
    """Print the job's labels with the command and return the first page at 150 dpi, as a camera might see it."""
    said = labelkit("kit", "--job", "1", "--only", "labels", "--out", "kit", *more)
    assert 0 == said.status, said.err
    document = pypdfium2.PdfDocument(labelkit.folder / "kit" / "labels.pdf")
    page = document[0].render(scale=150 / 72, grayscale=True).to_pil()
    document.close()
    return page


@pytest.mark.parametrize(("offline", "count"), [((), 8), (("--offline-cards",), 4)])
def test_a_photo_of_a_page_opens_all_its_cards(
    labelkit: Shell, view: JobView, tmp_path: Path, offline: tuple[str, ...], count: int
) -> None:
    """Four labels askew, a little out of focus and unevenly lit: each label's card, each once."""
    page = printed(labelkit, "--label-stock", "a4-2x5-99x56", "--steps", "1-4", *offline)
    half = page.crop((0, 0, page.width, round(page.height * 0.42)))
    askew = half.rotate(7, Image.Resampling.BICUBIC, expand=True, fillcolor=170).filter(ImageFilter.GaussianBlur(0.8))
    light = np.linspace(0.6, 1.0, askew.width)[None, :]
    noise = np.random.default_rng(5).normal(0, 4, (askew.height, askew.width))
    Image.fromarray(np.clip(np.asarray(askew) * light + noise, 0, 255).astype(np.uint8)).save(
        tmp_path / "photo.jpg", quality=80
    )

    said = labelkit("scan", "photo.jpg", "--json")

    assert (0, f"labelkit: photo.jpg: {count} symbols read, 4 labels of this store\n") == (said.status, said.err)
    codes = [json.loads(line)["code"] for line in said.out.splitlines()]
    assert sorted(view.code(each) for each in view.teardown.bins[:4]) == sorted(codes)


def test_a_pdf_opens_the_cards_of_all_its_pages(labelkit: Shell, view: JobView) -> None:
    """The printed file itself is as good as a photo."""
    printed(labelkit, "--label-stock", "roll-70x37", "--steps", "1-4")

    said = labelkit("scan", "kit/labels.pdf", "--json")

    assert [view.code(each) for each in view.teardown.bins[:5]] == [
        json.loads(line)["code"] for line in said.out.splitlines()
    ]


def test_our_own_file_is_read_at_once(labelkit: Shell, view: JobView, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody has put grease on it: the means that take seconds for a page are left out."""

    def never(*_: object, **__: object) -> None:
        raise AssertionError

    printed(labelkit, "--label-stock", "a4-3x8-70x37")
    monkeypatch.setattr("labelkit.proof.rescue.rescued", never)
    said = labelkit("scan", "kit/labels.pdf", "--json")

    assert 0 == said.status
    assert len(view.teardown.bins) == len(said.out.splitlines())


def another_store(folder: Path) -> None:
    """Put another shop's store in the place of this one's."""
    (folder / "labelkit.sqlite").unlink()
    with Store(str(folder / "labelkit.sqlite"), secret=b"another key" * 3) as store:
        open_job(store, pump())


def test_labels_of_another_store_are_named(labelkit: Shell, view: JobView, tmp_path: Path) -> None:
    """They were read well, so nobody is told to wipe them: which ones, and where the store that knows them is."""
    printed(labelkit, "--label-stock", "roll-70x37", "--steps", "1")
    another_store(tmp_path)

    said = labelkit("scan", "kit/labels.pdf")

    assert (1, "") == (said.status, said.out)
    assert "labelkit: kit/labels.pdf: 1 symbol read, 0 labels of this store\n" in said.err
    assert f"not of the store labelkit.sqlite: {grouped(view.code(view.teardown.bins[0]))}; " in said.err
    assert "lies where their kit was made" in said.err
    assert "LABELKIT_STORE" in said.err
    assert "wipe" not in said.err


def test_of_many_strange_labels_some_are_named(labelkit: Shell, view: JobView, tmp_path: Path) -> None:
    """A page of labels of another store is one message."""
    printed(labelkit, "--label-stock", "a4-3x8-70x37")
    another_store(tmp_path)

    said = labelkit("scan", "kit/labels.pdf")

    assert 2 == len(said.err.splitlines())
    assert f", and {len(view.teardown.bins) - 6} more; " in said.err


def test_what_a_picture_shows_besides_is_told(labelkit: Shell, view: JobView, tmp_path: Path) -> None:
    """One card opens; a label whose part an option took away, one of another store, and a symbol that is no label."""
    printed(labelkit, "--label-stock", "roll-70x37", "--steps", "2,5")
    with Store(str(tmp_path / "labelkit.sqlite")) as store:
        store.update_job(replace(view.job, options={"drive": "splined"}))
    with Store(str(tmp_path / "other.sqlite"), secret=b"another key" * 3) as other:
        strange = code_of(open_job(other, pump()), "cover")
    pages = [Image.fromarray(page) for page in drawn(tmp_path / "kit" / "labels.pdf")]
    for text in (f"http://10.0.0.9/{strange}", "https://example.org/a-shop"):
        pages.append(symbol_picture(text))
    sheet = Image.new("L", (max(page.width for page in pages), sum(page.height + 20 for page in pages)), 255)
    for number, page in enumerate(pages):
        sheet.paste(page, (0, sum(above.height + 20 for above in pages[:number])))
    sheet.save(tmp_path / "bench.png")

    said = labelkit("scan", "bench.png", "--json")

    assert 1 == said.status
    assert {code_of(view, part) for part in ("cover", "seal")} == {
        json.loads(line)["code"] for line in said.out.splitlines()
    }
    first, *rest = said.err.splitlines()
    assert "labelkit: bench.png: 5 symbols read, 3 labels of this store" == first
    assert [
        "labelkit: bench.png: not a label: https://example.org/a-shop",
        f"labelkit: bench.png: not of the store labelkit.sqlite: {grouped(strange)}",
        f"labelkit: bench.png: not shown: {grouped(code_of(view, 'key'))}",
    ] == [
        line.partition(";")[0] if "store" in line else ":".join(line.split(":")[: 4 + ("example" in line)])
        for line in rest
    ]
    assert "the label is of Key 6 x 6 x 20" in rest[-1]


def test_a_strange_symbol_alone_is_no_label(labelkit: Shell, tmp_path: Path) -> None:
    """What it says is repeated, without what could clear a terminal."""
    symbol_picture("https://example.org/\x1b[2J/ something that is much too long to be repeated").save(
        tmp_path / "x.png"
    )

    said = labelkit("scan", "x.png")

    assert (1, "") == (said.status, said.out)
    assert (
        "x.png: 1 symbol read, 0 labels of this store\nnot a label: https://example.org/ [2J/ something t...\n"
        in said.err
    )


def test_a_strange_symbol_beside_a_label_is_no_failure(labelkit: Shell, view: JobView, tmp_path: Path) -> None:
    """Boxes of new parts carry symbols too."""
    label = printed(labelkit, "--label-stock", "roll-70x37", "--steps", "5")
    box = symbol_picture("https://example.org/a-shop")
    both = Image.new("L", (label.width + box.width, max(label.height, box.height)), 255)
    both.paste(label, (0, 0))
    both.paste(box, (label.width, 0))
    both.save(tmp_path / "both.png")

    said = labelkit("scan", "both.png")

    assert (0, terminal(view, "key")) == (said.status, said.out)
    assert 2 == len(said.err.splitlines())


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("white.png", None, "white.png: no symbol can be read in this picture; go closer, wipe the label"),
        ("missing.jpg", None, "missing.jpg: cannot be read: No such file or directory"),
        ("missing.pdf", None, "missing.pdf: cannot be read: No such file or directory"),
        ("empty.png", b"", "empty.png: the file is empty"),
        ("notes.txt", b"7K3M-9Q2X-F4H", "notes.txt: "),
        ("torn.jpg", b"\xff\xd8\xff\xe0torn", "torn.jpg: "),
    ],
)
def test_a_file_without_labels_gets_a_sentence(
    labelkit: Shell, tmp_path: Path, name: str, content: bytes | None, words: str
) -> None:
    """Nothing to read, no such file, no picture: the name of the file and what is allowed."""
    if content is not None:
        (tmp_path / name).write_bytes(content)
    elif name == "white.png":
        Image.new("L", (400, 300), 255).save(tmp_path / name)

    said = labelkit("scan", name)

    assert (1, "") == (said.status, said.out)
    assert f"labelkit: {words}" in said.err
    assert 1 == len(said.err.splitlines())


def test_the_help_has_an_example(labelkit: Shell) -> None:
    """Help says what can be given, with an example that is a valid code."""
    said = labelkit("scan", "--help")

    assert "CODE|IMAGE|-" in said.out
    assert "Example: labelkit scan 7K3M-9Q2X-F4H" in said.out


def test_other_letters_reach_the_terminal(labelkit: Shell, tmp_path: Path) -> None:
    """Names in other alphabets are printed as they are, also in JSON."""
    with Store(str(tmp_path / "labelkit.sqlite")) as store:
        other = open_job(store, pump(PUMP.replace("name: Cover\n", "name: Крышка насоса\n")))

    for more in ((), ("--json",)):
        assert "Крышка насоса" in labelkit("scan", code_of(other, "cover"), *more).out
