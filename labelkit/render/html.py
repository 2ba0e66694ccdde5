"""HTML pages from templates. The only module that knows Jinja."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import jinja2
from markupsafe import Markup

__all__ = ["Markup", "page"]


@cache
def _environment(folders: tuple[Path, ...]) -> jinja2.Environment:
    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(folders),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def page(folders: tuple[Path, ...], template: str, **values: Any) -> str:
    """Return a template filled with values; every text is escaped, `Markup` is not.

    Args:
        folders: where templates lie; of two of one name the first counts.
        template: its name.
        values: what it names.
    """
    return _environment(folders).get_template(template).render(**values)
