"""One small job from the sign-in to the signature, as three people do it: Ann takes apart, Ben buys, Cleo builds."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from labelkit.calc.steps import Bin
from labelkit.load.profile import parse_profile
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.hands import record
from tests.bench_app.phones import Phone
from tests.bench_app.workshop import PUMP, code_of, open_job, png

# The pump, with numbers to order by, a play that is set with its side plate, and a wear that is measured at removal.
UNIT = (
    PUMP.replace(
        "name: Radial shaft seal 25 x 40 x 7\n", "name: Radial shaft seal 25 x 40 x 7\n        number: P7-02\n"
    )
    .replace("{id: steel, name: Steel disc, qty: 2,", "{id: steel, name: Steel disc, qty: 2, number: P7-08,")
    .replace(
        'pair: [body], sits: {up: free, on: body, clock: "6:30"}}',
        'pair: [body], sits: {up: free, on: body, clock: "6:30"},\n'
        '     check: [{measure: backlash, at: removal, max: "0.20", tool: dial gauge, else: new pair}]}',
    )
    + """\
fits:
  rotor-play: {kind: end_play, target: ["0.04", "0.09"], set_by: side-plate, thicker: reduces,
    readings: 3, seat: [Turn the shaft ten times, "Push it in, set the gauge to zero", "Pull it out, read"]}
"""
)
Look = Callable[[str], None]
# Parts whose screens differ; when not everything is walked, what happens to the others is put into the record.
TELLING = {"cover-screws", "cover", "seal", "side-plate", "gears", "steel"}
TELLING_WHEN_INSPECTED = {"cover", "side-plate", "steel"}
WEAR = {"thickness": "5.00 5.01 5.00", "backlash": "0.12"}


@dataclass
class Rest:
    """The parts that nobody walks to: what is done with them is put into the record by a hand of its own."""

    store: Store
    view: JobView
    everything: bool

    def has(self, each: Bin, telling: Collection[str] = TELLING) -> bool:
        return not self.everything and (each.part.id not in telling or each.copy > 1)

    def did(self, who: str, each: Bin, *acts: dict[str, Any]) -> None:
        record(self.store, self.view, datetime.now(UTC), *((each.step, act) for act in acts), who=who)


def takes_apart(phone: Phone, view: JobView, rest: Rest, look: Look) -> None:
    """Ann: signs in, reads the play while it can be read, takes everything out in its order, and photographs."""
    phone.open("/")
    look("signed-out")
    phone.open("/sign-in")
    look("sign-in")
    phone.signs_in("Ann")
    look("home")
    phone.follows(view.profile.unit.name)
    look("job-new")
    phone.taps("Work on this job")
    phone.follows("Next")
    look("next-danger")
    phone.follows("Fits")
    look("fits")
    phone.follows("Next")
    phone.follows("rotor play, before step")
    look("fit")
    _reads_play(phone, "Before", "0.11 0.11 0.11")
    look("fit-sum")
    phone.taps("Record it", "fit")
    phone.scans(code_of(view, "cover-screws"))
    look("card-danger")
    phone.taps("Out: all 6 counted", "removed")
    look("card-not-ticked")
    phone.ticks("removed")
    phone.taps("Out: all 6 counted", "removed")
    look("card-out")
    _photographs(phone, look)
    for each in view.teardown.bins:
        if rest.has(each):
            rest.did("Ann", each, {"kind": "removed", "count": each.part.qty})
    phone.follows("Next")
    for _ in range(3 * len(view.teardown.bins)):
        if "Everything is out" in phone.page.locator("h1").inner_text():
            break
        _takes_the_next(phone, look)
    look("next-done")


def _takes_the_next(phone: Phone, look: Look) -> None:
    if phone.page.locator("#form-points").count():
        _measures(phone, look)
        return
    phone.ticks("removed")
    button = phone.form("removed").get_by_role("button").first.inner_text()
    if button == "Out, with this count":
        phone.types("removed", count="1")
        look("next-count")
    phone.taps(button, "removed")


def _reads_play(phone: Phone, when: str, values: str, **typed: str) -> None:
    """Read the play of the open fit: the gauge's figures as they are typed, and see the sum."""
    phone.follows(when)
    form = phone.page.locator("form:has([name=sum])")
    form.locator("[name=seated]").check()
    form.locator("[name=gasket]").first.check()
    form.locator("[name=cold][value=yes]").check()
    for number, value in enumerate(values.split(), 1):
        form.locator(f"[name=reading{number}]").fill(value)
    for name, value in typed.items():
        form.locator(f"[name={name}]").fill(value)
    with phone.page.expect_navigation():
        form.get_by_role("button").click()


