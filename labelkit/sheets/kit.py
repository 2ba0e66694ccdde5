"""A kit: every document of a job, and the manifest that says what is on them."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path
from typing import Any, Final

from labelkit.calc.listed import first_of
from labelkit.calc.steps import Bin
from labelkit.drawing.page import Page
from labelkit.errors import CapacityError, OutputError
from labelkit.language import gettext as _
from labelkit.model.media import Paper, Printable
from labelkit.model.printer import Factors
from labelkit.render import write
from labelkit.render.folder import recover, replacing
from labelkit.sheets import waywords, wording
from labelkit.sheets.cardpages import cards_document
from labelkit.sheets.cards import card
from labelkit.sheets.jobview import JobView
from labelkit.sheets.labels import LabelSheets
from labelkit.sheets.manifest import MANIFEST, manifest_text, read_manifest, sticker_data
from labelkit.sheets.newparts import NewParts
from labelkit.sheets.offline import left_out_words, offline_card
from labelkit.sheets.packs import pack_pages
from labelkit.sheets.picklist import Pick, picklist_csv
from labelkit.sheets.pieces import PlacedPiece
from labelkit.sheets.stickers import StickerSheets, blank_page
from labelkit.sheets.traymap import TrayMaps
from labelkit.sheets.traytiles import TrayTiles, whole_tray

# Which trays there are is not for an earlier kit to say.
_TRAY: Final = re.compile(r"tray-[A-Z]+\.svg")
# Steps past which a text cut short on a label is no longer listed one by one.
_MOST_WARNINGS: Final = 200


@dataclass(frozen=True)
class KitOrder:
    """What to print.

    Attributes:
        view: the job.
        bins: which bins get labels.
        label_stock: what they are printed on.
        first_label: place of the first label on a started sheet.
        offline_cards: symbols carry the cards' words instead of an address.
        paper: what maps and 1:1 sheets of trays are printed on.
        factors: what makes prints true, of upright sheets and of sheets on their long side; None: not to be used.
        map_only: no 1:1 sheets.
        documents: names of the documents wanted, of `DOCUMENTS`.
        photo: gives a picture of the job by its path.
        warnings: what was noticed before.
        new: what must be new; None: there are neither stickers nor a pick list.
        stickers: which new parts get stickers, once more; None: those of these bins, and there are blank ones, too.
        sticker_stock: what stickers are printed on; None: as the labels.
        first_sticker: place of the first sticker on a started sheet.
        delimiter: what stands between the cells of CSV files.
    """

    view: JobView
    bins: tuple[Bin, ...]
    label_stock: Printable
    first_label: int
    offline_cards: bool
    documents: frozenset[str]
    photo: Callable[[str], bytes]
    paper: Paper
    factors: tuple[Factors | None, Factors | None] = (Factors(), Factors())
    map_only: bool = False
    warnings: tuple[str, ...] = ()
    new: NewParts | None = None
    stickers: tuple[Pick, ...] | None = None
    sticker_stock: Printable | None = None
    first_sticker: int = 1
    delimiter: str = ","

    @property
    def stickers_on(self) -> Printable:
        """What stickers are printed on."""
        return self.sticker_stock or self.label_stock


@dataclass(slots=True)
class Printed:
    """What the documents of a kit leave for its manifest, and for the user.

    Attributes:
        texts: what each label's symbol says, by step.
        labels: every label that was printed.
        stickers: every sticker that was printed.
        warnings: what was noticed.
    """

    texts: dict[str, str]
    labels: list[PlacedPiece[Bin]] = field(default_factory=list)
    stickers: list[PlacedPiece[Pick]] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)


def make_kit(order: KitOrder) -> tuple[dict[str, bytes], list[str]]:
    """Return the files of a kit by name, the manifest last, and what the user should be told."""
    view = order.view
    printed = Printed(label_texts(view, order.bins, offline=order.offline_cards))
    printed.warnings += [*order.warnings, *_doubts(view)]
    files: dict[str, bytes] = {}
    for name, document in DOCUMENTS.items():
        if name in order.documents:
            files |= document(order, printed)
    stickers = sticker_data(view, order.new.needs, printed.stickers) if order.new else []
    files[MANIFEST] = manifest_text(view, printed.texts, printed.labels, stickers, printed.warnings).encode()
    return files, printed.warnings


@contextmanager
def placing_kit(out: Path) -> Iterator[Callable[[dict[str, bytes]], None]]:
    """Take a kit inside the block; put it in its folder, in one step, when the block ends.

    Gives the function that takes the kit's files and writes them to the disk, beside the folder.

    Raises:
        OutputError: the folder holds something that is not a kit, or more than this kit would replace; or it cannot
            be written. The folder is untouched then.
    """
    with replacing(out) as fill:

        def put(files: dict[str, bytes]) -> None:
            recover(out)
            _refuse_loss(out, files)
            fill(files)

        yield put


def label_texts(view: JobView, bins: Iterable[Bin], *, offline: bool) -> dict[str, str]:
    """Return what each label's symbol says, by step: its address, or the card's own words."""
    return {each.step: offline_card(card(view, each)).text if offline else view.url(each) for each in bins}


def _labels(order: KitOrder, printed: Printed) -> dict[str, bytes]:
    """Return the bin labels; says which words were cut, and what symbols with cards' words have no room for."""
    sheets = LabelSheets(
        order.view,
        order.bins,
        order.label_stock,
        texts=printed.texts,
        first=order.first_label,
        card=order.offline_cards,
    )
    try:
        content = _written(order.view, _("bin labels"), ".pdf", sheets.pages())
    except CapacityError as error:
        raise CapacityError(f"label stock {order.label_stock.name}: {error}") from error
    printed.labels += sheets.placed
    printed.warnings += _cut_words(sheets.placed)
    if order.offline_cards:
        printed.warnings += left_out_words(offline_card(card(order.view, each)) for each in order.bins)
    return {"labels.pdf": content}


