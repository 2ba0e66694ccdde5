"""From a YAML tree to a model, or to every fault of the file at its place."""

from __future__ import annotations

from typing import Any, TypeVar, get_args

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from labelkit.errors import Problem, allowed_text
from labelkit.load.yamltree import Key, Tree
from labelkit.model.form import FORMS
from labelkit.model.scalars import Model

M = TypeVar("M", bound=Model)


def validate(tree: Tree, model: type[M], context: dict[str, str]) -> tuple[M | None, list[Problem]]:
    """Read a tree into a model.

    Args:
        tree: the file.
        model: what it should be.
        context: default units, as `labelkit.model.scalars` wants them.

    Returns:
        The model (None when it cannot be built) and all faults found.
    """
    problems = list(tree.problems)
    if not isinstance(tree.data, dict):
        return None, [*problems, tree.problem((), "the file is not a mapping of fields like `format: 1`")]
    try:
        return model.model_validate(tree.data, context=context), problems
    except ValidationError as error:
        details = error.errors(include_url=False, include_input=True)
        return None, problems + _problems(tree, model, details)


def _problems(tree: Tree, model: type[Model], details: list[ErrorDetails]) -> list[Problem]:
    """Return one fault a place: of a value that may be of several types, the fault that fits what was written."""
    by_path: dict[tuple[Key, ...], list[ErrorDetails]] = {}
    for detail in details:
        by_path.setdefault(_real_path(tree, detail["loc"]), []).append(detail)
    return [
        _problem(tree, model, path, detail)
        for path, found in by_path.items()
        for detail in (found if len(found) == 1 else _fitting(found))
    ]


def _fitting(found: list[ErrorDetails]) -> list[ErrorDetails]:
    if isinstance(found[0]["input"], str):
        kept = [detail for detail in found if detail["type"] not in ("model_type", "dict_type", "tuple_type")]
    else:
        kept = [detail for detail in found if detail["type"] not in ("literal_error", "labelkit", "tuple_type")]
    return kept[:1] or found[:1]


def _problem(tree: Tree, model: type[Model], path: tuple[Key, ...], detail: ErrorDetails) -> Problem:
    kind = detail["type"]
    if kind == "labelkit":
        return tree.problem(path, detail["msg"])
    if kind == "missing":
        return tree.problem(path[:-1], f"the field {path[-1]} is missing")
    if kind == "extra_forbidden":
        allowed = allowed_text(str(path[-1]), _fields(model, path[:-1]), most=40)
        return tree.problem(path, f"the field {path[-1]} is not known here; {allowed}", key=True)
    if kind == "literal_error":
        allowed_names = [name.strip("'") for name in _split_expected(detail)]
        return tree.problem(
            path, f"found {_shown(detail['input'])}; {allowed_text(str(detail['input']), allowed_names)}"
        )
    return tree.problem(path, f"found {_shown(detail['input'])}; {_WANTED.get(kind, detail['msg'])}")


_WANTED = {
    "model_type": "a mapping of fields is wanted here",
    "dict_type": "a mapping is wanted here",
    "tuple_type": "a list is wanted here: [..., ...]",
    "too_short": "at least one entry is wanted here",
    "too_long": "the list has too many entries",
    "none_required": "nothing is wanted here",
    "string_type": "a text is wanted here",
}


def _real_path(tree: Tree, loc: tuple[Key, ...]) -> tuple[Key, ...]:
    """Return the part of pydantic's location that exists in the file: its branch names of unions do not."""
    path: tuple[Key, ...] = ()
    node: Any = tree.data
    for position, key in enumerate(loc):
        inside = (isinstance(node, dict) and key in node) or (isinstance(node, list) and isinstance(key, int))
        if not inside:
            # a missing field at the end has no place of its own; a union's branch name is skipped
            if position == len(loc) - 1 and isinstance(node, dict) and isinstance(key, str):
                path = (*path, key)
            continue
        path = (*path, key)
        node = node[key] if not isinstance(node, list) or key < len(node) else None  # type: ignore[operator]
    return path


def _fields(model: type[Model], path: tuple[Key, ...]) -> list[str]:
    """Return the names of the fields allowed at this path."""
    current: Any = model
    for key in path:
        if isinstance(key, int):
            continue
        if key in FORMS and not _is_model(current):
            current = FORMS[key]
            continue
        if not _is_model(current):
            continue
        field = next((f for name, f in current.model_fields.items() if (f.alias or name) == key), None)
        current = _model_in(field.annotation) if field is not None else None
    return [f.alias or name for name, f in current.model_fields.items()] if _is_model(current) else []


def _is_model(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, Model)


def _model_in(annotation: Any) -> Any:
    """Return the one model class inside an annotation; None when there are several (the forms) or none."""
    if _is_model(annotation):
        return annotation
    inside = [found for arg in get_args(annotation) if (found := _model_in(arg)) is not None]
    return inside[0] if len(inside) == 1 else None


def _split_expected(detail: ErrorDetails) -> list[str]:
    expected = str(detail.get("ctx", {}).get("expected", ""))
    return [name for part in expected.split(", ") for name in part.split(" or ")]


def _shown(value: object) -> str:
    if isinstance(value, str):
        return f'"{value if len(value) <= 60 else value[:57] + "..."}"'
    return {dict: "a mapping", list: "a list", type(None): "nothing"}.get(type(value), str(value))
