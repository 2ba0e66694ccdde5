"""The form of a part from a line of a table: its kind by name, its sizes from columns or from one text."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any, Final

from labelkit.errors import allowed_text
from labelkit.load.partcolumns import COLUMNS
from labelkit.load.sizetext import read_sizes, told_by_figures, written
from labelkit.load.table import slip_of
from labelkit.model.form import FORMS
from labelkit.model.formwords import folded, form_words, kinds_of, sizes_of
from labelkit.units import UnitError

# Two figures with a cross between them, up to the last: sizes in a name.
_IN_NAME: Final = re.compile(
    r"(?:\bM)?\d+(?:\.\d+)?(?:\s*[x×]\s*\d+(?:\.\d+)?)+(?:\s*mm\b)?(?![\w/])", re.ASCII | re.IGNORECASE
)

Finding = tuple[int, str, bool]


def form_of(
    data: dict[str, Any],
    cells: dict[tuple[str, ...], int],
    said: Mapping[str, tuple[int, str]],
    name: str,
    has_forms: bool,
) -> Iterator[Finding]:
    """Give a part its form; yield what is wrong or doubtful: number of the cell, words, whether it is only a doubt.

    Args:
        data: the part; `form` is set where it is known with all its sizes.
        cells: of each field the number of its cell; those of the form are added.
        said: by the names of columns the cell and its text: form, sizes, and the single sizes.
        name: of the part.
        has_forms: the table has a column of forms, so that an empty cell there says that nobody knows.
    """
    sized = {column: value for column, value in said.items() if column != "form"}
    if not said and (has_forms or not _IN_NAME.search(name)):
        return
    named_at = cells.get(("name",), 0)
    kinds = _kinds(said["form"][1]) if "form" in said else kinds_of(name)
    if "form" not in said and "=" not in said.get("sizes", (0, "="))[1]:
        kinds = tuple(kind for kind in kinds if told_by_figures(kind))
    at = said["form"][0] if "form" in said else next((index for index, _ in sized.values()), named_at)
    if len(kinds) != 1:
        left_out = "; the sizes are left out" if sized else ""
        if "form" in said:
            yield at, _unknown(said["form"][1], kinds, left_out), bool(kinds)
        elif sized or kinds:
            why = f"it may be {' or '.join(kinds)}" if kinds else "its name says none"
            yield at, f"has sizes and no form, and {why}: name one in a column form{left_out}", True
        return
    (kind,) = kinds
    found: dict[str, Any] = {}
    places: dict[str, int] = {}
    if not sized and not has_forms and (match := _IN_NAME.search(name)):
        sized = {"sizes": (named_at, match[0])}
        yield named_at, f"the sizes {match[0]} of a {kind} are taken from the name", True
    elif "form" not in said:
        yield at, f"the form {kind} is taken from the name", True
    for column, (index, text) in sized.items():
        try:
            sizes, doubts = _sizes(column, text, kind)
        except UnitError as error:
            yield index, str(error), False
            continue
        for own, value in sizes.items():
            if own in found and found[own] != value:
                yield index, f"{own} is {value} here and {found[own]} in another column; keep one", False
            found[own] = value
            places[own] = index
        yield from ((index, doubt, True) for doubt in doubts)
    fields = FORMS[kind].model_fields.items()
    missing = [written(kind, own) for own, info in fields if info.is_required() and own not in found]
    if missing:
        yield at, f"the form {kind} needs {', '.join(missing)} too: it is left without a form", True
        return
    data["form"] = {kind: found}
    cells[("form",)] = cells[("form", kind)] = at
    cells.update({("form", kind, own): index for own, index in places.items()})


def _kinds(text: str) -> tuple[str, ...]:
    """Return the form that a cell names, by the format's name or in the words of the trade."""
    key = folded(text).replace(" ", "_")
    return (key,) if key in FORMS else kinds_of(text)


def _unknown(text: str, kinds: tuple[str, ...], left_out: str) -> str:
    """Return that a cell names no form, or several, with the word of the trade that was probably meant.

    Args:
        text: of the cell.
        kinds: that it may name by its end; empty: none.
        left_out: what becomes of the part then.
    """
    words = {folded(word): word for word, _kind, _language in form_words()}
    near = None if folded(text) in words else slip_of(folded(text), words, ())
    meant = f"; did you mean {words[near]}, which is {' or '.join(kinds_of(words[near]))}?" if near else ""
    found = f'found the form "{text[:40]}"' + (", which is not known" if near else "")
    if kinds:
        return f"{found}: it may be {' or '.join(kinds)}; name one of them{left_out}{meant}"
    return f"{found}; {allowed_text('' if near else text, FORMS, most=40)}{meant}"


def _sizes(column: str, text: str, kind: str) -> tuple[dict[str, Any], list[str]]:
    if column == "sizes":
        read = read_sizes(text, kind)
        return read.found, read.doubts
    own = next((size for size in COLUMNS[column].path if size in FORMS[kind].model_fields), None)
    if own is None:
        sizes = ", ".join(sizes_of(kind)) or ", ".join(FORMS[kind].model_fields)
        raise UnitError(f"a {kind} has no {column}; its sizes are {sizes}")
    return {own: text}, []
