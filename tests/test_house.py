"""The house itself: doors of outside libraries, sizes of modules, what the README and DEVELOPERS promise."""

from __future__ import annotations

import ast
import builtins
import io
import math
import re
import tomllib
from collections.abc import Iterable, Iterator
from functools import cache
from importlib import import_module
from importlib.metadata import packages_distributions
from pathlib import Path
from typing import Any

import pytest
from babel import Locale

import labelkit
from labelkit.language import LANGUAGES
from labelkit.render import write
from labelkit.sheets.exploded import ExplodedView
from tests.shop import demo, view_of
from tests.traysheets import paper

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "labelkit"

# Every outside library and the only module, or floor, that may import it.
DOORS = {
    "babel": "language.py",
    "click": "cli/",
    "flask": "bench/",
    "jinja2": "render/html.py",
    "markupsafe": "render/html.py",
    "numpy": ("proof/", "calc/"),
    "PIL": "proof/raster.py",
    "pydantic": ("model/", "load/validate.py"),
    "pydantic_core": ("model/", "load/validate.py"),
    "pypdfium2": "proof/raster.py",
    "qrcode": "drawing/qr.py",
    "reportlab": "render/pdf.py",
    "sqlalchemy": "store/",
    "stdnum": "calc/codes.py",
    "svgwrite": "render/svg.py",
    "waitress": "cli/bench.py",
    "werkzeug": "bench/",
    "yaml": "load/yamltree.py",
    "zxingcpp": "proof/decode.py",
}


def modules() -> list[Path]:
    return sorted(path for path in PACKAGE.rglob("*.py"))


@cache
def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text())