def _measures(phone: Phone, look: Look) -> None:
    """Measure what can be measured only now; a slip of the finger costs nothing that was typed."""
    field = phone.form("points").locator("input[name^=value-]").first
    name = next(each for each in WEAR if each in phone.text)
    look(f"measure-{name}")
    if name == "thickness":
        field.fill("5.00 5.o1 5.00")
        phone.taps("Record it", "points")
        look("measure-wrong")
        field = phone.form("points").locator("input[name^=value-]").first
        assert field.input_value() == "5.00 5.o1 5.00"
        assert "is not a unit of length" in phone.refusal
    field.fill(WEAR[name])
    phone.taps("Record it", "points")
    assert phone.page.url.endswith("/next"), "who slipped comes back to where the work goes on"


def _photographs(phone: Phone, look: Look) -> None:
    """Take a photo of the open card."""
    form = phone.form("photo")
    picture = {"name": "IMG_1.png", "mimeType": "image/png", "buffer": png(800, 600)}
    form.locator("[name=picture]").set_input_files(picture)
    form.locator("[name=note]").fill("how the screws stood")
    look("photo")
    phone.taps("Keep the photo", "photo")
    assert "photo" in phone.text.partition("History")[2], phone.text[:300]
    taken = phone.page.locator("img.photo").last
    taken.scroll_into_view_if_needed()
    assert taken.evaluate("async each => { await each.decode(); return each.naturalWidth }") == 800
    look("card-photo")


def washes(phone: Phone, look: Look) -> None:
    """Ann: the gate before the wash, the basket, and clean and dry."""
    phone.follows("Wash")
    look("wash")
    phone.ticks("started")
    phone.taps("Start the washer", "started")
    form = phone.form("washed")
    phone.ticks("washed")
    form.locator("summary").click()  # what was cleaned by hand stands there
    for box in form.locator("input[name=places]").all():
        box.check()
    assert 0 == form.locator("label", has_text="seal").count(), "what is not washed is not offered"
    phone.taps("Clean and dry", "washed")
    look("wash-done")


def inspects(phone: Phone, view: JobView, rest: Rest, look: Look) -> None:
    """Ann: every part with a verdict; one disc is scored and condemned."""
    for each in view.teardown.bins:
        if rest.has(each, TELLING_WHEN_INSPECTED):
            rest.did("Ann", each, {"kind": "inspected", "verdict": "reuse"})
            continue
        phone.scans(view.code(each))
        form = phone.form("points")
        if each.part.id == "side-plate":
            look("inspect")
            phone.chooses("points", "verdict-1", "reuse")
        if each.part.id == "steel" and each.copy == 1:
            phone.types("condemned", why="scored, blue")
            look("condemn")
            phone.taps("Condemn", "condemned")
            look("condemned")
            continue
        form.locator("[name=verdict][value=reuse]").check()
        phone.taps("Record it", "points")


def buys(phone: Phone, view: JobView, look: Look) -> None:
    """Ben: orders what is short, receives it, and lays it ready at its place."""
    phone.signs_in("Ben")
    phone.open(f"/job/{view.job.number}/parts")
    look("parts")
    phone.taps("All of this is ordered", "all")
    look("parts-ordered")
    for part in ("seal", "steel", "side-plate"):
        phone.scans(view.new_code(view.teardown.of(part)[0]))
        look(f"sticker-{part}")
        phone.follows("receive it")
        look(f"receive-{part}")
        if part == "side-plate":
            phone.types("receive", **{"size-t": "5.05"})
        phone.taps("Here, and ready at its place")
    look("received")
    phone.open(f"/job/{view.job.number}/parts")
    look("parts-ready")


def chooses_a_plate(phone: Phone, view: JobView, look: Look) -> None:
    """Ann: the dry fit with the plate that was in, 5.00; 0.11 is too much, and 5.05 leaves 0.06."""
    phone.open(f"/job/{view.job.number}/fits/rotor-play")
    _reads_play(phone, "Dry fit", "0.11 0.11 0.11", fitted1="5.00")
    look("fit-choose")
    assert "take 5.05 mm, then 0.060 mm" in phone.text
    phone.taps("Record it", "fit")


