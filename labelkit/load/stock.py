"""Stock from YAML: every file in `layouts/`, the shop's and the packaged ones, as one set of names."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Final, Literal, cast, overload

from labelkit import datafiles
from labelkit.errors import InputError, InputErrors, NotFoundError, Problem, UsageError, allowed_text
from labelkit.load.textfile import shown_path
from labelkit.load.validate import validate
from labelkit.load.yamltree import Tree, parse, read_file
from labelkit.model.media import Paper, Printable, Stock, StockKind
from labelkit.model.stock import STOCK, LabelSheet, Roll, StockHead, Tray

KINDS: Final[tuple[StockKind, ...]] = tuple(STOCK)
PRINTABLE: Final[tuple[Literal["labels", "stickers", "roll"], ...]] = ("labels", "stickers", "roll")


@dataclass(slots=True, eq=False)
class _File:
    """One file: the entries that name their kind rightly, and the faults of everything else in it.

    `packaged`: it came with labelkit.
    """

    packaged: bool
    entries: dict[str, Tree] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)


@dataclass(slots=True)
class _Shelf:
    """What several files hold together: the valid stock, where each name stands, and all faults."""

    stock: dict[str, Stock] = field(default_factory=dict)
    places: dict[str, Tree] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def names(self, kinds: Collection[str]) -> list[str]:
        return [name for name, stock in self.stock.items() if stock.kind in kinds]

    def concerned(self, name: str) -> list[Problem]:
        """Return the faults of one stock: those in its own entry, and in the head of its file."""
        entry = self.places.get(name)
        return [problem for problem in self.problems if _concerns(problem, name, entry)]


def all_stock() -> dict[str, Stock]:
    """Return all stock that has no fault, by name: the shop's files first, in the order of the files."""
    shelf = _all_files()
    return {name: stock for name, stock in shelf.stock.items() if not shelf.concerned(name)}


def stock_faults() -> tuple[Problem, ...]:
    """Return all faults of all files of stock, among them a name that stands in two of them."""
    return tuple(_all_files().problems)


def load_stock(path: Path) -> dict[str, Stock]:
    """Return the stock of one file by name; papers may be those of other files in `layouts/`.

    Raises:
        InputError: not readable, or with faults (`InputErrors` holds all of them).
    """
    wanted = _read(path)
    others = [_read(other) for other in datafiles.files("layouts") if other.resolve() != path.resolve()]
    papers = _papers(other.entries for other in others) | _papers([wanted.entries])
    shelf = _fill(_Shelf(), wanted, papers)
    if shelf.problems:
        raise InputErrors(shelf.problems)
    return shelf.stock


def held_in(path: Path) -> Literal["stock", "profile"] | None:
    """Return what a file holds; None where no field of it tells.

    Raises:
        InputError: not readable.
    """
    shown = shown_path(path)
    data = parse(read_file(path, shown), shown).data
    fields = data if isinstance(data, dict) else {}
    if "stock" in fields and "parts" not in fields:
        return "stock"
    return "profile" if "unit" in fields or "parts" in fields else None


@overload
def find_stock(name: str, kinds: tuple[Literal["paper"]]) -> Paper: ...
@overload
def find_stock(name: str, kinds: tuple[Literal["tray"]]) -> Tray: ...
@overload
def find_stock(name: str, kinds: tuple[Literal["labels", "stickers", "roll"], ...]) -> Printable: ...
@overload
def find_stock(name: str, kinds: Collection[StockKind] = ...) -> Stock: ...
def find_stock(name: str, kinds: Collection[StockKind] = KINDS) -> Stock:
    """Return one stock.

    Args:
        name: a name, a path of a file that holds one stock of these kinds, or FILE:NAME.
        kinds: what it may be.

    Raises:
        NotFoundError: no stock of that name, or one of another kind.
        UsageError: a path alone, of a file that holds several.
        InputError: its file has faults that concern it; faults of other stock do not hinder.
    """
    if datafiles.is_path(name):
        return _in_file(name, kinds)
    shelf = _all_files()
    if concerned := shelf.concerned(name):
        raise InputErrors(concerned)
    if name not in shelf.stock and shelf.problems:
        unread = ", ".join(sorted({problem.file for problem in shelf.problems}))
        raise NotFoundError(f"{_no_such(name, shelf, kinds)}. Not read in full because of faults: {unread}")
    return _pick(name, shelf, kinds)