@cache
def imported(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(parsed(path)):
        if isinstance(node, ast.Import):
            found |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.add(node.module.partition(".")[0])
    return found


@pytest.mark.parametrize("library", sorted(DOORS))
def test_each_library_enters_by_one_door(library: str) -> None:
    """A library that must be replaced one day is replaced in one place."""
    users = {str(path.relative_to(PACKAGE)) for path in modules() if library in imported(path)}

    assert users
    assert [user for user in users if not user.startswith(DOORS[library])] == []


def test_no_other_library_is_used() -> None:
    """Nothing is imported that the table of doors does not name."""
    import sys

    used = set().union(*(imported(path) for path in modules()))

    assert used - set(DOORS) - set(sys.stdlib_module_names) == {"labelkit"}


PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
REQUIREMENT = re.compile(r"([\w-]+)(?:\[\w+\])?((?:[<>=]+[\d.]+,?)*)")


def normal(name: str) -> str:
    """Return a name as the registry compares it. Source: the packaging user guide, "Names and normalization"."""
    return re.sub(r"[-_.]+", "-", name).lower()


def required() -> dict[tuple[str, str], str]:
    """Return the bounds of what pyproject.toml asks for, by extra and name; nothing is the extra of what all need."""
    wanted = {"": PROJECT["dependencies"], **PROJECT["optional-dependencies"]}
    found = [
        (extra, match) for extra, lines in wanted.items() for line in lines if (match := REQUIREMENT.fullmatch(line))
    ]
    assert len(found) == sum(map(len, wanted.values()))
    return {(extra, normal(match[1])): match[2] for extra, match in found if match[1] != PROJECT["name"]}


def explained() -> list[tuple[str, str]]:
    """Return the rows of both tables in DEVELOPERS.md, as `required` names them."""
    section = (ROOT / "DEVELOPERS.md").read_text().partition("\n## Outside libraries\n")[2].partition("\n## ")[0]
    rows = re.findall(r"^\| ([\w-]+) \| (.+?) \| .{5,} \|$", section, re.MULTILINE)
    return [("" if "`" in where else where, normal(name)) for name, where in rows if name != "library"]


def test_every_library_is_justified() -> None:
    """Each library of pyproject.toml has its line in DEVELOPERS.md, and each line its library."""
    assert sorted(explained()) == sorted(required())


def test_every_library_has_bounds() -> None:
    """Whoever installs is never given a version older than those tried."""
    assert [name for name, bounds in required().items() if not bounds.startswith(">=")] == []


def test_what_is_imported_is_asked_for() -> None:
    """No module leans on a library that is there only because another one needs it; pydantic names its own core."""
    brought = packages_distributions()
    names = {library: {normal(name) for name in brought[library]} for library in set(DOORS) - {"pydantic_core"}}

    assert [
        library for library, known in names.items() if not known & {name for extra, name in required() if not extra}
    ] == []


def one_by_one(terms: Iterable[Any], start: Any = 0) -> Any:
    for term in terms:
        start = start + term
    return start


def compensated(terms: Iterable[Any], start: Any = 0) -> Any:
    terms = [*terms]
    return math.fsum([start, *terms]) if any(isinstance(term, float) for term in terms) else one_by_one(terms, start)


def test_every_python_draws_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lengths are added with `math.fsum`: Python 3.12 changed how `sum` rounds. Source: its "What's New"."""
    drawn = []
    for added in (one_by_one, compensated):
        monkeypatch.setattr(builtins, "sum", added)
        stream = io.BytesIO()
        write(ExplodedView(view_of(demo("planetary-reducer")), paper("a4")).pages(), ".pdf", stream, title="t")
        drawn.append(stream.getvalue())

    assert drawn[0] == drawn[1]


def test_modules_stay_small() -> None:
    """A module has at most 400 lines, half of them at most 150."""
    sizes = {str(path.relative_to(PACKAGE)): len(path.read_text().splitlines()) for path in modules()}

    assert {} == {path: lines for path, lines in sizes.items() if lines > 400}, "part these by what they are about"
    assert sorted(sizes.values())[len(sizes) // 2] <= 150


def defined(tree: ast.Module) -> dict[str, ast.stmt]:
    """Return what stands at the top of a module under a name; what is hung on another by its decorator is used."""
    found: dict[str, ast.stmt] = {}
    for each in tree.body:
        match each:
            case ast.FunctionDef(decorator_list=[ast.Call(func=ast.Attribute(value=ast.Name(id=group))), *_]):
                if group not in found:
                    found[each.name] = each
            case ast.FunctionDef() | ast.ClassDef():
                found[each.name] = each
            case ast.Assign(targets=[ast.Name(id=name)]) | ast.AnnAssign(target=ast.Name(id=name)):
                found[name] = each
    return {name: each for name, each in found.items() if not name.startswith("__")}


def used_in(module: str, tree: ast.Module) -> Iterator[tuple[str, str]]:
    """Yield each name that a module uses, with the module that it is from; `"module:name"` names one, too."""
    doors: dict[str, str] = {}
    through: list[tuple[str, str]] = []
    lines: dict[str, set[int]] = {}
    for node in ast.walk(tree):
        match node:
            case ast.ImportFrom(module=str(source)):
                yield from ((source, alias.name) for alias in node.names)
                doors |= {alias.asname or alias.name: f"{source}.{alias.name}" for alias in node.names}
            case ast.Attribute(value=ast.Name(id=door), attr=name):
                through.append((door, name))
            case ast.Constant(value=str(text)) if re.fullmatch(r"labelkit[\w.]*:\w+", text):
                source, _, name = text.partition(":")
                yield source, name
            case ast.Name(id=name, ctx=ast.Load()):
                lines.setdefault(name, set()).add(node.lineno)
    yield from ((doors[door], name) for door, name in through if door in doors)
    for name, each in defined(tree).items():
        if lines.get(name, set()).difference(range(each.lineno, (each.end_lineno or 0) + 1)):
            yield module, name


# What the tests alone ask: an order that is read off places, to compare with that of other checkers.
FOR_TESTS = {("labelkit.calc.traycheck", "reading_order")}


def test_nothing_is_written_that_nobody_uses() -> None:
    """A hint without a row in its table, a command without one, a function whose last caller went."""
    trees = {
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): parsed(path)
        for path in modules()
    }
    used = {each for module, tree in trees.items() for each in used_in(module, tree)}

    assert {(module, name) for module, tree in trees.items() for name in defined(tree)} - used == FOR_TESTS, (
        "use it, give it a row in the table of its kind (DEVELOPERS.md, How to add), or take it out"
    )


def test_the_table_of_floors_names_all_of_them() -> None:
    """From top to bottom as import-linter holds to them."""
    (contract,) = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]["contracts"]
    table = (ROOT / "DEVELOPERS.md").read_text().split("```")[1].strip().splitlines()

    assert [layer.replace("labelkit.", "") for layer in contract["layers"]] == [
        re.split(r"  +", line)[0] for line in table
    ]


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md"])
def test_documents_name_files_that_exist(document: str) -> None:
    """A path in a document leads somewhere."""
    text = (ROOT / document).read_text()
    links = re.findall(r"\]\(([^)#]+)\)", text)
    named = re.findall(r"`((?:[a-z_]+/)+[a-z_]+\.(?:py|yaml|css|html))`", text)

    missing = [link for link in links if not (ROOT / link).exists()]
    missing += [name for name in named if not (ROOT / name).exists() and not (PACKAGE / name).exists()]
    assert missing == []


def resolved(name: str) -> Any:
    """Return what a dotted name below the package means; `AttributeError` or `ImportError` where it means nothing."""
    found: Any = labelkit
    for part in name.removeprefix("labelkit.").split("."):
        if not hasattr(found, part):
            import_module(f"{found.__name__}.{part}")
        found = getattr(found, part)
    return found


def test_names_in_developers_are_those_of_the_code() -> None:
    """A module, function or table that was called otherwise since would send a newcomer nowhere."""
    floors = "|".join(path.stem for path in PACKAGE.iterdir() if path.stem[0] != "_")
    text = (ROOT / "DEVELOPERS.md").read_text()
    gone = []
    for name in sorted(set(re.findall(rf"`((?:labelkit|{floors})(?:[.](?!py`)\w+)+)`", text))):
        try:
            resolved(name)
        except (ImportError, AttributeError):
            gone.append(name)

    assert [] == gone


def test_what_is_told_by_language_is_told_in_each() -> None:
    """A table that has English and German has every language; README and pyproject.toml name them all."""
    readme = (ROOT / "README.md").read_text()
    missing = [
        (str(path.relative_to(ROOT)), node.lineno, code)
        for path in modules()
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.Dict)
        and {"en", "de"} <= (there := {key.value for key in node.keys if isinstance(key, ast.Constant)})
        for code in LANGUAGES.keys() - there
    ]
    for name in (Locale(code).get_language_name("en") for code in LANGUAGES):
        missing += [] if f"Natural Language :: {name}" in PROJECT["classifiers"] else [("pyproject.toml", 0, name)]
        missing += [] if name in readme else [("README.md", 0, name)]

    assert [] == missing, "file, line and language"


def test_every_package_has_a_line_of_documentation() -> None:
    """A newcomer who opens a folder is told what it is for."""
    silent = [
        str(path.relative_to(ROOT)) for path in PACKAGE.rglob("__init__.py") if not ast.get_docstring(parsed(path))
    ]

    assert silent == []
