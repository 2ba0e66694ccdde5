"""A whole job as one JSON file: its profile, options, pictures and record, for another store or for the archive."""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import asdict, replace
from datetime import datetime
from typing import Any, Final

from labelkit.calc.codes import BLOCK_SIZE
from labelkit.datafiles import is_path
from labelkit.errors import InputError, NotFoundError, UsageError, allowed_text
from labelkit.language import LANGUAGES
from labelkit.load.profile import parse_profile
from labelkit.model.acts import Photo
from labelkit.model.address import base_address
from labelkit.model.events import Entry, Event, act_of
from labelkit.model.job import DEFAULT_STOCKS, Job, Stocks
from labelkit.model.laying import Laying
from labelkit.store.jobs import Store

_WHAT: Final = "labelkit job"
_FORMAT: Final = 1
_MOST_BLOCKS: Final = 1024  # of codes, for a million places


def export_job(store: Store, number: int) -> dict[str, Any]:
    """Return everything that is kept of a job, as plain data for JSON; the same job gives the same data.

    Raises:
        NotFoundError: no such job.
    """
    job = store.job(number)
    events = store.journal.events(number)
    names = sorted({event.act.sha256 for event in events if isinstance(event.act, Photo)})
    profile = parse_profile(job.source, job.file, None).profile
    paths = sorted({part.photo for _, part in profile.walk() if part.photo})
    return {
        "what": _WHAT,
        "format": _FORMAT,
        "job": {
            "number": job.number,
            "serial": job.serial,
            "address": job.address,
            "options": dict(job.options),
            "numbering": dict(job.numbering),
            "laying": job.laying.plain(),
            "stocks": asdict(job.stocks),
            "language": job.language,
            "codes": job.blocks,
        },
        "profile": {"file": job.file, "sha256": job.sha256, "base64": _text(job.source)},
        "photos": {path: _text(data) for path in paths if (data := _photo(store, number, path)) is not None},
        "pictures": {name: _text(store.journal.picture(name)) for name in names},
        "events": [event.data() for event in events],
    }


def import_job(store: Store, data: object, *, number: int | None = None) -> Job:
    """Put a job that was exported into a store, all of it or nothing.

    It keeps its number and its record. Its codes are new: they are made with this store's key, so labels that were
    printed from the other store open nothing here.

    Args:
        store: where it goes.
        data: as `export_job` returned it.
        number: that it gets; None: that which it had.

    Raises:
        InputError: it is no exported job, or one that is damaged; says where.
        UsageError: the number is taken.
    """
    if not isinstance(data, dict) or (data.get("what"), data.get("format")) != (_WHAT, _FORMAT):
        raise InputError(
            f"this is no job that labelkit exported in format {_FORMAT}; make it with `labelkit job export`"
        )
    told = _Told(data, "")
    job, profile = told.inner("job"), told.inner("profile")
    source = profile.data("base64")
    if hashlib.sha256(source).hexdigest() != profile.get("sha256", str):
        raise InputError("profile.base64: is not what profile.sha256 says: the file is damaged; export the job again")
    file = profile.get("file", str)
    loaded = parse_profile(source, file, None)
    options, numbering = (_chosen(job, name, loaded.profile.options) for name in ("options", "numbering"))
    pictures = _pictures(told)
    photos = {path: told.inner("photos").data(path) for path in told.get("photos", dict)}
    own = job.get("number", int)
    wanted = own if number is None else number
    laying, stocks, language = _laying(job), _stocks(job), _language(job)
    events = _events(told, wanted, pictures)
    address = _address(job)
    if store.find(wanted) is not None:
        raise UsageError(f"job {wanted} is taken in the store {store.where}; give it another number with --job")
    with store.changing():
        created = store.create_job(
            number=wanted,
            serial=job.get("serial", str, none=True),
            file=file,
            source=source,
            options=numbering,
            address=address,
            codes=_codes(job),
            photos=photos,
            laying=laying,
            stocks=stocks,
            language=language,
        )
        created = store.update_job(replace(created, options=options))
        store.journal.restore(wanted, events, pictures)
    return created


