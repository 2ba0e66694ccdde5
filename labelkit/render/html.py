"""HTML pages from templates. The only module that knows Jinja."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import jinja2
from markupsafe import Markup

__all__ = ["Markup", "page"]


@cache
def _environment(folder: Path) -> jinja2.Environment:
    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(folder),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def page(folder: Path, template: str, **values: Any) -> str:
    """Return a template of a folder filled with values; every text is escaped, `Markup` is not."""
    return _environment(folder).get_template(template).render(**values)
