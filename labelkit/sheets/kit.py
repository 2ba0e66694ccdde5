"""A kit: every document of a job, and the manifest that says what is on them."""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from labelkit.calc.assembly import Placed
from labelkit.calc.steps import Bin, condition
from labelkit.errors import CapacityError, InputError, OutputError
from labelkit.model.stock import Printable
from labelkit.render import write
from labelkit.render.folder import recover, write_folder
from labelkit.sheets import wording
from labelkit.sheets.cardpages import cards_document
from labelkit.sheets.cards import card
from labelkit.sheets.jobview import JobView
from labelkit.sheets.labels import LabelSheets, PlacedLabel
from labelkit.sheets.offline import card_text

MANIFEST: Final = "kit.json"
# Steps past which a text cut short on a label is no longer listed one by one.
MOST_WARNINGS: Final = 200


@dataclass(frozen=True)
class KitOrder:
    """What to print.

    Attributes:
        view: the job.
        bins: which bins get labels.
        label_stock: what they are printed on.
        first_label: place of the first label on a started sheet.
        offline_cards: symbols carry the cards' words instead of an address.
        documents: names of the documents wanted, of `DOCUMENTS`.
        photo: gives a picture of the job by its path.
        warnings: what was noticed before.
    """

    view: JobView
    bins: tuple[Bin, ...]
    label_stock: Printable
    first_label: int
    offline_cards: bool
    documents: frozenset[str]
    photo: Callable[[str], bytes]
    warnings: tuple[str, ...] = ()


DOCUMENTS: Final = ("labels", "cards")


def make_kit(order: KitOrder) -> dict[str, bytes]:
    """Return the files of a kit by name, the manifest last."""
    view = order.view
    warnings = [*order.warnings, *_doubts(view)]
    texts = label_texts(view, order.bins, offline=order.offline_cards)
    files: dict[str, bytes] = {}
    placed: list[PlacedLabel] = []
    if "labels" in order.documents:
        files["labels.pdf"], placed = _labels(order, texts)
        warnings += _cut_words(placed)
    if "cards" in order.documents:
        files["cards.html"] = cards_document(view, order.photo).encode()
    manifest = _manifest(order, texts, placed, warnings)
    files[MANIFEST] = (json.dumps(manifest, indent=1, ensure_ascii=False) + "\n").encode()
    return files


def write_kit(out: Path, files: dict[str, bytes]) -> None:
    """Put a kit in its folder, in one step.

    Raises:
        OutputError: the folder holds something that is not a kit, or more than this kit would replace; or it cannot
            be written. The folder is untouched then.
    """
    recover(out)
    _refuse_loss(out, files)
    write_folder(out, files)


def read_manifest(folder: Path) -> dict[str, Any]:
    """Return the manifest of a kit folder.

    Raises:
        InputError: there is none, or it is not one of this format.
    """
    file = folder / MANIFEST
    try:
        manifest = json.loads(file.read_bytes())
    except FileNotFoundError as error:
        raise InputError(f"{file}: there is no such file; name the folder that `labelkit kit` made") from error
    except (OSError, ValueError) as error:
        raise InputError(f"{file}: is not a kit's manifest: {error}") from error
    if not isinstance(manifest, dict) or manifest.get("format") != 1:
        raise InputError(f"{file}: is not a kit's manifest of format 1")
    return manifest


def label_texts(view: JobView, bins: Iterable[Bin], *, offline: bool) -> dict[str, str]:
    """Return what each label's symbol says, by step: its address, or the card's own words."""
    return {each.step: card_text(card(view, each)) if offline else view.url(each) for each in bins}


@dataclass(frozen=True, slots=True)
class SymbolPlace:
    """Where a symbol was printed: page from 1, left top corner and side without quiet zone and frame, mm."""

    page: int
    text: str
    x_mm: float
    y_mm: float
    side_mm: float


def expected_symbols(manifest: dict[str, Any]) -> list[SymbolPlace]:
    """Return every symbol that a kit's manifest says was printed."""
    return [
        SymbolPlace(each["label"]["page"], each["text"], x, y, side)
        for each in manifest["bins"]
        if each["label"]
        for x, y, side in each["label"]["symbols_mm"]
    ]


