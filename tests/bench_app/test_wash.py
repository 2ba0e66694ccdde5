"""The wash page: what it offers is what may be washed, and what was in the washer is ticked already."""

from __future__ import annotations

from labelkit.bench.app import create_app
from labelkit.calc.allowed import Assembly
from labelkit.calc.washing import washable
from labelkit.model.events import Entry, act_of
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import Page, Person, all_out, record
from tests.bench_app.workshop import bin_of, open_job, pump
from tests.calc.test_keptin import VALVE
from tests.shop import demo, profile_of
from tests.walk import Walk


def offered(page: Page, form: str) -> list[str]:
    """Return the ordinals that a form of the page offers to tick."""
    text, found = page.elements, []
    inside = False
    for tag, given in text:
        inside = given.get("id") == f"form-{form}" if tag == "form" else inside
        if inside and given.get("name") == "places":
            found.append(given["value"])
    return found


def test_what_is_never_washed_is_not_offered_and_the_load_is_ticked(store: Store, ann: Person) -> None:
    """The seal is not washed: the form as it stands is accepted, and marks clean what was in the washer, no more;
    an older page that still offers the seal is refused."""
    view: JobView = open_job(store, pump())
    path = f"/job/{view.job.number}/wash"
    record(store, view, NOON, *(act for act in all_out(view) if act[1]["kind"] == "removed"))
    seal, screws, cover, body = (bin_of(view, part).ordinal for part in ("seal", "cover-screws", "cover", "body"))
    page = ann.open(path)
    wall = Page(create_app(store, read_only=True).test_client().get(path).text)

    lists = ("Into the washer", "Clean and dry", bin_of(view, "cover").name, bin_of(view, "body").name)
    assert ([True] * 4, []) == ([each in wall.text for each in lists], [each.name for each in wall.forms if each.name])
    assert str(seal) not in offered(page, "washed")
    assert {str(screws), str(cover), str(body)} <= set(offered(page, "washed"))
    assert [] == [value for name, value in page.form("washed").fields if name == "places"]
    ann.does(path, "started", places=[screws, cover], tick=["CAUTION: 2 Cover: LIFT 12 kg"])
    page = ann.open(path)
    assert ["washed"] == [form.name for form in page.forms if form.name in ("started", "washed")], (
        "nothing else goes in"
    )
    assert [str(screws), str(cover)] == offered(page, "washed")[:2]
    ann.does(path, "washed")
    washed = [event.place for event in store.journal.events(view.job.number) if event.act.kind == "washed"]
    assert [screws, cover] == washed
    form = dict(page.form("washed").fields)
    assert 400 == ann.client.post(path, data={**form, "form": "rinsed", "places": [screws]}).status_code
    refused = ann.send(path, "washed", places=[seal])
    assert 409 == refused.status_code
    assert "Radial shaft seal 25 x 40 x 7 does not go into the washer: it is not washed" in Page(refused.text).text


def test_the_wash_page_says_what_the_sheet_says(store: Store, ann: Person) -> None:
    """The bearing inside the housing keeps that out of the washer, and what is no caution is said as well.

    By hand from the profile: the bearing is not washed, and the unit has a notice at the wash.
    """
    view = open_job(store, demo("planetary-reducer"), options={"breather": "std"})
    path, housing = f"/job/{view.job.number}/wash", bin_of(view, "brake-housing")
    record(store, view, NOON, *(act for act in all_out(view) if act[1]["kind"] == "removed"))
    page = ann.open(path)

    assert "NOTICE No compressed air on bearings: a bearing that is blown round is spoilt" in page.text
    assert str(housing.ordinal) not in offered(page, "started")
    assert str(housing.ordinal) in offered(page, "washed")
    told = "no solvent, for what stays inside it: Circlip 80 x 2.5, Ball brg 50x80x16"
    assert f"{housing.full_name} {told}" in page.text
    refused = ann.is_refused(path, "started", places=[housing.ordinal])
    assert "no solvent comes near what stays inside it" in refused.text


def test_what_came_out_of_another_part_is_washed_and_goes_back(store: Store, ann: Person) -> None:
    """A good spring that had to come out for its seat stands on the wash page, and on its card goes in as it is."""
    view = open_job(store, profile_of(VALVE))
    spring = next(each for each in view.teardown.inside if each.part.id == "spring")
    out = [(step, {"kind": "removed", "count": count}) for step, count in (("1", 1), ("1.1", 2), ("1.2", 1))]
    record(store, view, NOON, *out)
    events = [Entry(act_of({"kind": "removed", "count": 1}), "Bo", NOON, "spring-out", spring.ordinal)]
    store.journal.append(1, events)
    page = ann.open("/job/1/wash")
    card = f"/{view.code(bin_of(view, 'body'))}?inside={spring.ordinal}"

    assert str(spring.ordinal) in offered(page, "washed")
    ann.does("/job/1/wash", "washed", places=list(washable(view.record(store.journal.events(1)))))
    assert card in ann.open("/job/1").addresses()
    ann.does(card, "installed")
    assert "Where it is in, not verified" in ann.open(card).text