def describe(stock: Stock) -> dict[str, Any]:
    """Return a stock as plain data: lengths in mm, masses in kg; what does not apply is left out.

    `size_mm` is the sheet of a paper, one label of labels, stickers and rolls, the inside of a tray.
    """
    found: dict[str, Any] = {"name": stock.name, "kind": stock.kind, "size_mm": stock.size_mm}
    if isinstance(stock, LabelSheet):
        found |= {
            "paper": stock.paper.name,
            "page_mm": stock.page_size,
            "columns": stock.columns,
            "rows": stock.rows,
            "per_sheet": stock.per_page,
            "first_mm": tuple(side.mm for side in stock.first),
            "pitch_mm": tuple(side.mm for side in stock.pitch),
            "corner_mm": stock.corner_mm,
            "reading": stock.reading,
        }
    if isinstance(stock, Roll):
        found |= {
            "width_mm": stock.width.mm,
            "die_cut": stock.die_cut,
            "gap_mm": stock.gap.mm if stock.gap else None,
            "cut_mm": (stock.cut.min.mm, stock.cut.max.mm) if stock.cut else None,
        }
    if isinstance(stock, Printable):
        found |= {"margin_mm": stock.margin_mm, "dpi": stock.dpi, "material": stock.material}
    if isinstance(stock, Tray):
        found |= {"depth_mm": stock.depth_mm, "limit_kg": stock.limit_kg}
    return {key: _plain(value) for key, value in found.items() if value is not None}


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if isinstance(value, str | int):
        return value
    return int(value) if value == int(value) else float(value)


def _concerns(problem: Problem, name: str, entry: Tree | None) -> bool:
    """Say whether a fault is one of this stock: in its own entry, or in the head of its file."""
    if problem.path.startswith("stock."):
        return f"{problem.path}.".startswith(f"stock.{name}.")
    return entry is not None and problem.file == entry.file


def _in_file(name: str, kinds: Collection[StockKind]) -> Stock:
    file, colon, entry = name.rpartition(":")
    # A colon in front of a separator is a drive letter, not FILE:NAME.
    if not colon or "/" in entry or "\\" in entry:
        file, entry = name, ""
    shelf = _Shelf(load_stock(Path(file)))
    if entry:
        return _pick(entry, shelf, kinds, f"{file}: ")
    found = shelf.names(kinds)
    if len(found) > 1:
        raise UsageError(f"{file}: holds {len(found)} stocks; write {file}:NAME; names: {', '.join(found)}")
    if not found:
        raise NotFoundError(f"{file}: holds {_kinds_text(kinds)}")
    return shelf.stock[found[0]]


def _pick(name: str, shelf: _Shelf, kinds: Collection[StockKind], where: str = "") -> Stock:
    stock = shelf.stock.get(name)
    if stock is None:
        raise NotFoundError(where + _no_such(name, shelf, kinds))
    if stock.kind not in kinds:
        wanted = f"wanted: {' or '.join(kinds)}; {allowed_text(name, shelf.names(kinds), most=40)}"
        raise NotFoundError(f"{where}the stock {name} is of kind {stock.kind}; {wanted}")
    return stock


def _no_such(name: str, shelf: _Shelf, kinds: Collection[StockKind]) -> str:
    allowed = allowed_text(name, shelf.names(kinds), most=40)
    return f'there is {_kinds_text(kinds)} named "{name}"; {allowed}'


def _kinds_text(kinds: Collection[StockKind]) -> str:
    return "no stock" if len(kinds) == len(KINDS) else f"no stock of kind {' or '.join(kinds)}"


def _all_files() -> _Shelf:
    """Return what all files of `layouts/` hold together."""
    return _together(tuple(map(_read, datafiles.files("layouts"))))


@lru_cache(maxsize=1)
def _together(files: tuple[_File, ...]) -> _Shelf:
    papers = _papers(file.entries for file in reversed(files))  # of two of one name, the shop's
    shelf = _Shelf()
    for file in files:
        _fill(shelf, file, papers)
    return shelf


