"""The manifest of a kit, kit.json: what is printed where, for other programs and for the proof."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from labelkit.calc.assembly import Placed
from labelkit.calc.needs import Needs
from labelkit.calc.steps import Bin, condition
from labelkit.calc.trays import LaidTray, Place, TrayPlan
from labelkit.errors import InputError
from labelkit.language import speaking
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.picklist import Pick, when_words
from labelkit.sheets.pieces import PlacedPiece

MANIFEST: Final = "kit.json"


def manifest_text(
    view: JobView,
    texts: dict[str, str],
    placed: Iterable[PlacedPiece[Bin]],
    stickers: Sequence[dict[str, Any]],
    warnings: Iterable[str],
) -> str:
    """Return the manifest of a job.

    Args:
        view: the job.
        texts: what the symbol of each bin in the kit says, by step.
        placed: the labels that were printed.
        stickers: those that were printed, as `sticker_data` gives them.
        warnings: what was noticed.
    """
    header, job, plan = view.profile.unit, view.job, view.trays
    with speaking("en"):
        floor = [{"step": each.bin.step, "part": each.bin.part.id, "reason": each.reason} for each in plan.floor]
    labels = {label.of.step: label for label in placed}
    data = {
        "format": 1,
        "unit": {"mark": header.mark, "name": header.name, "revision": header.revision},
        "job": job.number,
        "options": dict(job.options),
        "profile": {"file": job.file, "sha256": job.sha256},
        "address": job.address,
        "bins": [
            _bin(view, each, texts[each.step], labels.get(each.step))
            for each in view.teardown.bins
            if each.step in texts
        ],
        "inside": [
            {
                "part": i.part.id,
                "in": view.teardown.step_holding(i),
                "why": f"captured behind {i.behind}: it stays inside",
            }
            for i in view.teardown.inside
        ],
        "trays": [_tray(plan, tray) for tray in plan.trays],
        "floor": floor,
        "stickers": list(stickers),
        "order": order_data(view.order),
        "warnings": list(warnings),
    }
    return _json_text(data)


def _json_text(data: dict[str, Any]) -> str:
    """Return data as JSON: a line for each key, and for each entry of a list of entries."""
    lines = []
    for key, value in data.items():
        if isinstance(value, list) and value and isinstance(value[0], dict | str):
            text = "[\n" + ",\n".join(f"  {_compact(entry)}" for entry in value) + "\n ]"
        else:
            text = _compact(value)
        lines.append(f" {_compact(key)}: {text}")
    return "{\n" + ",\n".join(lines) + "\n}\n"


def _compact(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


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
    except OSError as error:
        raise InputError(f"{file}: cannot be read: {error.strerror}") from error
    except (ValueError, RecursionError) as error:
        raise InputError(f"{file}: is not a kit's manifest: {error}") from error
    if not isinstance(manifest, dict) or manifest.get("format") != 1:
        raise InputError(f"{file}: is not a kit's manifest of format 1")
    try:
        expected_symbols(manifest), expected_on_stickers(manifest)
        complete = isinstance(manifest["job"], int) and isinstance(manifest["order"], list)
    except (KeyError, TypeError, ValueError):
        complete = False
    if not complete:
        raise InputError(f"{file}: is a damaged manifest; make the kit again with `labelkit kit --job N`")
    return manifest


@dataclass(frozen=True, slots=True)
class SymbolPlace:
    """Where a symbol was printed: page from 1, left top corner and side without quiet zone and frame, mm."""

    page: int
    text: str
    x_mm: float
    y_mm: float
    side_mm: float


def expected_symbols(manifest: dict[str, Any]) -> list[SymbolPlace]:
    """Return every symbol that a kit's manifest says is on the bin labels."""
    return [
        place for each in manifest["bins"] if each["label"] for place in _symbol_places(each["text"], each["label"])
    ]


def expected_on_stickers(manifest: dict[str, Any]) -> list[SymbolPlace]:
    """Return every symbol that a kit's manifest says is on the stickers; their pages count from 1 again."""
    return [
        place for each in manifest["stickers"] for place in _symbol_places(sticker_text(manifest, each), each["label"])
    ]