def _written(view: JobView, what: str, ending: str, pages: Iterable[Page]) -> bytes:
    """Return one document of a job as the kind of file of this ending, named for what it is."""
    header, job = view.profile.unit, view.job
    stream = io.BytesIO()
    revision = _("revision {revision}").format(revision=header.revision)
    title = f"{header.mark} {what}, {wording.job_words(job.number)}, {revision}"
    write(pages, ending, stream, title=title, subject=header.name)
    return stream.getvalue()


def _doubts(view: JobView) -> list[str]:
    """Return a warning for every option that is still open, and for what is not recorded."""
    found = []
    for group, choice in view.job.options.items():
        if choice is None:
            option = view.profile.options[group]
            tell = f" ({option.tell})" if option.tell else ""
            choices = ", ".join(option.choices)
            found.append(f"option {group} is open: both ways are printed, marked ?{tell}; choose one of {choices}")
    missing = [each.step for each in view.teardown.bins if waywords.way(each.part).known == "missing"]
    if missing:
        found.append(f"which way up is NOT RECORDED for step {', '.join(missing)}")
    return found


def _cut_words(placed: list[PlacedPiece[Bin]]) -> list[str]:
    cut = (f'label of step {label.of.step}: cut to fit: "{words}"' for label in placed for words in label.shortened)
    return _few(cut)


def _few(told: Iterable[str]) -> list[str]:
    cut = [*told]
    return cut[:_MOST_WARNINGS] + ([f"... and {len(cut) - _MOST_WARNINGS} more"] if len(cut) > _MOST_WARNINGS else [])


def _trays(order: KitOrder, printed: Printed) -> dict[str, bytes]:
    """Return the tray sheets: all as one PDF, and each tray at 1:1 as an SVG."""
    view, plan = order.view, order.view.trays
    printed.warnings += plan.warnings
    files: dict[str, bytes] = {}
    pages: Iterable[Page] = TrayMaps(view, plan, order.paper).pages()
    if not order.map_only:
        pages = chain(pages, tiles_of(order).pages())
    if plan.trays or plan.floor:
        files["trays.pdf"] = _written(view, _("trays"), ".pdf", pages)
    for tray in plan.trays:
        whole = whole_tray(view, plan, tray)
        files[f"tray-{tray.letter}.svg"] = _written(
            view, _("tray {letter}").format(letter=tray.letter), ".svg", [whole]
        )
    return files


def _exploded(order: KitOrder, _printed: Printed) -> dict[str, bytes]:
    """Return the exploded view: on sheets, and in one piece."""
    from labelkit.sheets.exploded import ExplodedView  # here and below: who prints a label again waits for no more

    view = ExplodedView(order.view, order.paper)
    return {
        "exploded.pdf": _written(order.view, _("exploded view"), ".pdf", view.pages()),
        "exploded.svg": _written(order.view, _("exploded view"), ".svg", [view.whole()]),
    }


def _packs(order: KitOrder, _printed: Printed) -> dict[str, bytes]:
    """Return the plate packs; nothing of a unit without any."""
    pages = list(pack_pages(order.view, order.paper))
    return {"packs.pdf": _written(order.view, _("plate packs"), ".pdf", pages)} if pages else {}