def copies_of(store: Store, data: object) -> tuple[int, ...]:
    """Return the jobs of a store, by number, that are an exported one: as it is in the file, or was, or is by now.

    It is one job where its profile is the same, one record begins as the other, and no two serial numbers differ; where
    nothing is recorded in either, they have the same one or none, and the same options. What is no exported job has
    none.

    Args:
        store: where it may be.
        data: as `export_job` returned it.
    """
    try:
        told = _Told(data, "")
        tokens = [each["token"] for each in told.get("events", list)]
        job, sha256 = told.inner("job"), told.inner("profile").get("sha256", str)
        serial, options = job.get("serial", str, none=True), job.get("options", dict)
    except (InputError, LookupError, TypeError):
        return ()
    found = []
    for each in store.jobs():
        if each.sha256 == sha256:
            here = [event.token for event in store.journal.events(each.number)]
            begun = here[: len(tokens)] == tokens[: len(here)] if here and tokens else here == tokens
            one_unit = each.serial == serial or (here and None in (each.serial, serial))
            if begun and one_unit and (here or dict(each.options) == options):
                found.append(each.number)
    return tuple(found)


def goes_on(text: str, earlier: bytes) -> bool:
    """Say whether an exported job is what another file holds, and what came since.

    Args:
        text: the exported job, JSON.
        earlier: the other file, whatever it is.
    """
    now = json.loads(text)
    try:
        then = json.loads(earlier)
        job, profile, events = then["job"], then["profile"], then["events"]
        same = (then["what"], job["number"], profile["file"]) == (_WHAT, now["job"]["number"], now["profile"]["file"])
        return same and now["events"][: len(events)] == events
    except (ValueError, RecursionError, LookupError, TypeError):
        return False


def read_job_file(text: str, file: str) -> object:
    """Return the data of an exported file.

    Raises:
        InputError: it is no JSON.
    """
    try:
        data = json.loads(text)
        json.dumps(data, ensure_ascii=False).encode()  # an escape may stand for half a letter, which nothing can keep
    except (ValueError, RecursionError) as error:
        raise InputError(f"{file}: is no JSON: {error}; make it with `labelkit job export`") from error
    return data


def _photo(store: Store, number: int, path: str) -> bytes | None:
    try:
        return store.photo(number, path)
    except NotFoundError:
        return None


def _text(data: bytes) -> str:
    return base64.b64encode(data).decode()


class _Told:
    """An object of the file, with its place, whose fields are asked for by type."""

    def __init__(self, value: object, place: str) -> None:
        if not isinstance(value, dict):
            raise InputError(f"{place}: found {type(value).__name__}; an object is needed")
        self._value, self._place = value, f"{place}." if place else ""

    def get(self, name: str, kind: type, *, none: bool = False) -> Any:
        value = self._value.get(name)
        right = isinstance(value, kind) and not (kind is int and isinstance(value, bool))
        if not right and not (none and value is None):
            found = f"found {json.dumps(value)[:40]}" if name in self._value else "is missing"
            raise InputError(f"{self._place}{name}: {found}; needed: {kind.__name__}")
        return value

    def inner(self, name: str) -> _Told:
        return _Told(self.get(name, dict), self._place + name)

    def data(self, name: str) -> bytes:
        try:
            return base64.b64decode(self.get(name, str), validate=True)
        except (binascii.Error, ValueError) as error:
            raise InputError(
                f"{self._place}{name[:16]}: is no base64: the file is damaged; export the job again"
            ) from error


def _pictures(told: _Told) -> dict[str, bytes]:
    """Return the pictures by their SHA-256, which each must have."""
    pictures = {name: told.inner("pictures").data(name) for name in told.get("pictures", dict)}
    for name, picture in pictures.items():
        if hashlib.sha256(picture).hexdigest() != name:
            raise InputError(
                f"pictures.{name[:16]}: is not what its name says: the file is damaged; export the job again"
            )
    return pictures


