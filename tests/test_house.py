"""The house itself: doors of outside libraries, sizes of modules, what the README and DEVELOPERS promise."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

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
def imported(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text())):
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

    assert used - set(DOORS) - set(sys.stdlib_module_names) - {"labelkit"} == set()


def test_modules_stay_small() -> None:
    """A module has at most 400 lines, half of them at most 200."""
    sizes = sorted(len(path.read_text().splitlines()) for path in modules())

    assert sizes[-1] <= 400
    assert sizes[len(sizes) // 2] <= 200


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md"])
def test_documents_name_files_that_exist(document: str) -> None:
    """A path in a document leads somewhere."""
    text = (ROOT / document).read_text()
    links = re.findall(r"\]\(([^)#]+)\)", text)
    named = re.findall(r"`((?:[a-z_]+/)+[a-z_]+\.(?:py|yaml|css|html))`", text)

    missing = [link for link in links if not (ROOT / link).exists()]
    missing += [name for name in named if not (ROOT / name).exists() and not (PACKAGE / name).exists()]
    assert missing == []


def test_every_package_has_a_line_of_documentation() -> None:
    """A newcomer who opens a folder is told what it is for."""
    silent = [
        str(path.relative_to(ROOT))
        for path in PACKAGE.rglob("__init__.py")
        if not ast.get_docstring(ast.parse(path.read_text()))
    ]

    assert silent == []