def builds(phone: Phone, view: JobView, rest: Rest, look: Look) -> None:
    """Cleo: checks a pack, and puts everything in; a wrong scan is refused."""
    phone.signs_in("Cleo")
    phone.open(f"/job/{view.job.number}")
    look("where")
    _checks_pack(phone, view, look)
    order = [placed.bin for placed in view.order]
    cover = view.teardown.of("cover")[0]
    phone.scans(view.code(cover))
    look("refused")
    assert phone.refusal.startswith("NO Not yet")
    _builds_the_group(phone, view, look)
    for each in order:
        if rest.has(each):
            rest.did("Cleo", each, {"kind": "installed"}, {"kind": "verified"})
            continue
        _puts_in(phone, view, each, look)


def _checks_pack(phone: Phone, view: JobView, look: Look) -> None:
    valve, steel, paper = (view.teardown.of(part)[0] for part in ("valve", "steel", "paper"))
    phone.open(f"/job/{view.job.number}/pack/{valve.step}")
    look("pack")
    for each in (steel, steel):
        phone.scans(view.code(each))
    assert phone.refusal.startswith("NO")
    look("pack-refused")
    for each in (paper, steel):
        phone.scans(view.code(each))
    look("pack-right")
    phone.taps("Record that the pack is right")


def _builds_the_group(phone: Phone, view: JobView, look: Look) -> None:
    """What is measured together before it goes in is built on the bench first."""
    gears, plate = (view.teardown.of(part)[0] for part in ("gears", "side-plate"))
    for code in (view.code(gears), view.new_code(plate)):
        phone.scans(code)
        look("join")
        phone.ticks("joined")
        phone.taps("Built into its group", "joined")


def _puts_in(phone: Phone, view: JobView, each: Bin, look: Look) -> None:
    new = each.part.id in ("seal", "side-plate") or (each.part.id == "steel" and each.copy == 1)
    phone.scans(view.new_code(each) if new else view.code(each))
    phone.ticks("installed")
    if each.part.series:
        phone.types("installed", sizes="5.05")
        look("install-sized")
    if each.part.qty == "set":
        phone.types("installed", pieces="1")
    phone.taps("In", "installed")
    if each.part.fasten:
        look("torque")
        _tightens(phone, look)
    phone.taps("In, and right", "verified")
    if each.part.id in ("cover-screws", "seal"):
        look(f"verified-{each.part.id}")


def _tightens(phone: Phone, look: Look) -> None:
    """Both passes; a wrench in another unit is told."""
    phone.ticks("torque")
    phone.types("torque", torque="12.5", wrench="W3")
    phone.taps("Tight", "torque")
    look("torque-second")
    phone.ticks("torque")
    phone.types("torque", torque="25", wrench="W3")
    phone.taps("Tight", "torque")
    look("torque-signed")


def signs(phone: Phone, look: Look) -> None:
    """Cleo: asks for the signature too early, reads the play again, signs, and prints the report."""
    phone.follows("Sign-off")
    look("sign-off-open")
    _signature(phone)
    phone.taps("Sign", "sign")
    assert phone.refusal.startswith("NO")
    look("sign-off-refused")
    phone.follows("rotor play")
    _reads_play(phone, "Fitted", "0.06 0.06 0.06")
    phone.taps("Record it", "fit")
    phone.follows("Sign-off")
    look("sign-off-ready")
    _signature(phone)
    phone.taps("Sign and close the job", "sign")
    look("signed")
    phone.follows("report")
    look("report")


def _signature(phone: Phone) -> None:
    form = phone.form("sign")
    for box in form.locator("fieldset.seen input").all():
        box.check()
    phone.types("sign", signed_by="Cleo", note="HLP 46, 0.8 l")


def walk(phone: Phone, store: Store, look: Look, *, everything: bool = True) -> JobView:
    """Do the whole job; `look` is called with a name at every screen that differs.

    Args:
        phone: of all three.
        store: of the bench.
        look: at the screen that is open.
        everything: also what is done with parts whose screens are like those of others.
    """
    loaded = parse_profile(UNIT.encode(), "pump.yaml", None)
    photos = {"photos/cover.png": png(640, 480)}
    view = open_job(store, loaded, options={"drive": "keyed"}, address=phone.address, photos=photos)
    rest = Rest(store, view, everything)
    takes_apart(phone, view, rest, look)
    washes(phone, look)
    inspects(phone, view, rest, look)
    chooses_a_plate(phone, view, look)
    buys(phone, view, look)
    builds(phone, view, rest, look)
    signs(phone, look)
    return view
