"""A job goes out as one JSON file and comes back whole, into either database; a damaged file brings nothing."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from labelkit.errors import InputError, NotFoundError, UsageError
from labelkit.model.events import Entry, act_of
from labelkit.model.job import DEFAULT_STOCKS, Stocks
from labelkit.store.exchange import export_job, import_job, read_job_file
from labelkit.store.jobs import Store
from tests.bench_app.workshop import SECRET, code_of, open_job, png, pump

NOW = datetime(2026, 3, 2, 7, 30, 15, 250, tzinfo=UTC)


def worked(store: Store) -> int:
    """Open a job, with an option chosen after the first print, and record a few things."""
    view = open_job(store, pump(), serial="4711", photos={"photos/cover.png": png(4, 4)})
    store.update_job(
        replace(view.job, options={"drive": "keyed"}, stocks=Stocks("roll-70x37", "own", "a3"), language="es")
    )
    name = store.journal.keep_picture(png())
    acts: list[tuple[dict[str, Any], int | None]] = [
        ({"kind": "removed", "count": 6, "ticked": ["DANGER: The spring pushes the cover up"]}, 0),
        ({"kind": "photo", "sha256": name}, 1),
        ({"kind": "reading", "check": 0, "at": "apart", "values": ["5.00", "5.010"], "unit": "mm"}, 4),
        ({"kind": "hold", "why": "Öl fehlt – wait"}, None),
    ]
    entries = [Entry(act_of(act), "Ana", NOW, f"token-{k:04}", place) for k, (act, place) in enumerate(acts)]
    store.journal.append(view.job.number, entries)
    return view.job.number


def test_a_job_comes_back_whole_in_another_store(store: Store, tmp_path: Path) -> None:
    """Profile, options, numbering, pictures and every event; the same job gives the same file."""
    number = worked(store)
    text = json.dumps(export_job(store, number))

    with Store(str(tmp_path / "other.sqlite"), secret=b"another key" * 3) as other:
        got = import_job(other, read_job_file(text, "job.json"))
        job = store.job(number)
        assert replace(job, block=got.block) == got == other.job(number)
        assert store.journal.events(number) == other.journal.events(number)
        assert png(4, 4) == other.photo(number, "photos/cover.png")
        assert json.loads(text) == export_job(other, number)


def test_its_codes_are_those_of_the_store_it_came_to(store: Store, tmp_path: Path) -> None:
    """Nobody can make codes of a store without its key: labels of the other store are unknown, new ones open."""
    number = worked(store)
    view = open_job(store, pump(), serial="2")

    with Store(str(tmp_path / "other.sqlite"), secret=b"another key" * 3) as other:
        got = import_job(other, export_job(store, number))
        with pytest.raises(NotFoundError):
            other.job_of(code_of(replace(view, job=store.job(number)), "cover"))
        assert number == other.job_of(code_of(replace(view, job=got, secret=other.secret), "cover")).number


def test_a_job_of_an_earlier_version_gets_the_usual_stock_and_no_language(store: Store) -> None:
    """It did not say yet what it was printed on, nor in which language."""
    data = export_job(store, worked(store))
    del data["job"]["stocks"]["paper"]
    assert Stocks("roll-70x37", "own", "a4") == import_job(store, data, number=69).stocks
    del data["job"]["stocks"], data["job"]["language"]

    got = import_job(store, data, number=70)
    assert (DEFAULT_STOCKS, None) == (got.stocks, got.language)


def test_a_number_that_is_taken_is_not_overwritten(store: Store) -> None:
    """Another number can be given; the record then belongs to that one."""
    number = worked(store)
    data = export_job(store, number)

    with pytest.raises(UsageError, match=f"job {number} is taken in the store .*; give it another number with --job"):
        import_job(store, data)
    got = import_job(store, data, number=70)
    assert [70] * 4 == [event.job for event in store.journal.events(70)]
    assert 2 == len(store.jobs())
    assert got.block != store.job(number).block


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """A store that no test of this file changes."""
    with Store(str(tmp_path_factory.mktemp("shop") / "shop.sqlite"), secret=SECRET) as store:
        worked(store)
        yield store


@pytest.fixture(scope="module")
def exported(shop: Store) -> dict[str, Any]:
    return export_job(shop, 1)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda d: d.update(what="invoice"), "this is no job that labelkit exported"),
        (lambda d: d.update(format=2), "this is no job that labelkit exported in format 1"),
        (lambda d: d.pop("profile"), "profile: is missing; needed: dict"),
        (lambda d: d["profile"].update(base64="?"), "profile.base64: is no base64"),
        (lambda d: d["profile"].update(base64="QUJD"), "profile.base64: is not what profile.sha256 says"),
        (lambda d: d["job"].update(number="one"), 'job.number: found "one"; needed: int'),
        (lambda d: d["job"].update(number=True), "job.number: found true; needed: int"),
        (lambda d: d["job"]["options"].update(drive="belt"), "job.options.drive: found belt"),
        (lambda d: d["job"]["numbering"].clear(), "job.numbering: drive is missing"),
        (lambda d: d["job"]["numbering"].update(drive={}), "job.numbering.drive: found {}"),
        (lambda d: d["job"].update(address="http://x:99999"), "job.address http://x:99999: Port out of range"),
        *(
            (lambda d, wrong=wrong: d["job"].update(stocks=wrong), "job.stocks: does not say what it is printed on")
            for wrong in ({}, {"labels": "a4-3x8-70x37", "stickers": 3}, {"labels": "x\0", "stickers": "y"})
        ),
        (lambda d: d["job"].update(language="ez"), 'job.language: found "ez"; allowed: en, de, es'),
        (lambda d: d["job"].update(laying={}), "job.laying: does not say how trays are laid out"),
        *(
            (lambda d, wrong=wrong: d["job"]["laying"].update(wrong), "job.laying: does not say how trays are laid out")
            for wrong in (
                {"flag": [30.0, "15"]},
                {"gap": float("nan")},
                {"gap": 1e300},
                {"trays": []},
                {"grade": 9},
                {"keep_whole": "no"},
                {"trays": [["t", 600.0, -1.0, "10"]]},
                {"trays": [["t", 600.0, 400.0, "NaN"]]},
            )
        ),
        (lambda d: d["events"][1].update(number=7), r"events\[1\].number: found 7; needed: 2"),
        (lambda d: d["events"].pop(0), r"events\[0\].number: found 2; needed: 1"),
        (lambda d: d["events"][0]["act"].update(count=-3), r"events\[0\]: removed, count"),
        (lambda d: d["events"][0].update(who=""), r"events\[0\]: removed, who"),
        (lambda d: d["events"][0].update(place=2**70), r"events\[0\]: .*place: found 118059162071; .* from 0 to 99999"),
        (lambda d: d["events"][0].update(when="yesterday"), r"events\[0\]: Invalid isoformat"),
        (lambda d: d["events"][1].update(token="token-0000"), r"events\[1\].token: stands at an earlier event"),
        (lambda d: d["pictures"].clear(), r"events\[1\]: its picture [0-9a-f]{16} is not in the file"),
        (lambda d: d["pictures"].update(dict.fromkeys(d["pictures"], "QUJD")), "is not what its name says"),
    ],
)
def test_a_damaged_file_brings_nothing(
    shop: Store, exported: dict[str, Any], change: Callable[[dict[str, Any]], object], words: str
) -> None:
    """One sentence says where; no job and no event is left behind."""
    data = copy.deepcopy(exported)
    change(data)

    with pytest.raises(InputError, match=words):
        import_job(shop, data, number=70)
    assert [1] == [job.number for job in shop.jobs()]
    assert () == shop.journal.events(70)


@pytest.mark.parametrize("data", [None, [], "text", 7, {"job": 1}])
def test_what_is_no_object_is_no_job(shop: Store, data: object) -> None:
    """Whatever JSON it is."""
    with pytest.raises(InputError, match="this is no job that labelkit exported in format 1"):
        import_job(shop, data)
    for text in ("{", '{"serial": "\\ud800"}', "[" * 100_000):
        with pytest.raises(InputError, match=r"job\.json: is no JSON"):
            read_job_file(text, "job.json")