def _fill(shelf: _Shelf, file: _File, papers: dict[str, Paper | None]) -> _Shelf:
    """Put a file's stock and faults on the shelf."""
    shelf.problems.extend(file.problems)
    for name, entry in file.entries.items():
        if first := shelf.places.get(name):
            shelf.problems.append(_named(name, _clash(name, first, entry, packaged=file.packaged)))
            continue
        shelf.places[name] = entry
        stock, problems = _build(name, entry, papers)
        shelf.problems.extend(problems)
        if stock is not None:
            shelf.stock[name] = stock
    return shelf


def _clash(name: str, first: Tree, second: Tree, *, packaged: bool) -> Problem:
    """Return that a name stands in two files, at the place that a shop can correct; `packaged`: the second file is."""
    own, other = (first, second) if packaged else (second, first)
    there = f"{other.file}, line {other.place((), key=True)[0]}"
    message = f"the name {name} stands already in {there}; keep one, or rename this one"
    if packaged:
        message = (
            f"the name {name} is that of a stock which comes with labelkit ({there}); rename this one, or copy that "
            f"file whole, under its own name, and correct the copy: it takes the other's place"
        )
    return own.problem((), message, key=True)


def _papers(entries: Iterable[dict[str, Tree]]) -> dict[str, Paper | None]:
    """Return the papers of these files; None stands for one that has faults."""
    return {
        name: cast(Paper | None, _build(name, entry, {})[0])
        for file in entries
        for name, entry in file.items()
        if entry.data["kind"] == "paper"
    }


def _build(name: str, entry: Tree, papers: dict[str, Paper | None]) -> tuple[Stock | None, list[Problem]]:
    context: dict[str, Any] = {"name": name, "papers": papers}
    stock, problems = validate(entry, STOCK[entry.data["kind"]], context)
    return stock, [_named(name, problem) for problem in problems]


def _named(name: str, problem: Problem) -> Problem:
    """Return a fault of an entry as a fault of its file."""
    return replace(problem, path=".".join(filter(None, ("stock", name, problem.path))))


def _read(path: Path) -> _File:
    """Return what a file holds; read again when it was changed."""
    return _read_as_of(path.resolve(), shown_path(path), _stamp(path))


def _stamp(path: Path) -> tuple[int, int] | None:
    """Return what tells that a file was changed; None when it went away."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size


@lru_cache(maxsize=64)
def _read_as_of(path: Path, shown: str, _stamp: object) -> _File:
    file = _File(datafiles.is_packaged(path))
    try:
        tree = parse(read_file(path, shown), shown)
    except InputErrors as error:
        file.problems.extend(error.problems)
        return file
    except InputError as error:
        file.problems.append(Problem(shown, 0, 0, "", str(error).removeprefix(f"{shown}: ")))
        return file
    _, file.problems = validate(tree, StockHead, {})
    for name, entry in _entries(tree):
        if problem := _kind_fault(entry):
            file.problems.append(_named(name, problem))
        else:
            file.entries[name] = entry
    return file


def _entries(tree: Tree) -> Iterator[tuple[str, Tree]]:
    """Yield each entry as a tree of its own, so that it is read by the model of its kind."""
    stock = tree.data.get("stock") if isinstance(tree.data, dict) else None
    if not isinstance(stock, dict):
        return
    for name in stock:
        inside = ("stock", name)
        places = {path[2:]: place for path, place in tree.places.items() if path[:2] == inside}
        keys = {path[2:]: place for path, place in tree.keys.items() if path[:2] == inside}
        commas = {path[2:]: behind for path, behind in tree.commas.items() if path[:2] == inside}
        yield name, Tree(tree.file, stock[name], places, keys, commas)


def _kind_fault(entry: Tree) -> Problem | None:
    if not isinstance(entry.data, dict):
        return entry.problem((), "a mapping of fields is wanted here, as in {kind: paper, size: [210, 297]}")
    kind = entry.data.get("kind")
    if kind in KINDS:
        return None
    if "kind" not in entry.data:
        return entry.problem((), f"the field kind is missing; {allowed_text('', KINDS)}")
    if not isinstance(kind, str):
        return entry.problem(("kind",), f"one word is wanted here; {allowed_text('', KINDS)}")
    return entry.problem(("kind",), f'found "{kind}"; {allowed_text(kind, KINDS)}')