def sticker_text(manifest: dict[str, Any], sticker: dict[str, Any]) -> str:
    """Return what the symbol of a sticker says."""
    return f"{manifest['address']}/{sticker['code']}"


def _symbol_places(text: str, label: dict[str, Any]) -> Iterator[SymbolPlace]:
    for x, y, side in label["symbols_mm"]:
        yield SymbolPlace(int(label["page"]), text, float(x), float(y), float(side))


def sticker_data(view: JobView, needs: Needs, placed: Iterable[PlacedPiece[Pick]]) -> list[dict[str, Any]]:
    """Return printed stickers as plain data; `only` says under which open option one is needed at all."""
    found = []
    for sticker in placed:
        pick, use = sticker.of, sticker.of.use
        entry = {
            "code": view.new_code(use.item),
            "part": use.part.id,
            "number": use.number,
            "name": use.name,
            "qty": "set" if use.pieces is None else use.pieces,
            "tray": pick.place or None,
            "step": pick.step or None,
            "label": _label(sticker),
        }
        when = when_words(view.profile, needs.when(use))
        found.append(entry | ({"only": when} if when else {}))
    return found


def order_data(placed: Iterable[Placed]) -> list[dict[str, Any]]:
    """Return the order of assembly as plain data: step, part, group and the steps that must be in before.

    `within`: parts that stay inside another, in the order in which they go in before the step where they are renewed.
    """
    return [
        {
            "step": entry.bin.step,
            "part": entry.bin.part.id,
            "group": entry.group,
            "after": [need.step for need in entry.needs],
            **({"within": [each.item.part.id for each in entry.within]} if entry.within else {}),
        }
        for entry in placed
    ]


def _bin(view: JobView, each: Bin, text: str, label: PlacedPiece[Bin] | None) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "step": each.step,
        "code": view.code(each),
        "text": text,
        "part": each.part.id,
        "name": each.name,
        "short": wording.short_name(each.part),
        "qty": each.part.qty,
        "tray": view.tray_words(each) or None,
        "label": None,
    }
    if each.doubtful:
        with speaking("en"):
            entry["only"] = condition(view.profile, view.teardown, each)
    if label is not None:
        entry["label"] = _label(label)
    return entry


def _label(piece: PlacedPiece[Any]) -> dict[str, Any]:
    box = piece.box
    sizes = {"x_mm": box.x, "y_mm": box.y, "w_mm": box.width, "h_mm": box.height}
    return {
        "page": piece.page,
        **{key: round(value, 4) for key, value in sizes.items()},
        "symbols_mm": [[round(value, 4) for value in (s.x, s.y, s.width)] for s in piece.symbols],
    }


def _tray(plan: TrayPlan, tray: LaidTray) -> dict[str, Any]:
    return {
        "tray": tray.letter,
        "stock": tray.stock.name,
        "inside_mm": list(tray.stock.size_mm),
        "gap_mm": plan.laying.spacing.gap,
        "mass_kg": float(tray.mass),
        "not_weighed": list(tray.unweighed),
        "limit_kg": float(tray.stock.limit),
        "grade": tray.grade,
        "rules_mm": [list(rule) for rule in tray.rules],
        "places": [_place(place) for place in tray.places],
    }


def _place(place: Place) -> dict[str, Any]:
    """Return one place; its outline is that of its first piece, `pieces_mm` those of all where there are several."""
    outlines = [[[round(x, 3), round(y, 3)] for x, y in points] for points in place.outlines]
    x, y = place.at[0]
    entry = {
        "place": place.name,
        "step": place.bin.step,
        "part": place.bin.part.id,
        "qty": place.bin.part.qty,
        "x_mm": round(x, 3),
        "y_mm": round(y, 3),
        "turned_deg": place.turned,
        "outline_mm": outlines[0],
        "flag_mm": [round(value, 3) for value in place.flag],
    }
    return entry | ({"pieces_mm": outlines} if len(outlines) > 1 else {})
