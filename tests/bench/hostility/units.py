"""Units that load, however odd: everything is made of them that the program makes, and told again by every way back."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache, partial
from random import Random
from typing import Any, Final

import yaml
from jsonschema import Draft202012Validator  # type: ignore[import-untyped]

from labelkit.bench.app import create_app
from labelkit.calc.revision import changes
from labelkit.calc.steps import choose, places
from labelkit.errors import CapacityError, UsageError
from labelkit.language import LANGUAGES, speaking
from labelkit.load.archive import pack, unpack
from labelkit.load.exporting import parts_csv
from labelkit.load.importing import import_parts
from labelkit.load.profile import LoadedProfile, parse_profile
from labelkit.load.schema import SCHEMAS
from labelkit.load.stock import PRINTABLE, all_stock, find_stock
from labelkit.load.writer import profile_yaml
from labelkit.model.job import Job
from labelkit.model.laying import DEFAULT_LAYING, Laying, Spacing, TrayKind
from labelkit.model.part import dump
from labelkit.model.profile import Profile
from labelkit.model.stock import Tray
from labelkit.sheets.cards import card, card_data
from labelkit.sheets.hints import hints
from labelkit.sheets.jobview import CODES_PER_PLACE, JobView
from labelkit.sheets.kit import DOCUMENTS, KitOrder, make_kit
from labelkit.sheets.letters import letter_problems
from labelkit.sheets.newparts import new_parts
from labelkit.sheets.stale import revised, stale
from labelkit.store.jobs import Store
from tests.bench.hostility.scans import empty_store, folder
from tests.bench.hostility.sound import changed, written, written_whole
from tests.bench.hostility.watch import Broken, Target
from tests.bench_app.attacks import executables
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import all_out, person, record
from tests.bench_app.workshop import ADDRESS, FITTED, SECRET, open_job, png
from tests.shop import DEMO_UNITS, ROOT

_LANGUAGES: Final = ("en", *LANGUAGES)  # English twice: the others only change words


@cache
def sources() -> tuple[str, ...]:
    """Return the texts that are changed: both demo profiles, and a small one with much on it."""
    return (*((ROOT / "unit_profiles" / f"{unit}.yaml").read_text("utf-8") for unit in DEMO_UNITS), FITTED, FITTED)


@cache
def trees() -> tuple[Any, ...]:
    """Return them as plain data."""
    return tuple(yaml.load(source, yaml.CBaseLoader) for source in sources())


@cache
def _stocks() -> Mapping[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name, stock in all_stock().items():
        found.setdefault(stock.kind, []).append(name)
    return found


def tree_of(random: Random) -> dict[str, Any]:
    """Return a profile that loads, by all that is known of the loader."""
    if random.random() < 0.4:
        return written_whole(random)
    return changed(random, random.choice(trees()), random.choice((1, 1, 2, 4, 8, 16)))


def make(random: Random) -> dict[str, Any]:
    """Return a unit, and how it is to be printed."""
    printable = [name for kind in PRINTABLE for name in _stocks()[kind]]
    papers, trays = _stocks()["paper"], _stocks()["tray"]
    return {
        "tree": tree_of(random),
        "open": random.random() < 0.4,
        "documents": random.sample(tuple(DOCUMENTS), random.choice((1, 1, 2, 3))),
        "stock": random.choice(printable),
        "paper": random.choice((*papers, "a4", "letter")),
        "offline": random.random() < 0.2,
        "language": random.choice(_LANGUAGES),
        "trays": random.sample(trays, random.choice((0, 0, 1, 2))),
        "gap": random.choice((8.0, 8.0, 0.0, 3.5, 40.0)),
        "grade": random.randrange(3),
    }


def view_of(case: Mapping[str, Any], loaded: LoadedProfile) -> JobView:
    """Return a job on a unit, with its options left open or as they come."""
    wanted: dict[str, str] = {}
    if not case.get("open"):
        wanted = {name: next(iter(option.choices)) for name, option in loaded.profile.options.items()}
    chosen = choose(loaded.profile, wanted)
    kinds = [find_stock(name, ("tray",)) for name in case.get("trays", ())]
    trays = tuple(TrayKind.of(kind) for kind in kinds if isinstance(kind, Tray))
    laying = Laying(trays, Spacing(gap=case.get("gap", 8.0)), case.get("grade", 2)) if trays else DEFAULT_LAYING
    blocks = -(-places(loaded.profile) * CODES_PER_PLACE // 1024)
    job = Job(1, None, loaded.file, loaded.source, chosen, ADDRESS, 0, blocks, chosen, laying)
    return JobView(job, loaded.profile, SECRET)


def tries(case: dict[str, Any]) -> None:
    """Load it; what loads is judged, written, exported, compared, packed and printed."""
    loaded = parse_profile(written(case.get("tree")), "unit.yaml", None)
    for hint in hints(loaded):
        str(hint.problem)
    letter_problems(loaded)
    _comes_back(loaded)
    with speaking(case.get("language", "en")):
        printed(case, loaded)


def _comes_back(loaded: LoadedProfile) -> None:
    """Take a profile there and back by each way, and compare it with those it may have come from."""
    profile = loaded.profile
    source = profile_yaml(profile, heading="again")
    if parse_profile(source, "again.yaml", None).profile != profile:
        raise Broken("the profile that was written is another one")
    files = unpack(pack(loaded.file, loaded.source, {}), "unit.zip")
    if files != {loaded.file: loaded.source}:
        raise Broken("the profile that was packed is another one")
    if changes(profile, profile):
        raise Broken(f"a profile is said to differ from itself: {changes(profile, profile)[:2]}")
    for other in _others():
        for change in (*changes(other.profile, profile), *changes(profile, other.profile)):
            str(change.words)
    for delimiter, decimal in ((",", "."), (";", ",")):
        table = import_parts(
            parts_csv(profile, delimiter=delimiter, decimal=decimal),  # type: ignore[arg-type]
            "parts.csv",
            {},
            decimal=decimal,  # type: ignore[arg-type]
            onto=loaded,
        )
        if table.faults or table.profile is None:
            raise Broken(f"the table that was exported has faults: {table.faults[:2]}")
        if _told(table.profile) != _told(profile):
            raise Broken("the table that was exported gives another profile")


def _told(value: Any) -> Any:
    """Return what a profile says as data that is the same where nobody could tell two apart.

    Fields that say nothing are left out, and of lists of several things each the order.
    """
    if isinstance(value, Profile):
        return _told(dump(value))
    if isinstance(value, dict):
        told = {key: _told(item) for key, item in value.items()}
        return {key: item for key, item in told.items() if item not in ({}, [], None)}
    if isinstance(value, list) and value and isinstance(value[0], dict) and "id" not in value[0]:
        return sorted((_told(item) for item in value), key=json.dumps)
    if isinstance(value, list):
        return [_told(item) for item in value]
    if isinstance(value, str) and (figure := re.fullmatch(r"(-?[0-9]+\.[0-9]*?)0*( .*)?", value)):
        return figure[1].rstrip(".") + (figure[2] or "")  # a table adds a zero, where three digits might be thousands
    return value


def _finished(tree: Any) -> Any:
    """Leave out keys behind which nothing stands: as if not written for the loader, an editor asks what comes there."""
    if isinstance(tree, dict):
        return {key: _finished(value) for key, value in tree.items() if value != ""}
    return [_finished(value) for value in tree] if isinstance(tree, list) else tree


@cache
def _schema() -> Draft202012Validator:
    return Draft202012Validator(SCHEMAS["profile"]())


@cache
def _others() -> tuple[LoadedProfile, ...]:
    return (parse_profile(FITTED.encode(), "pump.yaml", None),)


def printed(case: Mapping[str, Any], loaded: LoadedProfile) -> None:
    """Make cards, orders and the documents that are wanted, in memory."""
    tree = _finished(yaml.load(loaded.source, yaml.CBaseLoader))
    faulty = sorted(_schema().iter_errors(tree), key=lambda error: error.json_path)
    if faulty:
        raise Broken(f"loads, and no editor would take it: {faulty[0].json_path} {faulty[0].message[:200]}")
    view = view_of(case, loaded)
    for each in view.teardown.bins:
        json.dumps(card_data(card(view, each)))
    str(view.out_of_turn)
    paper, stock = find_stock(case.get("paper", "a4"), ("paper",)), find_stock(case.get("stock", "roll-100"), PRINTABLE)
    try:
        new = new_parts(view, {})
    except UsageError:  # too many options are open
        new = None
    order = KitOrder(
        view,
        view.teardown.bins,
        stock,
        1,
        bool(case.get("offline")),
        frozenset(case.get("documents", ())),
        lambda _path: png(),
        paper,
        new=new,
    )
    try:
        files, warnings = make_kit(order)
    except CapacityError:  # a label too small for a symbol
        return
    for name, content in files.items():
        if not content:
            raise Broken(f"{name} is empty")
    for warning in warnings:
        if any(unicodedata.category(letter) == "Cc" for letter in warning):
            raise Broken(f"a warning that no terminal should get: {warning!r}")


def make_revision(random: Random) -> dict[str, Any]:
    """Return a unit, and what a later revision makes of it."""
    case = make(random)
    case["later"] = changed(random, case["tree"], random.choice((1, 2, 5)))
    case["recorded"] = random.random() < 0.3
    return case


def tries_revision(case: dict[str, Any]) -> None:
    """Compare both, and let a job take the later one up."""
    old = parse_profile(written(case.get("tree")), "unit.yaml", None)
    new = parse_profile(written(case.get("later")), "unit.yaml", None)
    for one, other in ((old, new), (new, old)):
        for change in changes(one.profile, other.profile):
            str(change.words)
    if _told(new.profile) != _told(old.profile) and not changes(old.profile, new.profile):
        raise Broken("two profiles that differ are said to be the same")
    view = view_of(case, old)
    later = revised(view.job, view.profile, new, recorded=bool(case.get("recorded")))
    now = JobView(later, new.profile, SECRET)
    stock = find_stock(case.get("stock", "roll-100"), PRINTABLE)
    found = stale(view, now, stock, offline=bool(case.get("offline")))
    if found.labels and not changes(old.profile, new.profile):
        raise Broken("labels are out of date where nothing is changed")
    codes = [now.code(each) for each in now.teardown.bins]
    if len(set(codes)) != len(codes):
        raise Broken("two bins have one code")
    if unknown := [each.step for each in found.labels if each.step not in now.teardown.places]:
        raise Broken(f"labels of no bin are out of date: {unknown}")
    if stale(now, replace(now, job=replace(now.job, version=9)), stock).labels:
        raise Broken("a revision makes labels out of date that say the same")


def make_bench(random: Random) -> dict[str, Any]:
    """Return a unit for the bench."""
    return {"tree": tree_of(random), "open": random.random() < 0.4, "language": random.choice(_LANGUAGES)}


def tries_bench(case: dict[str, Any]) -> None:
    """Open a job on it; every page answers, when it is new and when all of it is out."""
    loaded = parse_profile(written(case.get("tree")), "unit.yaml", None)
    for each in folder().glob("bench.sqlite*"):
        each.unlink()
    path = folder() / "bench.sqlite"
    path.write_bytes(empty_store())
    options = {} if case.get("open") else {name: next(iter(o.choices)) for name, o in loaded.profile.options.items()}
    photos = {part.photo: png() for _, part in loaded.profile.walk() if part.photo}
    with Store(str(path), secret=SECRET) as store:
        view = open_job(store, loaded, options=options, photos=photos)
        app = create_app(store, clock=lambda: NOON)
        app.testing = True
        reading = partial(person(app).client.get, headers={"Accept-Language": case.get("language", "en")})
        _answers(reading, view)
        record(store, view, NOON, *all_out(view))
        _answers(reading, view)


def _answers(get: Callable[..., Any], view: JobView) -> None:
    base = f"/job/{view.job.number}"
    ways = ("", "/next", "/wash", "/fits", "/parts", "/sign-off", "/report", ".json", "/correct/1")
    fits = [f"/fits/{name}" for name in view.profile.fits]
    bins = view.teardown.bins[:12]
    packs = [f"/pack/{each.step}" for each in bins if each.part.stack]
    codes = [address for each in bins for address in (f"/{view.code(each)}", f"/{view.new_code(each)}/receive")]
    for address in ("/", *(base + way for way in (*ways, *fits, *packs)), *codes):
        answer = get(address)
        if answer.status_code >= 500:
            raise Broken(f"{address} answers {answer.status_code}")
        if answer.mimetype == "text/html" and (found := executables(answer.text)):
            raise Broken(f"a browser would run {found[:3]} of {address}")


TARGETS = (
    Target("unit", make, tries, 6.0),
    Target("revision", make_revision, tries_revision, 2.0),
    Target("unit at the bench", make_bench, tries_bench, 2.0),
)
