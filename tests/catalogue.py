"""The messages of the code, and what the catalogues make of them. As a program it brings the catalogues up to date:

    python -m tests.catalogue

New messages come in untranslated, messages that are gone are taken out, translations stay; nothing is guessed.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from babel import Locale
from babel.messages.catalog import Catalog, Message
from babel.messages.extract import DEFAULT_KEYWORDS, extract_from_dir
from babel.messages.pofile import read_po, write_po
from babel.plural import PluralRule, to_gettext

from labelkit.language import LANGUAGES, WORDS

PACKAGE = WORDS.parent
METHODS = [("**.py", "python"), ("**.html", "jinja2")]
# jinja2's own extractor needs to know what its templates leave out.
OPTIONS = {"**.html": {"trimmed": "true", "newstyle_gettext": "true", "silent": "false"}}
KEYWORDS = {**DEFAULT_KEYWORDS, "noop": None}
PLURALS = ("zero", "one", "two", "few", "many", "other")


@cache
def messages() -> Catalog:
    """Return every message of the package, without translations."""
    catalog = Catalog(charset="utf-8")
    for file, line, message, _comments, context in extract_from_dir(
        PACKAGE, METHODS, OPTIONS, KEYWORDS, comment_tags=()
    ):
        if file != "language.py":
            catalog.add(message, None, [(file, line)], context=context)
    return catalog


def translated() -> list[str]:
    """Return the languages that have a catalogue."""
    return [code for code in LANGUAGES if code != "en"]


def read(code: str) -> Catalog:
    """Return the catalogue of a language."""
    return parsed((WORDS / f"{code}.po").read_bytes(), code)


def parsed(text: bytes, code: str) -> Catalog:
    """Return the catalogue that a text is; one that is not well-formed ends the program."""
    return read_po(io.BytesIO(text), locale=code, abort_invalid=True)


def plural_forms(code: str) -> str:
    """Return the plural forms of a language as the header of a catalogue says them: those of whole numbers.

    Up to a thousand: some languages have one more for millions, of which nobody has so many parts.
    Source: the plural rules of Unicode CLDR, which Babel holds.
    """
    rule = Locale.parse(code).plural_form
    heard = {rule(number) for number in range(1000)}
    *own, _rest = (form for form in PLURALS if form in heard)
    return to_gettext(PluralRule({form: rule.rules[form] for form in own}))


def begun(code: str) -> Catalog:
    """Return the catalogue of a language that has none yet."""
    catalog = Catalog(locale=code)
    catalog.mime_headers = [("Plural-Forms", plural_forms(code))]
    return catalog


def renewed(code: str) -> bytes:
    """Return the catalogue of a language as it must be for the messages that there are, in the order of their files.

    Its plural forms stay those that it has. Lines are not broken, since another Babel breaks them elsewhere, and so
    that a change of a message is a change of one line.
    """
    path = WORDS / f"{code}.po"
    old = read(code) if path.exists() else begun(code)
    new = Catalog(locale=code, charset="utf-8", header_comment=f"# {LANGUAGES[code]}: what labelkit says.", fuzzy=False)
    new.mime_headers = old.mime_headers
    for message in messages():
        if message.id:
            was = old.get(message.id, message.context)
            files = sorted({(file, 0) for file, _ in message.locations})
            # What was one text and is now told in one and several, or the other way round, is translated anew.
            same = was is not None and isinstance(was.id, tuple) == isinstance(message.id, tuple)
            new.add(message.id, was.string if was and same else None, files, message.flags, context=message.context)
    stream = io.BytesIO()
    write_po(stream, new, width=0, sort_by_file=False, include_lineno=False, omit_header=False)
    return b"".join(_without_dates(stream.getvalue()))


def _without_dates(text: bytes) -> Iterator[bytes]:
    """Yield the lines of a catalogue but for those that change with the day or with Babel."""
    for line in text.splitlines(keepends=True):
        if not line.startswith((b'"POT-Creation-Date', b'"PO-Revision-Date', b'"Generated-By', b'"Last-Translator')):
            yield line


def is_translated(message: Message) -> bool:
    """Say whether every form of a message has its words."""
    return all(message.string if isinstance(message.string, tuple) else [message.string])


def refresh() -> None:
    """Write the catalogues anew, and say what is left to translate."""
    for code in translated():
        path: Path = WORDS / f"{code}.po"
        path.write_bytes(renewed(code))
        left = [message.id for message in read(code) if message.id and not is_translated(message)]
        print(f"{path}: {len(left)} messages to translate")


if __name__ == "__main__":
    refresh()