def _stickers(order: KitOrder, printed: Printed) -> dict[str, bytes]:
    """Return the stickers of the new parts, as far as their steps are wanted, and a page of blank ones."""
    if order.new is None:
        return {}
    view, stock = order.view, order.stickers_on
    again = order.stickers is not None
    listed = order.stickers if order.stickers is not None else order.new.picks_of(view, order.bins)
    sheets = StickerSheets(view, listed, order.new.needs, stock, first=order.first_sticker)
    files = {}
    if sheets.picks:
        try:
            files["stickers.pdf"] = _written(view, _("stickers for new parts"), ".pdf", sheets.pages())
        except CapacityError as error:
            raise CapacityError(f"sticker stock {stock.name}: {error}") from error
    elif order.new.picks:
        printed.warnings.append("no sticker: nothing of these steps must be new; name what does with --condemned")
    printed.stickers += sheets.placed
    cut: dict[str, list[str]] = {}
    for sticker in sheets.placed:
        for words in sticker.shortened:
            cut.setdefault(words, []).append(sticker.of.step)
    printed.warnings += _few(
        f'sticker of step {first_of(steps, 4)}: no room for "{words}"' for words, steps in cut.items()
    )
    if not again:
        files["stickers-blank.pdf"] = _written(view, _("blank stickers"), ".pdf", [blank_page(view, stock)])
    return files


def _picklist(order: KitOrder, _printed: Printed) -> dict[str, bytes]:
    """Return the pick list on paper and for a spreadsheet; nothing where nothing must be new."""
    if order.new is None or not order.new.picks:
        return {}
    from labelkit.sheets.picklistpages import picklist_pages

    pages = picklist_pages(order.view, order.new, order.paper)
    return {
        "picklist.pdf": _written(order.view, _("pick list"), ".pdf", pages),
        "picklist.csv": picklist_csv(order.view, order.new.picks, order.new.needs, delimiter=order.delimiter),
    }


def _worksheets(order: KitOrder, _printed: Printed) -> dict[str, bytes]:
    """Return the worksheets, for a shop that wants paper only."""
    from labelkit.sheets.worksheets import worksheet_pages

    return {"worksheets.pdf": _written(order.view, _("worksheets"), ".pdf", worksheet_pages(order.view, order.paper))}


def _cards(order: KitOrder, _printed: Printed) -> dict[str, bytes]:
    return {"cards.html": cards_document(order.view, order.photo).encode()}


# What can be in a kit, in the order in which it is made: each gives its files by name.
DOCUMENTS: Final[Mapping[str, Callable[[KitOrder, Printed], dict[str, bytes]]]] = {
    "labels": _labels,
    "trays": _trays,
    "exploded": _exploded,
    "packs": _packs,
    "stickers": _stickers,
    "picklist": _picklist,
    "worksheets": _worksheets,
    "cards": _cards,
}


def tiles_of(order: KitOrder) -> TrayTiles:
    """Return the 1:1 sheets of an order's trays."""
    return TrayTiles(order.view, order.view.trays, order.paper, order.factors)


def _refuse_loss(out: Path, files: dict[str, bytes]) -> None:
    """Refuse to replace a folder that is not a kit, the kit of another job, or a whole kit by a part of it."""
    if not out.exists():
        return
    if not out.is_dir():
        raise OutputError(f"{out}: is a file; name a folder")
    there = {entry.name for entry in out.iterdir()}
    if there and MANIFEST not in there:
        raise OutputError(
            f"{out}: holds files that are not a kit's ({', '.join(sorted(there)[:3])}); name another folder"
        )
    if not there:
        return
    old, new = read_manifest(out), json.loads(files[MANIFEST])
    if old["job"] != new["job"]:
        raise OutputError(
            f"{out}: holds the kit of job {old['job']}, this one is of job {new['job']}; name another --out"
        )
    lost = sorted(there - set(files) - {name for name in there if _TRAY.fullmatch(name)})
    # A bin that an option has taken away is not lost.
    printed, wanted = ({each["step"] for each in manifest["bins"]} for manifest in (old, new))
    fewer = printed & {each["step"] for each in new["order"]} - wanted
    unstuck = _stickers_lost(old, new)
    if lost or fewer or unstuck:
        labels = f"{len(fewer)} label{'s'[: len(fewer) > 1]}" if fewer else f"the stickers of step {', '.join(unstuck)}"
        what = ", ".join(lost) if lost else labels
        raise OutputError(
            f"{out}: holds a fuller kit of job {old['job']}; this one would lose {what}; name another --out"
        )


def _stickers_lost(old: dict[str, Any], new: dict[str, Any]) -> list[str]:
    """Return the steps whose stickers an earlier kit has and this one lacks: its verdicts have to be said again.

    What another choice of the options does away with is not lost.
    """
    if old["options"] != new["options"]:
        return []
    here = {each["code"] for each in new["stickers"]}
    return [str(each["step"]) for each in old["stickers"] if each["code"] not in here]
