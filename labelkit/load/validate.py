"""From a YAML tree to a model, or to every fault of the file at its place."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from types import NoneType, UnionType
from typing import Annotated, Any, Final, TypeVar, Union, get_args, get_origin

from pydantic import ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from labelkit.errors import Problem, allowed_text, shortened
from labelkit.load.yamltree import FieldPath, Key, Tree, path_text
from labelkit.model.formbase import Form
from labelkit.model.scalars import Model, Scalar

M = TypeVar("M", bound=Model)


@dataclass(frozen=True, slots=True)
class _Fault:
    """One of pydantic's findings, with its place in the file.

    Attributes:
        detail: as pydantic tells it.
        path: of the value; of a missing field, where it would be.
        union: of the value that may be of several types, when this is what one of them finds wrong; else None.
        branch: that type, as pydantic calls it.
        at_key: the fault is that of the key, not of its value.
    """

    detail: ErrorDetails
    path: FieldPath
    union: FieldPath | None
    branch: str
    at_key: bool


def validate(tree: Tree, model: type[M], context: dict[str, str]) -> tuple[M | None, list[Problem]]:
    """Read a tree into a model.

    Args:
        tree: the file.
        model: what it should be.
        context: default units, as `labelkit.model.scalars` wants them.

    Returns:
        The model (None when it cannot be built) and all faults found. Decimal commas that part the figures of a list in
        brackets are taken back in the tree, so that all that reads it further finds the faults there.
    """
    figures = [path for path in tree.commas if _decimals(model, path)]
    for path in figures:
        if tree.mixes_commas(path):
            tree.join_commas(path)
    problems = list(tree.problems)
    if not isinstance(tree.data, dict):
        return None, [*problems, tree.problem((), "the file is not a mapping of fields like `format: 1`")]
    try:
        return model.model_validate(tree.data, context=context), problems
    except ValidationError as error:
        faults = _located_all(tree.data, error)
    # An alias is told already; what stands in its place is nothing, which would be told again.
    told = {(problem.line, problem.column) for problem in problems}
    for fault in _fitting(tree, faults):
        problem = _problem(tree, model, fault)
        if fault.path in figures and fault.path in tree.commas:
            last = tree.commas[fault.path][0]
            one, two = tree.node(fault.path)[last - 1 : last + 1]
            problem = replace(problem, message=f"{problem.message}; a decimal mark is a point, as in {one}.{two}")
        if fault.detail["input"] is not None or (problem.line, problem.column) not in told:
            problems.append(problem)
    return None, list(dict.fromkeys(problems))


def fault_paths(data: dict[str, Any], model: type[M], context: dict[str, str]) -> tuple[M | None, list[FieldPath]]:
    """Read plain data into a model; where that fails, return the path of everything that is wrong.

    Args:
        data: texts, lists and mappings, as a tree holds them.
        model: what they should be.
        context: default units.
    """
    try:
        return model.model_validate(data, context=context), []
    except ValidationError as error:
        return None, [fault.path for fault in _located_all(data, error)]


def _located_all(data: Any, error: ValidationError) -> list[_Fault]:
    return [_located(data, detail) for detail in error.errors(include_url=False, include_input=True)]


def _located(data: Any, detail: ErrorDetails) -> _Fault:
    """Find a fault's place: pydantic's location also names branches of unions, which the file does not have."""
    missing = detail["type"] == "missing"
    path: FieldPath = ()
    union, branch, at_key = None, "", False
    node = data
    for key in detail["loc"][:-1] if missing else detail["loc"]:
        if (isinstance(node, dict) and key in node) or (isinstance(node, list) and isinstance(key, int)):
            path, node = (*path, key), node[key]  # type: ignore[index]
        elif key == "[key]":
            at_key = True
        else:
            union, branch = path, str(key)
    return _Fault(detail, (*path, detail["loc"][-1]) if missing else path, union, branch, at_key)


def _fitting(tree: Tree, faults: list[_Fault]) -> Iterator[_Fault]:
    """Yield the faults to tell: of a value that may be of several types, those of the type that was written."""
    fitting = {fault.union for fault in faults if fault.union is not None and _fits(tree, fault)}
    told: set[FieldPath] = set()
    for fault in faults:
        # What is left of a list or mapping whose entries have faults is too short only because of them.
        if fault.detail["type"] == "too_short" and fault.detail["input"]:
            continue
        if fault.union is not None and not _fits(tree, fault):
            if fault.union in fitting or fault.union in told:
                continue
            told.add(fault.union)
        yield fault


def _fits(tree: Tree, fault: _Fault) -> bool:
    """Say whether a branch of a union is of the type that was written: a text, a list or a mapping."""
    node: Any = tree.data
    for key in fault.union or ():
        node = node[key]
    if isinstance(node, str):
        return fault.branch.startswith(("literal[", "function-"))
    if isinstance(node, list):
        return fault.branch.startswith("tuple[")
    return fault.branch[:1].isupper()


def _problem(tree: Tree, model: type[Model], fault: _Fault) -> Problem:
    path, detail = fault.path, fault.detail
    kind, given = detail["type"], detail["input"]
    if kind == "labelkit":
        told = detail["ctx"]
        problem = tree.problem(path, detail["msg"], key=fault.at_key)
        return replace(problem, template=told["template"], values=tuple(told["values"].items()))
    if kind == "missing":
        if isinstance(path[-1], int):
            wanted = _wanted(model, path[:-1])
            return tree.problem(path[:-1], f"the list has {_values(len(given))}; wanted here: {wanted}")
        return tree.problem(path[:-1], f"the field {path[-1]} is missing")
    if kind == "too_long":
        count = _values(detail["ctx"]["actual_length"])
        return tree.problem(path, f"the list has {count}; wanted here: {_wanted(model, path)}")
    if kind == "extra_forbidden":
        homes = " or ".join(_homes(model, path))
        allowed = allowed_text("" if homes else str(path[-1]), _fields(model, path[:-1]), most=40)
        home = f"; it belongs in {homes}" if homes else ""
        return tree.problem(path, f"the field {path_text(path[-1:])} is not known here{home}; {allowed}", key=True)
    if kind == "literal_error":
        allowed = allowed_text(str(given), [*_expected(detail), *_forms_wanted(model, path)])
        return tree.problem(path, f"found {_shown(given)}; {allowed}")
    if kind in _WANTED:
        return tree.problem(path, f"found {_shown(given)}; {_WANTED[kind]}: {_wanted(model, path)}")
    return tree.problem(path, f"found {_shown(given)}; {detail['msg']}")


_WANTED: Final = {
    "model_type": "a mapping of fields is wanted here",
    "dict_type": "a mapping is wanted here",
    "tuple_type": "a list is wanted here",
    "too_short": "at least one entry is wanted here",
}


def _wanted(model: type[Model], path: FieldPath) -> str:
    """Return how the lists and mappings are written that may stand at this path."""
    return " or ".join(_forms_wanted(model, path))


def _forms_wanted(model: type[Model], path: FieldPath) -> list[str]:
    """Return the ways in which the lists and mappings are written that may stand at this path."""
    kinds = [kind for annotation in _allowed(model, path) for kind in _branches(annotation)]
    return [_written(kind) for kind in kinds if _is_model(_bare(kind)) or get_origin(_bare(kind)) in _INSIDE]


def _written(annotation: Any) -> str:
    """Return how a value of a type is written: `[[diameter, length], ...]`, `{id: {name: ..., ...}, ...}`."""
    if len(kinds := _branches(annotation)) > 1:
        return " or ".join(map(_written, kinds))
    bare, notes = _bare(kinds[0]), getattr(kinds[0], "__metadata__", ())
    words = (note.description if isinstance(note, FieldInfo) else getattr(note, "what", None) for note in notes)
    if told := next(filter(None, words), None):
        return str(told)
    inside = [each if each is ... else _written(each) for each in get_args(bare)]
    if get_origin(bare) is dict:
        return f"{{{inside[0]}: {inside[1]}, ...}}"
    if get_origin(bare) is tuple:
        return f"[{', '.join('...' if each is ... else each for each in inside)}]"
    return _fields_written(bare) if _is_model(bare) else "..."


def _fields_written(kind: type[Model]) -> str:
    """Return the fields that a mapping must have, or the first two; whether there are more; of one what it holds."""
    fields = {field.alias or name: field for name, field in kind.model_fields.items()}
    shown = [name for name, field in fields.items() if field.is_required()] or list(fields)[:2]
    if len(fields) == 1:
        name, field = fields.popitem()
        return f"{{{name}: {next((note.what for note in field.metadata if isinstance(note, Scalar)), '...')}}}"
    return f"{{{', '.join(f'{name}: ...' for name in shown)}{', ...' * (len(shown) < len(fields))}}}"


def _fields(model: type[Model], path: FieldPath) -> list[str]:
    """Return the names of the fields allowed at this path."""
    kinds = [_bare(kind) for annotation in _allowed(model, path) for kind in _branches(annotation)]
    return [name for kind in kinds if _is_model(kind) for name in _names(kind)]


def _names(kind: type[Model]) -> list[str]:
    """Return the fields of a mapping as they are written."""
    return [field.alias or name for name, field in kind.model_fields.items()]


def _homes(model: type[Model], path: FieldPath) -> Iterator[str]:
    """Yield where a field that is not known at its path would be: `fasten: {torque: ...}`, `check: [{look: ...}]`."""
    *above, name = path
    for field in _fields(model, path[:-1]):
        for inside, written in (((), "{}: {{{}: ...}}"), ((0,), "{}: [{{{}: ...}}]")):
            annotations = _allowed(model, (*above, field, *inside))
            kinds = [_bare(kind) for annotation in annotations for kind in _branches(annotation)]
            if any(_is_model(kind) and not issubclass(kind, Form) and name in _names(kind) for kind in kinds):
                yield written.format(field, name)


def _allowed(model: type[Model], path: FieldPath) -> list[Any]:
    """Return the types that may stand at this path, with their notes."""
    found: list[Any] = [model]
    for key in path:
        found = [inner for annotation in found for kind in _branches(annotation) for inner in _step(_bare(kind), key)]
    return found


# Containers, and where the type of what they hold stands among their arguments.
_INSIDE: Final = {dict: 1, tuple: 0}


def _step(kind: Any, key: Key) -> Iterable[Any]:
    """Return the types that may stand at a key of a type."""
    if _is_model(kind):
        if issubclass(kind, Form) and kind.kind == key:
            return [kind]  # in the file the form's name stands around its sizes
        fields = kind.model_fields.items()
        return [Annotated[field.annotation, field] for name, field in fields if (field.alias or name) == key]
    container = get_origin(kind)
    return [get_args(kind)[_INSIDE[container]]] if container in _INSIDE else []


def _decimals(model: type[Model], path: FieldPath) -> bool:
    """Say whether a list holds figures that may have decimals."""
    kinds = [kind for annotation in _allowed(model, (*path, 0)) for kind in _branches(annotation)]
    return any(
        isinstance(note, Scalar) and note.decimal for kind in kinds for note in getattr(kind, "__metadata__", ())
    )


def _branches(annotation: Any) -> list[Any]:
    """Return the types that a union names, each with its notes."""
    bare = _bare(annotation)
    if get_origin(bare) not in (Union, UnionType):
        return [annotation]
    return [inner for part in get_args(bare) if part is not NoneType for inner in _branches(part)]


def _bare(annotation: Any) -> Any:
    """Return a type without its notes."""
    return get_args(annotation)[0] if get_origin(annotation) is Annotated else annotation


def _is_model(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, Model)


def _expected(detail: ErrorDetails) -> list[str]:
    """Return the words a literal allows; pydantic lists them as 'a', 'b' or 'c'."""
    listed = str(detail["ctx"]["expected"])
    return [name.strip("'") for part in listed.split(", ") for name in part.split(" or ")]


def _values(count: int) -> str:
    return f"{count} value{'s' * (count != 1)}"


def _shown(value: object) -> str:
    if isinstance(value, str):
        return f'"{shortened(value)}"'
    return {dict: "a mapping", list: "a list", type(None): "nothing"}.get(type(value), str(value))