def test_after_the_wash_next_leads_to_what_goes_in(store: Store, ann: Person) -> None:
    """To the wash, while something is dirty; to what nobody looked at; to what is to be ordered; then what goes in."""
    view = open_job(store, pump(), options={"drive": "splined"})
    path, body, plate = f"/job/{view.job.number}", bin_of(view, "body"), bin_of(view, "side-plate")
    record(store, view, NOON, *all_out(view))

    def now() -> str:
        page = ann.open(f"{path}/next")
        return next(str(given["href"]) for tag, given in page.elements if tag == "a" and given.get("class") == "main")

    assert now() == f"{path}/wash"
    page = ann.does(f"{path}/wash", "washed", places=list(washable(view.record(store.journal.events(1)))))
    assert f"{path}/next" in page.addresses()
    assert now() == f"/{view.code(plate)}"
    page = ann.open(f"{path}/next")
    assert "Not inspected 2" in page.text
    assert {f"{path}#open-check", f"{path}#allowed"} <= set(page.addresses())
    page = ann.open(path)
    assert "Not inspected: 2" in page.text
    assert ("div", {"id": "open-check"}) in page.elements
    record(store, view, NOON, *((plate.step, {"kind": "inspected", "check": n, "verdict": "reuse"}) for n in (0, 1)))
    assert now() == f"/{view.code(body)}", "what is to be new has no number"
    record(store, view, NOON, (bin_of(view, "cover-screws").step, {"kind": "condemned", "why": "stretched"}))
    assert now() == f"{path}/parts"
    record(store, view, NOON, (None, {"kind": "ordered", "number": "P7-01", "pieces": 6}))
    assert now() == f"/{view.code(body)}"
    ann.does(f"/{view.code(body)}", "installed")
    ann.does(f"/{view.code(body)}", "verified")
    page = ann.open(f"{path}/next")
    assert "Putting together" in page.text
    assert f"/{view.code(body)}" not in page.addresses()


def test_what_may_go_in_now_is_one_list_with_one_count(store: Store, ann: Person) -> None:
    """On the page of what is next, on that of the job and in a refusal; what waits for new parts stands apart."""
    view = open_job(store, demo("planetary-reducer"), options={"breather": "std"})
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    store.journal.append(1, [Entry(e.act, e.who, e.when, e.token, e.place) for e in walk.events])
    assembly = Assembly(walk.record)
    free, waiting = assembly.allowed(), assembly.waiting()

    assert len(free) > 3
    assert len(waiting) > 3
    assert assembly.now_words().endswith(f"and {len(free) - 3} more")
    page = ann.open(f"/job/{view.job.number}/next").text
    assert f"Allowed now {len(free)} As soon as new parts are here {len(waiting)}" in page
    page = ann.open(f"/job/{view.job.number}").text
    now, _, later = page.partition("Allowed now")[2].partition("As soon as new parts are here")
    assert all(each.text in now for each in free)
    assert all(each.text in later for each in waiting)
    assert "as soon as its new parts" not in now


def test_next_jumps_over_nothing_that_waits_for_a_new_part(store: Store, ann: Person) -> None:
    """The pump's rotors are free as far as the profile says; its ring, and that of a shaft, are still to come."""
    view = open_job(store, demo("marine-gear"), options={"pto": "none"})
    path, walk = f"/job/{view.job.number}", Walk("marine-gear", {"pto": "none"})
    walk.take_apart()
    walk.put_in_until("end-ring-ahead")
    astern = {"fit": "clutch-clearance-astern", "at": "assembled", "values": ["1.9"] * 4, "unit": "mm"}
    walk.do("reading", **astern)
    chosen = {"fit": "clutch-clearance-ahead", "sizes": ["3.8"], "predicted": "2.31"}
    walk.do("fit_chosen", **chosen)
    store.journal.append(1, [Entry(e.act, e.who, e.when, e.token, e.place) for e in walk.events])

    page = ann.open(f"{path}/next")

    assert "Now: 8.2 Detent spring" in page.text, "a branch of its own, in which nothing waits"
    assert "Not in yet, and before it" not in page.text
    assert f"{path}/parts" in page.addresses()
