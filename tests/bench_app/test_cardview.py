"""What a card says of the part that was scanned: loud only when it is about to go in, and the size that was chosen."""

from __future__ import annotations

from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import Page, Person, all_out, record
from tests.bench_app.workshop import PUMP, bin_of, code_of, open_job, png, pump

PLAY = """\
fits:
  rotor-play: {kind: clearance, target: ["0.02", "0.08"], set_by: side-plate, thicker: reduces}
"""


def loud(page: Page) -> bool:
    return any(tag == "div" and given.get("class") == "refused" for tag, given in page.elements)


def test_a_washed_part_that_is_scanned_to_be_looked_at_is_not_refused(store: Store, view: JobView, ann: Person) -> None:
    """Everything is out, nothing is in: the card leads to its inspection; inspected, it says NO."""
    cover, body = (f"/{code_of(view, part)}" for part in ("cover", "body"))
    record(store, view, NOON, *(act for act in all_out(view) if act[1]["kind"] == "removed"))
    record(store, view, NOON, *((bin_of(view, part).step, {"kind": "washed"}) for part in ("cover", "gears")))
    page = ann.open(cover)

    assert not loud(page)
    assert "points" == next(form.name for form in page.forms if form.action.endswith("/act"))
    ann.does(cover, "points", verdict="reuse")
    assert loud(ann.open(cover)), "inspected, its scan means that it goes in"
    record(store, view, NOON, (bin_of(view, "body").step, {"kind": "installed"}))
    assert [True, False] == [loud(ann.open(each)) for each in (cover, body)]


def test_what_may_go_in_and_has_no_point_to_inspect_leads_with_that(store: Store, view: JobView, ann: Person) -> None:
    """Not while anything is still to come out."""
    body = f"/{code_of(view, 'body')}"
    record(store, view, NOON, *(act for act in all_out(view, but=("1",)) if act[1]["kind"] == "removed"))
    record(store, view, NOON, (bin_of(view, "body").step, {"kind": "washed"}))
    before = [form.name for form in ann.open(body).forms if form.action.endswith("/act")]
    record(store, view, NOON, ("1", {"kind": "removed", "count": 6}))

    assert "points" == before[0]
    assert "installed" == next(form.name for form in ann.open(body).forms if form.action.endswith("/act"))


def test_the_size_that_was_chosen_stands_where_the_part_comes_and_goes_in(store: Store, ann: Person) -> None:
    """On its card before it goes in, and at its sticker, which takes the size that it measures, form or none."""
    view = open_job(store, pump(PUMP + PLAY))
    plate = bin_of(view, "side-plate")
    card, sticker = f"/{view.code(plate)}", f"/{view.new_code(plate)}/receive"
    record(store, view, NOON, *all_out(view))
    assert "Chosen for its fit" not in ann.open(card).text + ann.open(sticker).text
    record(store, view, NOON, (None, {"kind": "fit_chosen", "fit": "rotor-play", "sizes": ["5.05"], "unit": "mm"}))

    assert "Chosen for its fit 5.05 mm" in ann.open(card).text
    page = ann.open(sticker)
    assert "Chosen for its fit 5.05 mm" in page.text
    assert "chosen 5.05 mm" in page.text
    wrong = ann.send(sticker, "receive", **{"size-t": "5.10"})
    assert "thickness 5.10 mm, chosen was 5.05 mm: 0.05 mm thicker" in Page(wrong.text).text
    ann.does(sticker, "receive", **{"size-t": "5.05"})
    came = [event.act for event in store.journal.events(view.job.number) if event.act.kind == "received"]
    assert ["t 5.05 mm"] == [act.measured for act in came]


def test_the_photo_stands_beside_the_drawings(store: Store, ann: Person) -> None:
    """A small one, which opens the large one, before the first form."""
    view = open_job(store, pump(), photos={"photos/cover.png": png()})
    elements = ann.open(f"/{code_of(view, 'cover')}").elements
    kinds = [given.get("class") if tag == "p" else tag for tag, given in elements]
    after = elements[kinds.index("thumbs") :]

    assert [after[1][1]["href"]] == [after[2][1]["src"]]
    assert 200 == ann.client.get(after[1][1]["href"]).status_code
    assert kinds.index("thumbs") < next(k for k, (tag, given) in enumerate(elements) if given.get("class") == "sheet")
