"""What pages and prints say, in the language of who reads them: gettext catalogues in `labelkit/words/`.

English is what stands in the code. A text without a translation stays English. The only module that knows Babel.
"""

from __future__ import annotations

import gettext as _library
import io
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache, lru_cache
from pathlib import Path
from typing import Final

from labelkit.errors import InputError, UsageError, allowed_text

LANGUAGES: Final = {"en": "English", "de": "Deutsch", "es": "Español"}
"""Languages by their code, each by its own name."""

WORDS: Final = Path(__file__).parent / "words"

_spoken: ContextVar[str] = ContextVar("spoken", default="en")


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Let everything inside be said in a language.

    Raises:
        UsageError: there is no such language.
    """
    if language not in LANGUAGES:
        raise UsageError(f'language "{language}": {allowed_text(language, LANGUAGES)}')
    before = _spoken.set(language)
    try:
        yield
    finally:
        _spoken.reset(before)


def spoken() -> str:
    """Return the code of the language that is spoken."""
    return _spoken.get()


def noop(text: str) -> str:
    """Return a text as it is: a table's, marked to be in the catalogues, and translated when it is said."""
    return text


@cache
def decimal_sign(language: str) -> str:
    """Return what stands before the decimals of a figure in a language; source: Unicode CLDR."""
    from babel.numbers import get_decimal_symbol  # prints need it not

    return get_decimal_symbol(language)


def gettext(text: str) -> str:
    """Return a text in the language that is spoken."""
    return _catalogue(_spoken.get()).gettext(text)


def ngettext(one: str, many: str, count: int) -> str:
    """Return a text for so many things in the language that is spoken."""
    return _catalogue(_spoken.get()).ngettext(one, many, count)


def pgettext(context: str, text: str) -> str:
    """Return a text that means different things in different places; `context` says which."""
    return _catalogue(_spoken.get()).pgettext(context, text)


def said(text: str, templates: Iterable[str]) -> str:
    """Return a text that is kept, and so English, in the language that is spoken.

    Args:
        text: one of the templates with its fields filled in, or a message that has none.
        templates: the messages that it may have been made of; the first that fits counts.
    """
    for template in templates:
        pattern = re.sub(r"\\{(\w+)\\}", r"(?P<\1>.+)", re.escape(template))
        if found := re.fullmatch(pattern, text, re.DOTALL):
            return gettext(template).format(**found.groupdict())
    return gettext(text) if text else ""


@lru_cache(256)
def best_language(wanted: str) -> str:
    """Return the language that suits a browser's wish best.

    Args:
        wanted: as in the header Accept-Language.

    >>> best_language("xx, es-MX;q=0.8, en;q=0.5"), best_language("")
    ('es', 'en')
    """
    found: list[tuple[float, int, str]] = []
    for place, part in enumerate(wanted.split(",")):
        name, _, weight = part.strip().partition(";q=")
        code = name.strip().lower().partition("-")[0]
        try:
            share = float(weight or 1)
        except ValueError:
            continue
        if code in LANGUAGES and share > 0:
            found.append((-share, place, code))
    return min(found)[2] if found else "en"


@cache
def _catalogue(language: str) -> _library.NullTranslations:
    if language == "en":
        return _library.NullTranslations()
    from babel.messages.mofile import write_mo  # English needs no catalogue
    from babel.messages.pofile import read_po

    words = WORDS / f"{language}.po"
    if not words.exists():
        raise InputError(
            f"{words}: no such file; {LANGUAGES[language]} has no words yet: run python -m tests.catalogue"
        )
    with words.open("rb") as file:
        catalogue = read_po(file, locale=language, abort_invalid=True)
    compiled = io.BytesIO()
    write_mo(compiled, catalogue)
    compiled.seek(0)
    return _library.GNUTranslations(compiled)
