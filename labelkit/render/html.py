"""HTML pages from templates. The only module that knows Jinja."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any, Final

import jinja2
from markupsafe import Markup

from labelkit import language
from labelkit.units import FACTORS

__all__ = ["Markup", "page"]

# A blank between a figure and its unit, in what is read: not in a tag, nor in what is typed in or chosen from.
_PARTING: Final = re.compile(
    r" (?<=\d )(?=(?:"
    + "|".join(map(re.escape, (*FACTORS, "°C", "%")))
    + r")(?!\w)(?![^<]*</(?:textarea|option))[^<>]*<)"
)


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
    # Pages say many words: the extension's own way to here, which also looks for older styles, takes a fifth of a page.
    found.globals.update(_=_said, language=language.spoken, languages=language.LANGUAGES)
    return found


def _said(text: str, /, **values: object) -> Markup:
    """Return a text in the language that is spoken, with its values; per cent signs are written twice in it."""
    return Markup(language.gettext(text)) % values  # noqa: S704 - words of our own, not of people


def page(folders: tuple[Path, ...], template: str, **values: Any) -> str:
    """Return a template filled with values; every text is escaped, `Markup` is not.

    A figure and its unit stay on one line, as ISO 80000-1 has it.

    A template says `{{ _("step %(step)s", step=...) }}` in the language that is spoken; `language()` is its code,
    and `languages` are the names of all by their codes.

    Args:
        folders: where templates lie; of two of one name the first counts.
        template: its name.
        values: what it names.
    """
    return _PARTING.sub("\N{NO-BREAK SPACE}", _environment(folders).get_template(template).render(**values))