def _address(job: _Told) -> str:
    address = str(job.get("address", str))
    try:
        base_address(address, "job.address")
    except UsageError as error:
        raise InputError(str(error)) from error
    return address


def _laying(job: _Told) -> Laying:
    try:
        return Laying.of_plain(job.get("laying", dict))
    except (KeyError, TypeError, ValueError, ArithmeticError) as error:
        raise InputError("job.laying: does not say how trays are laid out; export the job again") from error


def _stocks(job: _Told) -> Stocks:
    """Return what a job is printed on; the usual stock where an earlier version exported it, which did not say.

    A path is one of another computer: of that the name alone is kept, and nothing is opened here that a file names.
    """
    told = job.get("stocks", dict, none=True)
    try:
        if told is None:
            return DEFAULT_STOCKS
        stocks = Stocks.of_plain(told)
        return Stocks(**{what: _stem(name) or getattr(DEFAULT_STOCKS, what) for what, name in asdict(stocks).items()})
    except (KeyError, TypeError, ValueError) as error:
        raise InputError("job.stocks: does not say what it is printed on; export the job again") from error


def _language(job: _Told) -> str | None:
    """Return what a job was last printed in; None where it never was, or where an earlier version exported it."""
    code: str | None = job.get("language", str, none=True)
    if code is not None and code not in LANGUAGES:
        raise InputError(f'job.language: found "{code[:20]}"; {allowed_text(code[:20], LANGUAGES)}')
    return code


def _stem(name: str) -> str:
    r"""Return the name of a stock without the path of its file.

    >>> [_stem(name) for name in ("a4-2x5-99x56", "/home/ann/rolls.yaml", r"C:\own.yaml:wide", "../own.v2.yml", "../")]
    ['a4-2x5-99x56', 'rolls', 'wide', 'own', '']
    """
    if not is_path(name):
        return name
    last = re.split(r"[/\\]", name)[-1]
    return (last.rpartition(":")[2] or last).lstrip(".").partition(".")[0]


def _codes(job: _Told) -> int:
    """Return how many codes a job gets: as many blocks as it had, within reason."""
    return min(max(1, int(job.get("codes", int))), _MOST_BLOCKS) * BLOCK_SIZE


def _chosen(job: _Told, name: str, known: Mapping[str, Any]) -> dict[str, str | None]:
    chosen = job.get(name, dict)
    for group, choice in chosen.items():
        choices = known[group].choices if group in known else ()
        if group not in known or not (choice is None or (isinstance(choice, str) and choice in choices)):
            raise InputError(f"job.{name}.{group}: found {choice}; the profile has no such option or choice")
    if missing := [group for group in known if group not in chosen]:
        raise InputError(f"job.{name}: {missing[0]} is missing; every option of the profile is needed")
    return dict(chosen)


def _events(told: _Told, job: int, pictures: Mapping[str, bytes]) -> list[Event]:
    found: list[Event] = []
    tokens: set[str] = set()
    for index, each in enumerate(told.get("events", list), 1):
        place = f"events[{index - 1}]"
        row = _Told(each, place)
        if row.get("number", int) != index:
            raise InputError(f"{place}.number: found {row.get('number', int)}; needed: {index}, one after the other")
        try:
            act = act_of(row.get("act", dict))
            when = datetime.fromisoformat(row.get("when", str))
            token = row.get("token", str)
            entry = Entry(act, row.get("who", str), when, token, row.get("place", int, none=True))
        except (InputError, ValueError) as error:
            raise InputError(f"{place}: {error}") from error
        if token in tokens:
            raise InputError(f"{place}.token: stands at an earlier event already")
        if isinstance(act, Photo) and act.sha256 not in pictures:
            raise InputError(f"{place}: its picture {act.sha256[:16]} is not in the file")
        tokens.add(token)
        found.append(Event(job, index, entry.act, entry.who, entry.when, token, entry.place))
    return found