def _labels(order: KitOrder, texts: dict[str, str]) -> tuple[bytes, list[PlacedLabel]]:
    sheets = LabelSheets(
        order.view,
        order.bins,
        order.label_stock,
        texts=texts,
        first=order.first_label,
        card=order.offline_cards,
    )
    stream = io.BytesIO()
    header, job = order.view.profile.unit, order.view.job
    title = f"{header.mark} bin labels, job {job.number}, revision {header.revision}"
    try:
        write(sheets.pages(), ".pdf", stream, title=title, subject=header.name)
    except CapacityError as error:
        raise CapacityError(f"label stock {order.label_stock.name}: {error}") from error
    return stream.getvalue(), sheets.placed


def _doubts(view: JobView) -> list[str]:
    """Return a warning for every option that is still open, and for what is not recorded."""
    found = []
    for group, choice in view.job.options.items():
        if choice is None:
            option = view.profile.options[group]
            tell = f" ({option.tell})" if option.tell else ""
            choices = ", ".join(option.choices)
            found.append(f"option {group} is open: both ways are printed, marked ?{tell}; choose one of {choices}")
    missing = [each.step for each in view.teardown.bins if wording.way(each.part).known == "missing"]
    if missing:
        found.append(f"which way up is NOT RECORDED for step {', '.join(missing)}")
    return found


def _cut_words(placed: list[PlacedLabel]) -> list[str]:
    cut = [f'label of step {label.bin.step}: cut to fit: "{words}"' for label in placed for words in label.shortened]
    return cut[:MOST_WARNINGS] + ([f"... and {len(cut) - MOST_WARNINGS} more"] if len(cut) > MOST_WARNINGS else [])


def _manifest(order: KitOrder, texts: dict[str, str], placed: list[PlacedLabel], warnings: list[str]) -> dict[str, Any]:
    view = order.view
    header, job = view.profile.unit, view.job
    labels = {label.bin.step: label for label in placed}
    return {
        "format": 1,
        "unit": {"mark": header.mark, "name": header.name, "revision": header.revision},
        "job": job.number,
        "options": dict(job.options),
        "profile": {"file": job.file, "sha256": job.sha256},
        "address": job.address,
        "bins": [_bin(view, each, texts[each.step], labels.get(each.step)) for each in order.bins],
        "inside": [{"part": i.part.id, "in": view.step_holding(i), "why": i.why} for i in view.teardown.inside],
        "trays": [],
        "floor": [],
        "stickers": [],
        "order": order_data(view.order),
        "warnings": warnings,
    }


def order_data(placed: Iterable[Placed]) -> list[dict[str, Any]]:
    """Return the order of assembly as plain data: step, part, group and the steps that must be in before."""
    return [
        {
            "step": entry.bin.step,
            "part": entry.bin.part.id,
            "group": entry.group,
            "after": [need.step for need in entry.needs],
        }
        for entry in placed
    ]


def _bin(view: JobView, each: Bin, text: str, label: PlacedLabel | None) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "step": each.step,
        "code": view.code(each),
        "text": text,
        "part": each.part.id,
        "name": each.name,
        "short": wording.short_name(each.part),
        "qty": each.part.qty,
        "tray": None,
        "label": None,
    }
    if each.doubtful:
        entry["only"] = condition(view.profile, each.part)
    if label is not None:
        box = label.box
        sizes = {"x_mm": box.x, "y_mm": box.y, "w_mm": box.width, "h_mm": box.height}
        entry["label"] = {
            "page": label.page,
            **{key: round(value, 4) for key, value in sizes.items()},
            "symbols_mm": [[round(value, 4) for value in (s.x, s.y, s.width)] for s in label.symbols],
        }
    return entry


def _refuse_loss(out: Path, files: dict[str, bytes]) -> None:
    """Refuse to replace a folder that is not a kit, or a whole kit by a part of it."""
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
    lost = sorted(there - set(files))
    fewer = old["job"] == new["job"] and len(new["bins"]) < len(old["bins"])
    if lost or fewer:
        what = ", ".join(lost) if lost else f"{len(old['bins']) - len(new['bins'])} labels"
        raise OutputError(
            f"{out}: holds a fuller kit of job {old['job']}; this one would lose {what}; name another --out"
        )
