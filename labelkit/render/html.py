"""HTML pages from templates. The only module that knows Jinja."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import jinja2
from markupsafe import Markup

from labelkit import language

__all__ = ["Markup", "page"]


@cache
def _environment(folders: tuple[Path, ...]) -> jinja2.Environment:
    found = jinja2.Environment(
        loader=jinja2.FileSystemLoader(folders),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        extensions=("jinja2.ext.i18n",),
    )
    found.install_gettext_callables(  # type: ignore[attr-defined]  # the extension adds it
        language.gettext, language.ngettext, newstyle=True, pgettext=language.pgettext
    )
    found.globals.update(language=language.spoken, languages=language.LANGUAGES)
    return found


def page(folders: tuple[Path, ...], template: str, **values: Any) -> str:
    """Return a template filled with values; every text is escaped, `Markup` is not.

    A template says `{{ _("step %(step)s", step=...) }}` in the language that is spoken; `language()` is its code,
    and `languages` are the names of all by their codes.

    Args:
        folders: where templates lie; of two of one name the first counts.
        template: its name.
        values: what it names.
    """
    return _environment(folders).get_template(template).render(**values)
