"""The moments at the bench that decide a rebuild: what the gate says to each, on the demo profiles.

The sentences are ours; what they must mean is common practice, no source, unless a test names one.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from labelkit.calc.allowed import Assembly
from labelkit.calc.apart import loosened, next_out, readable_now
from labelkit.calc.cautions import said, worst_first
from labelkit.calc.fitpoints import fit_points
from labelkit.calc.gate import right_job
from labelkit.calc.openpoints import open_points, place_points
from labelkit.calc.platescan import pack_scan
from labelkit.calc.usedup import is_retired, is_used_up
from labelkit.errors import UsageError
from labelkit.language import speaking
from labelkit.sheets.placewords import stage_words
from tests.shop import demo, profile_of, view_of
from tests.walk import Walk


def reducer(**options: str) -> Walk:
    return Walk("planetary-reducer", {"breather": "std", **options})


def marine(**options: str) -> Walk:
    return Walk("marine-gear", {"pto": "none", **options})


def test_a_housing_waits_for_what_no_socket_reaches_later() -> None:
    """Moment 1: the ring-gear housing is refused while lock plate and carrier bolt are out; the plate is allowed."""
    walk = reducer()
    walk.take_apart()
    walk.put_in_until("lock-plate")
    walk.do("reading", fit="output-preload", at="assembled", values=["3.2"], unit="N·m")

    ruling = walk.ask("installed", "ring-housing")

    assert not ruling.allowed
    plate, bolt = walk.bin("lock-plate"), walk.bin("carrier-bolt")
    first = f"first {plate.step} {plate.name}, then {bolt.step} {bolt.name}"
    assert first in ruling.refusal
    assert f"Allowed now: {plate.step} {plate.name}" in ruling.refusal
    assert "\n" not in ruling.refusal
    walk.put_in("lock-plate", "carrier-bolt", "ring-oring", new=True)
    assert walk.ask("installed", "ring-housing").allowed


def test_what_never_came_out_by_the_record_is_not_just_missing() -> None:
    """One screw was changed, the rest is where it was: the way on is to say that it stays in."""
    walk = reducer()
    walk.do("removed", "cover-screws", count=8)

    refusal = walk.ask("installed", "cover-screws").refusal

    assert refusal.endswith("By the record some of these never came out: record that it did, or that it stays in")


def test_the_reason_of_the_last_step_before_it_is_told() -> None:
    """Why it must wait is the profile's own sentence."""
    walk = reducer()
    walk.take_apart()
    walk.put_in_until("carrier-bolt")
    walk.put_in("ring-oring", new=True)
    walk.do("reading", fit="output-preload", at="assembled", values=["3.2"], unit="N·m")

    assert "no socket reaches it afterwards" in walk.ask("installed", "ring-housing").refusal


def test_a_part_that_is_in_but_not_verified_holds_the_next_one() -> None:
    """In is not enough: somebody must have looked."""
    walk = reducer()
    walk.take_apart()
    walk.put_in_until("upper-cone")
    walk.do("installed", "upper-cone")

    ruling = walk.ask("installed", "tab-washer", new=True)

    cone = walk.bin("upper-cone")
    assert f"first verify {cone.step} {cone.name}" in ruling.refusal
    assert f"Allowed now: verify {cone.step} {cone.name}" in ruling.refusal


def test_a_label_of_another_job_or_revision_is_refused_loudly() -> None:
    """Moment 3: job, revision, and whether the limits of this part changed."""
    loaded = demo("planetary-reducer")
    ours, theirs = view_of(loaded, number=124), view_of(loaded, number=117)
    text = (
        loaded.source.decode()
        .replace('revision: "5"', 'revision: "3"')
        .replace('max: "0.05", at: clean, tool: dep', 'max: "0.06", at: clean, tool: dep')
    )
    older = profile_of(
        text.replace(
            '{measure: wear of the spring pockets, max: "0.30"', '{measure: wear of the spring pockets, max: "0.40"'
        )
    ).profile

    other = right_job(theirs.job, theirs.profile, ours.job, ours.profile, "input-cover")
    changed = right_job(theirs.job, older, ours.job, ours.profile, "input-cover")
    same_limits = right_job(theirs.job, older, ours.job, ours.profile, "brake-hub")

    assert right_job(ours.job, ours.profile, ours.job, ours.profile, "input-cover").allowed
    assert not other.allowed
    assert not other.overridable
    assert "label is of job 117, this is job 124" in other.refusal
    assert "revision 3, this job has 5: limits of this part have changed" in changed.refusal
    assert "print a new label" in changed.refusal
    assert "limits" not in same_limits.refusal


def test_a_pack_with_two_frictions_together_is_refused() -> None:
    """Moment 10: they touch, one steel is missing between them; up to there all was right."""
    walk = reducer()
    pack, steel, friction, last = map(walk.bin, ("brake-pack", "steel-disc", "friction-disc", "selective-steel"))
    start = [walk.bin("backing-plate"), last]

    right = pack_scan(walk.view.teardown, pack, [*start, friction, steel])
    wrong = pack_scan(walk.view.teardown, pack, [*start, friction, steel, friction, friction])

    assert (4, friction, "") == (right.right, right.next, right.refusal)
    assert 5 == wrong.right
    assert "NO: two frictions would touch: place 6 is friction, steel belongs there. Take it out" == wrong.refusal
    built = [walk.bin(name) for name in reversed(pack.part.stack)]
    assert pack_scan(walk.view.teardown, pack, built).complete
    short = pack_scan(walk.view.teardown, pack, built[:5] + built[6:], whole=True).refusal
    assert "two frictions touch at places 5/6; frictions 5 of 5, steels 4 of 5: put one steel between" in short


def test_a_plate_of_the_other_pack_is_refused_with_its_home() -> None:
    """Moment 13: the thick spacer of the astern pack scanned into the ahead pack."""
    walk = marine()
    pack, spacer = walk.bin("ahead-pack"), walk.bin("astern-spacer")

    scan = pack_scan(walk.view.teardown, pack, [spacer])

    astern = walk.bin("astern-pack")
    assert f"{spacer.step} {spacer.name} is of {astern.name}, not of {pack.step} {pack.name}" in scan.refusal
    assert f"has {pack.part.stack.count('friction-ahead')} friction plates" in scan.refusal
    with pytest.raises(UsageError, match="is no pack of plates"):
        pack_scan(walk.view.teardown, spacer, [])


def test_the_washer_does_not_start_while_something_small_is_inside() -> None:
    """Moment 15: the thrust button lies in a blind hole of the second-stage sun."""
    walk = reducer()
    walk.take_apart(but=("thrust-button",))

    ruling = walk.ask("wash_started")

    button, sun = walk.bin("thrust-button"), walk.bin("sun-2")
    assert f"out before the wash: {button.step} {button.name} is not out" in ruling.refusal
    assert f"may lie in {sun.step} {sun.name}" in ruling.refusal
    assert walk.ask("washed", "input-cover").allowed, "it cannot lie in the cover"
    walk.do("removed", "thrust-button")
    assert "is out but not counted and bagged" in walk.ask("washed", "sun-2").refusal
    walk.do("count_found", "thrust-button", count=1)
    assert walk.ask("washed", "sun-2").allowed


def test_what_no_solvent_may_touch_is_kept_out_of_the_washer() -> None:
    """A friction disc in the basket stops the basket, and is named; wiped by hand it is clean like all else."""
    walk = reducer()
    walk.take_apart()

    refusal = walk.ask("wash_started", places=(walk.place("friction-disc"),)).refusal
    assert "Friction disc" in refusal
    assert "no solvent comes near it" in refusal
    assert walk.ask("washed", "friction-disc").allowed


def test_a_captured_part_is_not_hunted_for() -> None:
    """Moment 16: it is said to stay inside, and no list of open bins names it as missing."""
    walk = reducer()

    told = walk.ask("removed", "brake-housing").told
    walk.take_apart()
    lost = [point for point in open_points(walk.record) if point.kind in ("not_out", "not_empty")]

    assert any("50 x 80 x 16 stays inside, behind Oil guide ring: feel it" in words for words in told)
    assert "inside" == walk.record.at(walk.place("input-bearing")).stage
    assert walk.place("input-bearing") not in [point.place for point in lost]


def test_what_is_renewed_inside_another_goes_in_before_what_closes_it() -> None:
    """New bearing and circlip go in, each looked at, before the staked ring; the housing waits for all three.

    By hand from the profile: the circlip lies on the bearing, the ring is staked over both and used once only.
    """
    walk = reducer()
    walk.take_apart()
    walk.do("condemned", "input-bearing", why="rough")
    inner, ring = ("input-bearing", "input-bearing-circlip"), "oil-guide-ring"
    for part in reversed(inner):
        walk.allowed("removed", part, count=1)
    for part in (*inner, ring):
        walk.do("staged", part, pieces=1)
    walk.put_in_until(ring)
    walk.do("reading", fit="output-preload", at="assembled", values=["3.2"], unit="N·m")
    bearing, circlip = (walk.record.at(walk.place(part)).name for part in inner)

    for part in (ring, "brake-housing"):
        assert f"first {bearing}, then {circlip}" in walk.ask("installed", part, new=part == ring).refusal
    assert f"first {bearing} (it lies on" in walk.ask("installed", inner[1], new=True).refusal
    assert Assembly(walk.record).allowed()[0].text == bearing
    for part in inner:
        walk.allowed("installed", part, new=True)
        assert not walk.ask("installed", ring, new=True).allowed
        walk.allowed("verified", part)
    walk.allowed("installed", ring, new=True)


def rejected_behind_its_ring() -> Walk:
    """Return the reducer taken apart but for the staked ring, left in; then the bearing behind it is condemned."""
    walk = reducer()
    walk.take_apart(but=("oil-guide-ring",))
    walk.do("left_in", "oil-guide-ring")
    assert walk.place("oil-guide-ring") not in walk.record.to_come_out
    walk.do("inspected", "input-bearing", check=0, verdict="replace")
    return walk


BEHIND = ("oil-guide-ring", "input-bearing-circlip", "input-bearing")
"""What comes out of the brake housing for a new bearing, in that order."""


def test_what_was_left_in_and_is_to_be_new_is_open_until_the_new_one_is_in() -> None:
    """A ring left in over a bearing that is renewed: nothing is done there, whatever else is in; nobody signs."""
    walk = rejected_behind_its_ring()
    for placed in walk.view.order:
        if placed.bin.part.id != "oil-guide-ring":
            walk.put_in(placed.bin.part.id, new=True)
    still_in = [point for point in open_points(walk.record) if point.kind == "still_in"]

    assert {walk.place(part) for part in BEHIND} == {point.place for point in still_in}
    assert all("the old one is still in, and is to be new: take it out" in point.text for point in still_in)
    assert still_in[0].text in walk.ask("signature", statement="x").refusal
    assert "was left in and must come out" in walk.ask("verified", "oil-guide-ring").refusal
    words = [stage_words(walk.record, walk.record.at(walk.place(part))) for part in BEHIND]
    assert ["left in, to come out", "stays inside, to come out", "stays inside: CONDEMNED, to come out"] == words


def test_what_holds_a_part_inside_comes_out_before_it_with_its_cautions() -> None:
    """Ring, circlip, bearing, each told as the way on; then the new ones in the other order, then the housing."""
    walk = rejected_behind_its_ring()
    ring, circlip, bearing = (walk.record.at(walk.place(part)).name for part in BEHIND)

    assert f"holds it: {ring}" in walk.ask("removed", "input-bearing-circlip").refusal
    assert f"holds it: {ring}, {circlip}" in walk.ask("removed", "input-bearing").refusal
    refusal = walk.ask("joined", "brake-housing").refusal
    assert f"first take out {ring}, then take out {circlip}, then take out {bearing} (it is to be new)" in refusal
    assert refusal.endswith(f"Allowed now: take out {ring}")
    assert "CAUTION: Can fly off" in str(walk.ask("removed", "input-bearing-circlip", ticked=()).unticked)
    assert "WARNING: Press" in str(walk.ask("removed", "input-bearing", ticked=()).unticked)
    for part, name in zip(BEHIND, (ring, circlip, bearing), strict=True):
        out = [each for each in Assembly(walk.record).allowed() if each.what == "out"]
        assert [(f"take out {name}", walk.place(part))] == [(each.text, each.place) for each in out]
        assert "take out" in walk.ask("installed", part, new=True).refusal
        walk.allowed("removed", part, count=1)
    assert not [each for each in Assembly(walk.record).allowed() if each.what == "out"]
    assert "not the old" in walk.refused("installed", "input-bearing")
    walk.put_in_until("oil-guide-ring")
    walk.do("reading", fit="output-preload", at="assembled", values=["3.2"], unit="N·m")
    for part in reversed(BEHIND):
        walk.do("staged", part, pieces=1)
        walk.allowed("installed", part, new=True)
        walk.allowed("verified", part)
    assert walk.ask("joined", "brake-housing").allowed
    assert not [point for point in open_points(walk.record) if point.place in map(walk.place, BEHIND)]


def test_nothing_goes_into_what_is_in_already() -> None:
    """The housing went in, whoever agreed to it: the ring inside it is refused, and the housing is to come out.

    What came out of it when it was in, as a seal that is pulled in its place, goes in there as well.
    """
    walk = rejected_behind_its_ring()
    for part in BEHIND:
        walk.do("removed", part, count=1)
    walk.put_in("brake-housing")
    housing = walk.record.at(walk.place("brake-housing")).name

    for part in BEHIND:
        refusal = walk.refused("installed", part, new=True)
        assert f"first take out {housing}" in refusal
        assert f"Allowed now: take out {housing}" in refusal
    bearing = walk.record.at(walk.place("input-bearing")).name
    assert f"({bearing} goes in before it)" in walk.refused("installed", "input-bearing", new=True)
    walk.do("removed", "brake-housing", count=1)
    assert housing not in walk.refused("installed", "input-bearing", new=True)
    walk.put_in("input-cover")
    walk.do("removed", "input-seal", count=1)
    assert "take out" not in walk.refused("installed", "input-seal", new=True)


def test_what_stayed_in_does_not_come_out_of_what_is_in() -> None:
    """The bearing was condemned after its housing had gone in: that comes out first, it is the way on."""
    walk = reducer()
    walk.take_apart(but=("oil-guide-ring",))
    walk.do("left_in", "oil-guide-ring")
    walk.put_in("brake-housing")
    walk.do("condemned", "input-bearing", why="rough")
    housing = walk.record.at(walk.place("brake-housing")).name

    assert f"holds it: {housing}" in walk.ask("removed", "oil-guide-ring").refusal
    assert [f"take out {housing}"] == [each.text for each in Assembly(walk.record).allowed() if each.what == "out"]


def test_what_was_left_in_is_renewed_with_others_only() -> None:
    """A seal that is always renewed stays in a housing that was left in; a cup goes with its cone all the same."""
    walk = reducer()
    walk.do("left_in", "output-seal-flange")
    assert walk.place("output-seal-flange") not in walk.record.uses
    assert walk.place("output-seal-flange") not in walk.record.to_come_out
    walk.do("left_in", "output-housing")
    walk.do("condemned", "upper-cone", why="blue")
    assert {walk.place("upper-cup")} == walk.record.to_come_out


def test_another_count_asks_for_the_option_it_would_mean() -> None:
    """Moment 17: sixteen springs where twelve were set; once the option is set, the bin of twelve is a stray."""
    walk = reducer()
    walk.take_apart(until="brake-springs-12")

    told = walk.ask("removed", "brake-springs-12", count=16).told
    walk.do("removed", "brake-springs-12", count=16)

    assert any("16 came out, the profile has 12" in words and "brake=b16" in words for words in told)
    assert "count" in {point.kind for point in open_points(walk.record)}
    walk.choose(brake="b16")
    assert 16 == walk.bin("brake-springs-16").part.qty
    assert ["stray"] == [point.kind for point in open_points(walk.record) if "options leave out" in point.text]
    assert not walk.ask("correction", of=999, why="x").allowed
    walk.allowed("correction", of=walk.events[-1].number, why="counted into the other bin")
    walk.allowed("removed", "brake-springs-16", count=16)
    assert () == walk.record.strays


def test_the_next_part_follows_the_option() -> None:
    """Moment 18: with the splined output its extension comes off before everything else."""
    splined, flange = reducer(output="splined"), reducer()

    assert "extension-screws" == next_out(splined.record).part.id  # type: ignore[union-attr]
    assert "oil-plugs" == next_out(flange.record).part.id  # type: ignore[union-attr]
    splined.do("removed", "extension-screws", count=8)
    assert "extension-housing" == next_out(splined.record).part.id  # type: ignore[union-attr]


def test_an_old_one_time_part_does_not_go_in_again() -> None:
    """Moment 22: twelve new through bolts are needed; whether they are ordered or here is said. A new one goes in."""
    walk = reducer()
    walk.take_apart()
    walk.put_in_until("through-bolts")

    refusal = walk.ask("installed", "through-bolts").refusal
    assert "it is used once only; 12 new needed, not ordered yet" in refusal
    walk.do("ordered", number="G2B-1207", pieces=12)
    assert "12 ordered, not here yet" in walk.ask("installed", "through-bolts").refusal
    walk.do("received", number="G2B-1207", pieces=12)
    assert "they are here" in walk.ask("installed", "through-bolts").refusal
    assert walk.ask("installed", "through-bolts", new=True).allowed

    walk.put_in("through-bolts", new=True)
    walk.do("removed", "through-bolts", count=12)
    again = walk.ask("installed", "through-bolts", new=True).refusal
    assert "the new one was in and came out again, it is used once only; 12 new needed, not ordered yet" in again
    walk.do("received", "through-bolts", pieces=12)
    assert walk.ask("installed", "through-bolts", new=True).allowed, "others came"


def test_a_part_that_is_used_once_is_new_as_soon_as_it_came_out() -> None:
    """The staked guide ring stays in unless its bearing is rejected; pulled, it is ordered and the old one refused."""
    walk = reducer()
    ring = walk.place("oil-guide-ring")

    assert ring not in walk.record.uses
    walk.do("removed", "oil-guide-ring", count=1)
    assert [use.reason for use in walk.record.uses[ring]] == ["one_time"]
    assert "it is used once only; 1 new needed" in walk.ask("installed", "oil-guide-ring").refusal
    walk.do("left_in", "oil-guide-ring")
    assert ring not in walk.record.uses


def test_out_of_its_turn_names_what_is_not_out_and_what_lies_on_it_is_out_first() -> None:
    """Steps before it are confirmed, again only when they are others; screws of a screwed cover are refused past."""
    walk = reducer()
    walk.take_apart(until="cover-screws")
    screws, cover = walk.bin("cover-screws"), walk.bin("input-cover")

    assert not any("Out of order" in text for text in walk.ask("removed", "cover-screws", ticked=()).unticked)
    first = walk.ask("removed", "input-cover", ticked=())
    assert f"lies on it or holds it: {screws.step} {screws.name}" in first.refusal
    later = walk.ask("removed", "brake-piston", ticked=()).unticked[-1]
    assert later.startswith(f"Out of order; before it, not out yet: {screws.step} {screws.name}, {cover.step} ")
    ticked = walk.ask("removed", "brake-piston").unticked or (later,)
    scan = walk.do("removed", "brake-piston", ticked=ticked, count=1)
    assert later not in walk.ask("removed", "brake-pack", ticked=()).unticked
    walk.do("correction", of=scan.number, why="a wrong scan")
    assert later in walk.ask("removed", "brake-piston", ticked=()).unticked, "what did not happen was not ticked"


def test_a_part_of_an_open_option_comes_out_once_it_is_seen_to_be_there() -> None:
    """The other way is not seen by that; a reason and a name are enough, as for going in."""
    walk = reducer()
    walk.choose(breather=None)  # type: ignore[arg-type]
    asks = "is there only if Breather = Breather on the output housing, which is open"

    refused = walk.ask("removed", "breather-std")
    assert asks in refused.refusal
    assert refused.overridable
    walk.do("option_seen", option="breather", choice="std", how="seen")
    assert asks not in walk.ask("removed", "breather-std").refusal
    assert "which is open" in walk.ask("removed", "breather-remote").refusal


def test_no_more_old_pieces_go_in_than_came_out() -> None:
    """Two of three plugs were counted: the third is asked for, until somebody has said where it is from."""
    walk = reducer()
    walk.take_apart(but=("oil-plugs",))
    walk.do("removed", "oil-plugs", count=2)
    asks = "2 came out, 3 would go in"

    assert asks in walk.refused("installed", "oil-plugs")
    assert asks not in walk.refused("installed", "oil-plugs", pieces=2)
    walk.do("count_found", "oil-plugs", count=3)
    assert asks not in walk.refused("installed", "oil-plugs")


def test_what_is_missing_is_ordered_by_the_way_that_the_refusal_names() -> None:
    """Of six washers five came out: the sixth is lost, and one new is ordered. The question names it, too."""
    walk = reducer()
    walk.take_apart(but=("planet-1-washer",))
    walk.do("removed", "planet-1-washer", count=5)
    way = "as lost, so that new ones are ordered (Condemn pieces, or lost)"
    washer = walk.place("planet-1-washer")

    assert way in walk.refused("installed", "planet-1-washer")
    assert any(way in point.text for point in place_points(walk.record, walk.record.at(washer)))
    assert washer not in walk.record.uses
    walk.do("condemned", "planet-1-washer", why="not there", pieces=1, lost=True)
    assert [1] == [use.pieces for use in walk.record.uses[washer]]
    assert way not in walk.refused("installed", "planet-1-washer", pieces=5)


def test_more_pieces_than_there_are_are_counted_nowhere() -> None:
    """Twelve bolts go in, and two screws where two of eight are condemned; what went back may come again."""
    walk = reducer()
    walk.take_apart()
    walk.do("condemned", "cover-screws", why="bent", pieces=2)
    for kind, part, most, told in (
        ("received", "through-bolts", 12, "13 new would be here, and 12 go in. Allowed now: 12"),
        ("staged", "through-bolts", 12, "13 new would lie ready, and 12 go in. Allowed now: 12"),
        ("staged", "cover-screws", 2, "3 new would lie ready, and 2 go in. Allowed now: 2"),
        ("installed", "through-bolts", 12, "13 would be in, and there are 12. Allowed now: 12"),
        ("condemned", "cover-screws", 6, "9 would be condemned, and there are 8. Allowed now: 6"),
        ("returned", "through-bolts", 12, "13 new would go back, and no more than 12 came. Allowed now: 12"),
    ):
        fields = {"why": "bent"} if kind in ("condemned", "returned") else {}
        assert "would" not in walk.ask(kind, part, pieces=most, **fields).refusal
        refused = walk.ask(kind, part, pieces=most + 1, **fields)
        assert (True, False) == (told in refused.refusal, refused.overridable), refused.refusal
    for kind, more in (("received", {}), ("staged", {}), ("returned", {"why": "bent", "counted": 2})):
        walk.do(kind, "cover-screws", pieces=2, **more)
    assert walk.ask("received", "cover-screws", pieces=2).allowed
    assert walk.ask("staged", "cover-screws", pieces=2).allowed
    assert not walk.ask("staged", "cover-screws", pieces=3).allowed
    # What is sent back at the door was never here: no more go in for that.
    walk.do("returned", "cover-screws", pieces=2, why="bent")
    walk.do("staged", "cover-screws", pieces=2)
    assert not walk.ask("staged", "cover-screws", pieces=1).allowed
    for new, most in ((True, 2), (False, 6)):
        assert "would" not in walk.ask("installed", "cover-screws", new=new, pieces=most).refusal
        refused = walk.ask("installed", "cover-screws", new=new, pieces=most + 1).refusal
        assert f"{most + 1} would be in, and there are {most}" in refused


def test_what_nobody_inspected_is_told_of_as_it_goes_in_and_who_is_to_be_asked_stops_it() -> None:
    """A point without an answer is a notice; `ask first` waits for a verdict, and is open until there is one."""
    walk = reducer()
    walk.take_apart()
    point = walk.bin("oil-plugs").part.check[0].look

    assert any("not inspected yet" in told and str(point) in told for told in walk.ask("installed", "oil-plugs").told)
    walk.do("inspected", "oil-plugs", check=0, verdict="ask", who="Ben")
    asks = "Ben wants somebody to be asked first"
    assert asks in walk.refused("installed", "oil-plugs")
    assert [each.kind for each in open_points(walk.record) if asks in each.text] == ["ask"]
    walk.do("inspected", "oil-plugs", check=0, verdict="reuse")
    assert asks not in walk.refused("installed", "oil-plugs")
    assert not any("not inspected yet" in told for told in walk.ask("installed", "oil-plugs").told)


def test_what_lies_between_two_pieces_waits_for_one_of_them_only() -> None:
    """One race, the needles, the other race: each told as the way on, and both are in before the washer on top."""
    walk = reducer()
    walk.take_apart()
    walk.put_in_until("thrust-race")
    walk.do("reading", fit="output-preload", at="assembled", values=["3.2"], unit="N·m")
    race, needles, washer = (
        walk.record.at(walk.place(part)).name for part in ("thrust-race", "thrust-needles", "end-play-washer")
    )

    def on() -> list[str]:
        """Return what may go in of the three, in the order in which it is told."""
        allowed = Assembly(walk.record).allowed()
        return [each.text for each in allowed if each.what == "install" and each.text in (race, needles, washer)]

    assert [race] == on()
    assert f"first {race}" in walk.refused("installed", "thrust-needles")
    told = walk.ask("installed", "thrust-race").told
    assert f"{race}: not all of it goes in before {needles}: say how many do" in told
    assert f"not all of {race} goes in before {needles}" in walk.refused("installed", "thrust-race", pieces=2)
    walk.allowed("installed", "thrust-race", pieces=1)
    assert [needles, race] == on()
    assert "" == next(
        Assembly(walk.record).jumps(each) for each in Assembly(walk.record).allowed() if each.text == needles
    )
    walk.allowed("installed", "thrust-needles")
    walk.allowed("verified", "thrust-needles")
    assert [race] == on()
    assert f"first {race}" in walk.refused("installed", "end-play-washer", sizes=["2.30"])
    assert f"{race} is not in" in walk.ask("verified", "thrust-race").refusal
    walk.allowed("installed", "thrust-race", pieces=1)
    walk.allowed("verified", "thrust-race")
    assert race not in walk.refused("installed", "end-play-washer", sizes=["2.30"])


def test_a_ring_below_and_one_above_do_not_hold_up_their_housing() -> None:
    """One O-ring of two is in: the housing goes onto it; twelve springs under a cover must all be there."""
    walk = reducer()
    walk.take_apart()
    walk.put_in_until("ring-housing")
    walk.do("removed", "ring-oring", count=2)
    oring, springs = (walk.record.at(walk.place(part)).name for part in ("ring-oring", "brake-springs-12"))
    asks = f"first {oring}"

    assert asks in walk.refused("installed", "ring-housing")
    walk.do("installed", "ring-oring", pieces=1, new=True)
    assert asks not in walk.refused("installed", "ring-housing")
    walk.put_in_until("brake-springs-12")
    walk.do("installed", "brake-springs-12", pieces=11)
    assert f"first {springs}" in walk.refused("installed", "input-cover")


def test_what_is_renewed_in_any_case_is_not_called_good() -> None:
    """A plug's ring and a seal are not; a ring that stays in while its bearing does is, and what is renewed if worn."""
    walk = reducer()
    walk.take_apart(but=("oil-guide-ring",))
    walk.do("left_in", "oil-guide-ring")

    for part, why in (("plug-rings", "it is used once only"), ("input-seal", "it is used once only")):
        for verdict in ("reuse", "repair"):
            refusal = walk.ask("inspected", part, verdict=verdict).refusal
            assert f"does not go in again: {why}. Allowed now: replace it, or ask first" in refusal
        assert walk.ask("inspected", part, verdict="replace").allowed
        assert walk.ask("inspected", part, verdict="ask").allowed
    assert walk.ask("inspected", "oil-guide-ring", verdict="reuse").allowed
    assert walk.ask("inspected", "oil-plugs", verdict="reuse").allowed


def test_a_condemned_part_does_not_go_in_again() -> None:
    """The label of an old part is refused with the name of who condemned it; a part of the pieces with their count."""
    walk = reducer()
    walk.take_apart()
    walk.do("condemned", "thrust-needles", why="blue", who="Ben")
    walk.do("condemned", "planet-1-27", why="pitted", pieces=1, who="Ben")

    assert "it was condemned by Ben; 1 new needed" in walk.ask("installed", "thrust-needles").refusal
    race = walk.ask("installed", "thrust-race").refusal
    assert "renewed with Thrust needle cage" in race
    assert "1 of 3 new needed" in walk.ask("installed", "planet-1-27").refusal
    walk.do("staged", "planet-1-27", pieces=1)
    assert walk.ask("installed", "planet-1-27").allowed


def test_a_play_that_was_not_read_is_told_of_once_when_what_ends_it_comes_out() -> None:
    """The aft cover takes cups and shims of two shafts along: before it nothing is lost, after it nothing is new."""
    walk = marine()
    walk.do("reading", fit="astern-end-play", at="before", values=["0.08"], unit="mm")
    told = {}
    for part in ("dipstick", "aft-cover-screws", "aft-cover", "large-cup-ahead"):
        walk.take_apart(until=part)
        told[part] = [words for words in walk.ask("removed", part).told if "was not read" in words]

    lost = "ahead end play was not read before the teardown; later it cannot be"
    assert {"dipstick": [], "aft-cover-screws": [], "aft-cover": [lost], "large-cup-ahead": []} == told


def test_a_clearance_is_asked_for_when_what_ends_it_is_the_next_to_come_out() -> None:
    """A pack inside a drum inside a housing can be read by feeler only then; the plays of the whole unit before."""
    walk = marine()
    asked = {}
    for part in ("dipstick", "ahead-assy", "end-ring-ahead", "pressure-plate-ahead"):
        walk.take_apart(until=part)
        asked[part] = [name for name in readable_now(walk.record) if "clearance" in name]

    ahead = "clutch-clearance-ahead"
    assert {"dipstick": [], "ahead-assy": [], "end-ring-ahead": [ahead], "pressure-plate-ahead": []} == asked


def test_what_is_judged_when_assembled_waits_until_it_is_in() -> None:
    """As found it may be looked at, which does not answer for the end; on the bench only with a reason and a name."""
    walk, looked = marine(), {"check": 1, "verdict": "reuse"}
    play = {"fit": "ahead-end-play", "at": "assembled", "values": ["0.07", "0.07", "0.08"], "unit": "mm"}
    walk.allowed("inspected", "aft-cover", **looked)
    walk.take_apart()

    for ruling in (walk.ask("inspected", "aft-cover", **looked), walk.ask("reading", **play)):
        assert (False, True) == (ruling.allowed, ruling.overridable)
        assert "it is judged when it is assembled; not in yet: " in ruling.refusal
    agreed = {"reason": "tried on its own", "agreed": "Bo", "refusal": "Not yet"}
    assert walk.ask("inspected", "aft-cover", **looked, override=agreed).allowed
    walk.do("hold", "aft-cover", why="owner")
    walk.allowed("inspected", "aft-cover", check=0, verdict="reuse")
    # A cover that nothing holds down closes no play.
    walk.put_in_until("aft-cover-screws")
    assert "not in yet: 19 Aft-cover screw M10 x 45. Allowed now" in walk.ask("reading", **play).refusal
    walk.put_in_until("nowhere")
    walk.allowed("reading", **play)
    air = [point.kind for point in open_points(walk.record) if "air check ahead" in point.text]
    walk.allowed("inspected", "aft-cover", **looked)
    assert (["at_end"], []) == (air, [p for p in open_points(walk.record) if "air check ahead" in p.text])


def test_a_thread_that_turns_the_other_way_is_told_before_it_is_loosened() -> None:
    """Moment 23: left-hand nut, and springs under a cover; nothing is accepted before each is ticked, by word."""
    gear, unit = marine(), reducer()

    nut = gear.ask("removed", "astern-nut", ticked=[])
    screws = unit.ask("removed", "cover-screws", ticked=[])

    assert "LEFT-HAND thread: turn clockwise to loosen" in nut.unticked
    assert not nut.allowed
    springs = [words for words in screws.unticked if words.startswith("DANGER")]
    assert any("7.6 kN (12 springs)" in words for words in springs)
    assert any("4.6 turns" in words for words in springs)
    assert not unit.ask("removed", "cover-screws", ticked=screws.unticked[1:]).allowed
    assert unit.ask("removed", "cover-screws", ticked=screws.unticked).allowed


def test_cautions_of_inspection_are_ticked_where_a_point_is_recorded() -> None:
    """An air check hurts each time, at the part where it is done; not at a fit, nor at a plug's magnet."""
    walk = marine()
    walk.do("inspected", "aft-cover", verdict="reuse")
    asked = walk.ask("inspected", "aft-cover", check=1, verdict="reuse", ticked=[]).unticked

    assert ["Air check of a clutch, when it is together"] == [words.split(": ")[1] for words in asked]
    assert () == walk.ask("inspected", "drain-plug", check=0, verdict="reuse", ticked=[]).unticked
    fit = {"fit": "ahead-end-play", "at": "before", "values": ["0.1"], "unit": "mm"}
    assert () == walk.ask("reading", **fit, ticked=[], who="Cleo").unticked


def test_cautions_of_the_unit_are_ticked_once_by_each_person() -> None:
    """Those of the part itself every time."""
    walk = reducer()
    general = [words for words in walk.ask("removed", "oil-plugs", ticked=[]).unticked if "136 kg" in words]
    walk.do("removed", "oil-plugs", ticked=walk.ask("removed", "oil-plugs", ticked=[]).unticked)

    assert 1 == len(general)
    assert () == walk.ask("removed", "plug-rings", ticked=[]).unticked
    assert general[0] in walk.ask("removed", "plug-rings", ticked=[], who="Ben").unticked
    assert walk.ask("removed", "cover-screws", ticked=[]).unticked


def test_another_person_sees_where_the_job_is() -> None:
    """Moment 24: last verified, what is not read, what waits for whom, and what may be done now."""
    walk = reducer()
    walk.take_apart()
    walk.put_in_until("carrier-2")
    walk.put_in("planet-1-27", "planet-1-needles-27", "planet-1-washer")
    sun = walk.do("hold", "sun-1-21", why="waits for the inspector", who="Ben")

    record = walk.record
    texts = [each.text for each in Assembly(record).allowed()]

    assert walk.place("planet-1-washer") == record.last_verified.place  # type: ignore[union-attr]
    assert (sun,) == record.at(walk.place("sun-1-21")).holds
    refusal = walk.ask("installed", "carrier-2").refusal
    assert "measure output preload" in refusal
    assert "measure output preload" == texts[0]
    assert any(text.startswith("build First stage on the bench") for text in texts)
    assert "on hold by Ben: waits for the inspector" in walk.ask("installed", "sun-1-21").refusal
    walk.do("released", "sun-1-21", of=sun.number, why="polished", who="Ben")
    walk.do("reading", fit="output-preload", at="assembled", values=["3.2"], unit="N·m")
    assert () == walk.record.at(walk.place("sun-1-21")).holds
    assert walk.ask("installed", "carrier-2").allowed


def test_a_group_is_built_on_the_bench_before_it_can_go_in() -> None:
    """Inside its group a part waits for its neighbours only; into the unit the group waits for everything."""
    walk = reducer()
    walk.take_apart()
    walk.put_in("planet-1-27", "planet-1-needles-27", "planet-1-washer")

    def core() -> list[str]:
        members = {walk.place(part) for part in ("brake-housing", "sun-1-21", "brake-hub")}
        return [f"{each.what} {each.text}" for each in Assembly(walk.record).allowed() if each.place in members]

    assert "Not yet" in walk.ask("installed", "carrier-1").refusal
    assert "Not yet" in walk.ask("joined", "sun-2-circlip", new=True).refusal
    walk.allowed("joined", "carrier-1")
    walk.allowed("joined", "sun-2")
    walk.allowed("joined", "sun-2-circlip", new=True)
    assert "belongs to no group" in walk.ask("joined", "input-cover").refusal
    walk.put_in_until("carrier-1")
    walk.do("reading", fit="output-preload", at="assembled", values=["3.2"], unit="N·m")
    walk.allowed("installed", "carrier-1")
    walk.allowed("installed", "sun-2")

    walk.put_in_until("brake-housing")
    housing = walk.bin("brake-housing")
    assert [f"join build Brake core on the bench: {housing.step} {housing.name}"] == core(), "though it might go in"
    walk.do("joined", "brake-housing")
    refusal = walk.ask("installed", "brake-housing").refusal
    assert housing.name not in refusal.partition("first")[2], "the housing does not wait for itself"
    assert "they go in together" in refusal
    assert ["join"] == [each.split()[0] for each in core()], "the shaft; the housing does not go in alone"
    for part in ("sun-1-21", "brake-hub"):
        walk.do("joined", part)
    walk.do("joined", "hub-circlip", new=True)
    assert {"install"} == {each.split()[0] for each in core()}


def finished() -> Walk:
    """Return a job on which everything is done and right."""
    walk = reducer()
    walk.take_apart()
    for placed in walk.view.order:
        part = placed.bin.part
        for number, check in enumerate(part.check):
            if check.look:
                walk.do("inspected", part.id, verdict="reuse", check=number)
            else:
                limit = check.min or check.max
                values = [str(limit.value) if limit else "1.00"] * ((check.each or 1) * (check.readings or 1))
                walk.do("reading", part.id, check=number, at="clean", values=values, unit=limit.unit if limit else "mm")
        walk.put_in(part.id, new=part.renew == "always" or part.one_time)
    for captured in walk.view.teardown.inside:
        for number, _ in enumerate(captured.part.check):
            walk.do("inspected", captured.part.id, verdict="reuse", check=number)
    walk.do("reading", fit="output-preload", at="assembled", values=["3.2"], unit="N·m")
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.45"], predicted="0.41")
    walk.do("reading", fit="carrier-end-play", at="assembled", values=["0.41", "0.42", "0.41"], unit="mm")
    state = walk.view.profile.fits["brake-stroke"].state
    walk.do("reading", fit="brake-stroke", at="assembled", values=["1.62"], unit="mm", state=state)
    return walk


def test_a_signature_is_refused_while_a_race_lies_in_its_bin() -> None:
    """Moment 25: play 1.41 where 0.41 was predicted is one race of 1.0; its bin holds one of two."""
    walk = finished()
    assert () == open_points(walk.record)
    walk.allowed("signature", statement="All in, nothing open")
    walk.allowed("reading", fit="carrier-end-play", at="assembled", values=["1.41", "1.41", "1.41"], unit="mm")
    walk.do("removed", "thrust-race", count=2)
    walk.do("installed", "thrust-race", pieces=1)
    walk.do("reading", fit="carrier-end-play", at="assembled", values=["1.41", "1.41", "1.41"], unit="mm")

    ruling = walk.ask("signature", statement="All in, nothing open")

    race = walk.bin("thrust-race")
    assert walk.record.signed is None, "something came out after the signature"
    assert not ruling.allowed
    assert "difference +1.00 mm; 1.0 mm is one Thrust race 50 x 70 x 1: is it missing?" in ruling.refusal
    assert f"{race.step} {race.name}: 1 of 2 is in, 1 not" in ruling.refusal
    assert {"fit", "not_empty"} == {point.kind for point in ruling.points}


def test_a_job_is_closed_after_it_was_signed() -> None:
    """Not before; then nothing is recorded any more until it is reopened."""
    walk = finished()

    assert "the job is not signed" in walk.ask("closed").refusal
    walk.allowed("signature", statement="Done")
    walk.allowed("closed")
    assert "job closed by Ana" in walk.ask("noted", note="late").refusal
    assert not walk.ask("noted", note="late").overridable
    walk.allowed("reopened", why="leak")
    assert walk.ask("noted", note="late").allowed
    assert walk.record.closed is None


def test_each_signature_counts_until_something_comes_out() -> None:
    """The last one of each person, in their order; a corrected one does not."""
    walk = finished()
    for who in ("Ana", "Bo", "Ana", "Cleo"):
        walk.do("signature", who=who, statement="Done")
    walk.do("correction", of=len(walk.events), why="not yet")

    assert ["Bo", "Ana"] == [event.who for event in walk.record.signatures]
    assert walk.record.signed == walk.record.signatures[-1]
    walk.do("removed", "oil-plugs", count=3)
    assert ((), None) == (walk.record.signatures, walk.record.signed)


def test_an_override_goes_on_and_stays_visible() -> None:
    """A reason and a name are enough to go on against a refusal, and neither to pass over a caution."""
    walk = reducer()
    walk.take_apart()
    refused = walk.ask("installed", "carrier-2")
    override = {"reason": "trial fit", "agreed": "Owner", "refusal": refused.refusal}

    assert not refused.allowed
    assert walk.ask("installed", "carrier-2", override=override).allowed
    nut = walk.ask("installed", "carrier-2", override=override, ticked=[])
    assert not nut.allowed
    assert nut.unticked
    event = walk.do("installed", "carrier-2", override=override)
    assert (event,) == walk.record.deviations


def test_an_open_option_is_settled_before_its_part_goes_in() -> None:
    """A part that may not belong to this unit is not installed."""
    walk = Walk("planetary-reducer")
    walk.do("removed", "breather-std", count=1)

    assert (
        "only if Breather = Breather on the output housing, which is open"
        in walk.ask("installed", "breather-std").refusal
    )
    assert "option" in {point.kind for point in open_points(walk.record)}


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"fit": "brake-stroke", "values": ["1.6"], "unit": "mm"}, "brake stroke: it is not said how it was read"),
        ({"fit": "brake-stroke", "values": ["1.6"], "unit": "mm", "state": "spring in"}, "read with spring in; the"),
        ({"fit": "carrier-end-play", "values": ["0.48", "0.62", "0.50", "0.49"], "unit": "mm"}, "play: the readings"),
        ({"fit": "carrier-end-play", "values": ["0.48"], "unit": "mm"}, "play: 1 of 3 readings; seat it again: turn"),
        ({"fit": "end-play", "values": ["0.48"], "unit": "mm"}, "there is no fit end-play"),
    ],
)  # fmt: skip
def test_a_reading_that_does_not_count_is_not_taken(fields: dict[str, object], words: str) -> None:
    """The state in which a clearance is read is said (moment 14), readings that differ are not averaged (moment 4)."""
    assert words in reducer().ask("reading", at="assembled", **fields).refusal


def test_a_torque_in_the_wrong_unit_is_noticed() -> None:
    """48 lbf·ft for 48 N·m is 65 N·m, 36 % over (moment 21). 1 lbf·ft = 1.355818 N·m (NIST SP 811, from memory)."""
    walk = marine()
    walk.take_apart()
    walk.put_in_until("aft-cover-screws")
    walk.do("installed", "aft-cover-screws")
    assert f"tighten {walk.bin('aft-cover-screws').step} " in " ".join(e.text for e in Assembly(walk.record).allowed())

    refusal = walk.ask("torque_signed", "aft-cover-screws", torque="48", unit="lbf·ft").refusal

    assert "48 lbf·ft is 65.1 N·m, 36 % over 48 N·m" in refusal
    assert "NO: 54 N·m is 12 % over" in walk.ask("torque_signed", "aft-cover-screws", torque="54").refusal
    walk.allowed("torque_signed", "aft-cover-screws", torque="33.6", share="0.7")
    assert walk.ask("torque_signed", "aft-cover-screws", torque="48").allowed
    assert "the torque, 48 N·m, is not signed" in walk.ask("verified", "aft-cover-screws").refusal


def test_a_label_of_a_part_that_the_options_leave_out_opens_nothing() -> None:
    """Its place is not there; nobody can override that."""
    walk = reducer()
    other = replace(walk.view, job=walk.view.job)
    place = view_of(demo("planetary-reducer"), {"output": "splined"}).teardown.of("extension-screws")[0].ordinal

    from labelkit.calc.gate import judge
    from labelkit.model.events import act_of

    ruling = judge(Assembly(walk.record), act_of({"kind": "removed"}), place, "Ana")
    assert other.job == walk.view.job
    assert "leave this bin out: Ratio: 16.8 (" in ruling.refusal
    assert not ruling.overridable


def test_no_other_size_goes_in_than_was_chosen_for_the_fit() -> None:
    """A washer of 2.45 where 2.60 was chosen is refused; one that is 0.01 off its grade is the right one."""
    walk = reducer()
    walk.take_apart()
    walk.put_in_until("end-play-washer")
    assert "Allowed now: choose it by measuring carrier end play" in walk.refused("installed", "end-play-washer")
    assert walk.ask("installed", "end-play-washer", new=True, sizes=["2.45"]).allowed
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.60"], predicted="0.45")

    ruling = walk.ask("installed", "end-play-washer", new=True, sizes=["2.45"])

    assert "of 2.45 mm: 2.60 mm was chosen for its fit. Allowed now: that size" in ruling.refusal
    assert ruling.overridable
    assert walk.ask("installed", "end-play-washer", new=True, sizes=["2.61"]).allowed
    walk.do("installed", "end-play-washer", new=True, sizes=["2.61"])
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.45"], predicted="0.60")
    washer = walk.record.at(walk.place("end-play-washer"))
    told = " ".join(point.text for point in place_points(walk.record, washer))
    assert "2.61 mm is in, 2.45 mm was chosen for its fit" in told


def test_a_play_outside_its_target_leads_to_another_size_and_then_to_the_old_one_out() -> None:
    """What was read before the choice says nothing of it; a deviation lets it be as it is."""
    walk = reducer()
    walk.take_apart()
    walk.put_in_until("end-play-washer")
    walk.do("installed", "end-play-washer", new=True, sizes=["2.60"])
    walk.do("reading", fit="carrier-end-play", at="assembled", values=["0.71", "0.70", "0.70"], unit="mm")

    def first() -> str:
        return Assembly(walk.record).allowed()[0].text

    assert "choose carrier end play" == first()
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.75"], predicted="0.553")
    assert f"take out {walk.bin('end-play-washer').step} Selective thrust washer; chosen is 2.75 mm" == first()
    (point,) = fit_points(walk.record, "carrier-end-play")
    assert "carrier end play: 2.75 mm chosen, not in yet" in point
    del walk.events[-1]
    walk.do("deviation", what="end play 0.70", reason="measured twice", agreed="Bo")
    assert "choose" not in first()


def test_a_play_that_is_off_by_one_part_leads_to_a_look_for_that_and_to_no_other_size() -> None:
    """1.42 where 0.42 was predicted is one race of 1.0 mm: another washer would hide that; sign-off says the same."""
    walk = finished()
    walk.do("reading", fit="carrier-end-play", at="assembled", values=["1.42", "1.42", "1.42"], unit="mm")
    told = "carrier end play: look first for what the difference tells, then measure it again"

    assert [("measure", told)] == [(each.what, each.text) for each in Assembly(walk.record).allowed()]
    assert {"fit"} == {point.kind for point in open_points(walk.record)}
    walk.do("reading", fit="carrier-end-play", at="assembled", values=["0.71", "0.71", "0.71"], unit="mm")
    assert ["choose"] == [each.what for each in Assembly(walk.record).allowed()], "no part is 0.30 mm thick"
    assert {"choose"} == {point.kind for point in open_points(walk.record)}


def test_another_size_that_somebody_agreed_to_stays_in_until_a_size_is_chosen_again() -> None:
    """Neither the fit nor the part asks for it to come out; agreed before the choice says nothing of the choice."""
    walk = reducer()
    walk.take_apart()
    walk.put_in_until("end-play-washer")
    walk.do("installed", "end-play-washer", new=True, sizes=["2.60"])
    stays = {"what": "the old choice stays", "reason": "no other size this week", "agreed": "Bo"}

    def told() -> str:
        washer = walk.record.at(walk.place("end-play-washer"))
        points = [point.text for point in place_points(walk.record, washer)]
        return " ".join([*points, *fit_points(walk.record, "carrier-end-play")])

    walk.do("deviation", "end-play-washer", **stays)
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.75"], predicted="0.553")
    assert "2.60 mm is in, 2.75 mm was chosen" in told()
    assert "comes out again" in told()
    walk.do("deviation", "end-play-washer", **stays)
    assert "chosen" not in told()
    assert not any(each.text.startswith("take out") for each in Assembly(walk.record).allowed())
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.45"], predicted="0.60")
    assert "comes out again" in told()


def sprung(*acts: tuple[str, dict[str, Any]]) -> Walk:
    """A detent spring that is out and was read too short; then what is done with it."""
    walk = marine()
    walk.do("removed", "detent-spring", count=1)
    walk.do("reading", "detent-spring", check=0, at="apart", values=["22.1"], unit="mm", verdict="out")
    for kind, fields in acts:
        walk.do(kind, "detent-spring", **fields)
    return walk


def open_of(walk: Walk) -> list[str]:
    return [point.text for point in place_points(walk.record, walk.record.at(walk.place("detent-spring")))]


def test_what_reads_outside_its_limits_is_not_called_good_without_a_reason() -> None:
    """Too short and "good" is a slip: it is refused, and open, until somebody condemns it, repairs it or agrees."""
    refusal = sprung().ask("inspected", "detent-spring", verdict="reuse").refusal
    agreed = {"verdict": "reuse", "override": {"reason": "spare is late", "agreed": "Ina", "refusal": "NO"}}

    assert "read 22.1 mm, allowed at least 22.5 mm" in refusal
    assert any("22.1 mm" in text for text in open_of(sprung(("inspected", {"verdict": "reuse"}))))
    stays = {"what": "short", "reason": "spare is late", "agreed": "Ina"}
    for act in (("inspected", agreed), ("condemned", {"why": "short"}), ("deviation", stays)):
        assert not any("22.1 mm" in text for text in open_of(sprung(act)))


def test_what_is_condemned_while_it_is_in_must_come_out() -> None:
    """It is neither verified nor signed for; what was condemned before, and is in as a new one, is."""
    late = sprung(("installed", {}), ("condemned", {"why": "short"}))
    early = sprung(("condemned", {"why": "short"}), ("installed", {"new": True}))

    assert "was condemned while it is in" in late.ask("verified", "detent-spring").refusal
    assert any("was condemned there: take it out" in text for text in open_of(late))
    assert "in, not verified: CONDEMNED" == stage_words(late.record, late.record.at(late.place("detent-spring")))
    assert early.ask("verified", "detent-spring").allowed
    assert not any("condemned" in text for text in open_of(early))


def test_what_is_put_in_past_a_part_that_comes_before_it_is_told_of() -> None:
    """A ring that waits for its new size is not forgotten under what the profile lets in without it."""
    walk = marine()
    walk.take_apart()
    walk.put_in_until("detent-spring")
    late, spring = "before it in the order of assembly", walk.bin("detent-spring")
    told = [" ".join(walk.ask("installed", part).told) for part in ("detent-ball", "detent-spring")]

    assert f"{late}: {spring.full_name}" in told[0]
    assert late not in told[1]


@pytest.mark.parametrize(("sizes", "asked"), [(["0.50", "0.30"], True), (["0.50", "0.30", "0.10"], False)])
def test_a_shim_of_a_set_that_is_not_put_in_again_is_asked_for(sizes: list[str], asked: bool) -> None:
    """Three came out and two go in: one lies on the tray, or is lost."""
    walk = marine()
    walk.do("removed", "output-shims", count=3)

    told = " ".join(walk.ask("installed", "output-shims", sizes=sizes).told)

    assert asked == ("3 came out, in again: 2. Where is the rest?" in told)


def test_a_new_part_in_its_group_is_not_called_condemned() -> None:
    """The verdict is that of the old one, which lies in the bin of old parts."""
    walk = marine()
    walk.take_apart()
    walk.do("condemned", "return-spring-ahead", why="short")
    walk.do("received", "return-spring-ahead", pieces=5)
    walk.do("staged", "return-spring-ahead", pieces=5)
    walk.do("joined", "return-spring-ahead", new=True)

    words = stage_words(walk.record, walk.record.at(walk.place("return-spring-ahead")))
    assert words == "built into its group, 5 of 5 counted: old part CONDEMNED"


def test_a_last_check_waits_for_the_screws_of_its_part() -> None:
    """Nobody blows air into a cover that only lies there; once the screws are in it may be judged."""
    walk = marine()
    walk.take_apart()
    walk.put_in_until("aft-cover-screws")
    check = next(n for n, each in enumerate(walk.bin("aft-cover").part.check) if each.at == "assembled")
    screws = walk.bin("aft-cover-screws").full_name

    assert f"not in yet: {screws}" in walk.ask("inspected", "aft-cover", check=check, verdict="reuse").refusal
    walk.put_in("aft-cover-screws")
    assert not walk.ask("inspected", "aft-cover", check=check, verdict="reuse").refusal


def test_a_mean_is_told_with_the_decimals_that_were_read() -> None:
    """Three readings of 0.14 and 0.15 have a mean with no end; with one more where it takes that to see it outside."""
    walk = marine()
    walk.take_apart()
    values = ["0.14", "0.14", "0.15"]
    walk.do("reading", fit="output-end-play", at="assembled", values=values, unit="mm", verdict="out")

    told = [point.text for point in open_points(walk.record) if point.fit == "output-end-play"]
    assert told[0].startswith("output end play is 0.14 mm, the target is")
    walk.do("reading", fit="output-end-play", at="assembled", values=["0.12", "0.12", "0.13"], unit="mm", verdict="out")
    told = [point.text for point in open_points(walk.record) if point.fit == "output-end-play"]
    assert told[0].startswith("output end play is 0.123 mm, the target is"), "0.12 is inside"


def test_a_play_that_was_outside_is_chosen_before_its_old_shims_go_in() -> None:
    """With the piece that was in it would be outside again, and all above it comes off once more."""
    walk = marine()
    walk.do("reading", fit="output-end-play", at="before", values=["0.14", "0.15"], unit="mm")
    walk.take_apart()
    walk.put_in_until("output-shims")
    now = Assembly(walk.record).allowed()

    assert [(each.what, each.fit) for each in now if "output" in f"{each.fit}{each.text}".casefold()] == [
        ("choose", "output-end-play")
    ]
    assert any("was 0.14 mm before the teardown" in words for words in walk.ask("installed", "output-shims").told)
    walk.do("fit_chosen", fit="output-end-play", sizes=["0.50", "0.25"], predicted="0.09")
    assert walk.place("output-shims") in {each.place for each in Assembly(walk.record).allowed()}


def test_what_was_read_out_of_limits_does_not_go_in_before_somebody_decides() -> None:
    """The reading alone condemns nothing; that it goes in all the same has a reason and a name."""
    walk = reducer()
    walk.take_apart()
    walk.do("reading", "planet-1-washer", check=0, at="apart", values=["1.50", "1.31"], unit="mm", verdict="out")

    refused = walk.refused("installed", "planet-1-washer")

    assert "read 1.31 mm, allowed at least 1.35 mm. Allowed now: condemn it, or repair it" in refused
    walk.do("inspected", "planet-1-washer", check=0, verdict="repair")
    assert "is not good" not in walk.refused("installed", "planet-1-washer")


def test_a_play_that_nobody_read_is_ticked_before_what_holds_it_comes_out() -> None:
    """Once by each person: with the bolts tightened again it can be read until the housing is off."""
    walk = reducer()
    walk.take_apart(until="through-bolts")
    asked = [text for text in walk.ask("removed", "through-bolts", ticked=()).unticked if "Not read yet" in text]

    assert ["Not read yet as found: carrier end play. Read it before this comes out"] == asked
    walk.do("removed", "through-bolts", count=12, ticked=asked)
    assert ["through-bolts"] == [place.item.part.id for place in loosened(walk.record, "carrier-end-play")]
    walk.do("reading", fit="carrier-end-play", at="before", values=["0.30", "0.31", "0.30"], unit="mm")
    following = next_out(walk.record)
    assert following is not None
    assert not any("Not read" in text for text in walk.ask("removed", following.part.id, ticked=()).unticked)


def test_the_label_of_a_partly_renewed_place_is_done_when_the_old_pieces_are_in() -> None:
    """Then the rest goes in by the sticker of the new ones."""
    walk = reducer()
    walk.take_apart()
    walk.do("condemned", "planet-1-washer", why="thin", pieces=1)
    walk.do("received", "planet-1-washer", pieces=1)
    walk.do("staged", "planet-1-washer", pieces=1)
    washer = walk.place("planet-1-washer")

    assert not is_used_up(walk.record, walk.record.at(washer))
    walk.do("installed", "planet-1-washer", pieces=5)
    assert is_used_up(walk.record, walk.record.at(washer))


def test_what_is_heavy_is_cautioned_before_it_is_lifted_into_the_washer() -> None:
    """As it is when it is marked clean, and lifted out."""
    walk = marine()
    walk.take_apart()
    load = [walk.place("aft-cover"), walk.place("dipstick")]

    assert ["WARNING: 20 Aft cover: 21.5 kg: hoist only; fingers out of the joint"] == [
        text for text in walk.ask("wash_started", places=load, ticked=()).unticked if "kg" in text
    ]


def test_the_worst_caution_is_asked_first() -> None:
    """Of all that goes into the washer, whatever the order of the parts; the same order when it is taken out."""
    left = "LEFT-HAND thread: turn clockwise to loosen"
    given = ("CAUTION: hot", "Up: lip", left, "WARNING: heavy", "NOTICE: dry it", "CAUTION: hot", "DANGER: falls")
    worst = ("DANGER: falls", "WARNING: heavy", "CAUTION: hot", "NOTICE: dry it")
    assert worst_first(given) == (left, *worst, "Up: lip")

    walk = reducer()
    walk.take_apart()
    load = [walk.place("brake-housing"), walk.place("output-housing")]
    asked = walk.ask("wash_started", places=load, ticked=()).unticked
    of_parts = [text.partition(":")[0] for text in asked if "housing" in text]
    assert ["WARNING", "CAUTION"] == of_parts


def test_what_is_true_of_something_inside_at_every_moment_is_cautioned_wherever_that_is_moved() -> None:
    """A cocked spring goes along; what is done to it alone is cautioned then, and not before."""
    walk = Walk(
        profile_of(
            "format: 1\nunit: {mark: P7, name: Pump, up: drive side}\nparts:\n"
            "  - id: housing\n    name: Housing\n    parts:\n"
            "      - {id: cap, name: Cap, held: {by: screwed}}\n"
            "      - {id: spring, name: Spring, held: {by: behind, part: cap}, hazards: ["
            "{signal: warning, text: Cocked}, {signal: caution, at: removal, text: Flies off}]}\n"
        )
    )

    asked = walk.ask("removed", "housing", ticked=()).unticked
    walk.do("removed", "housing")

    assert ("WARNING: Spring: Cocked",) == tuple(asked)
    assert ("WARNING: Spring: Cocked",) == tuple(walk.ask("installed", "housing", ticked=()).unticked)
    assert not walk.ask("inspected", "housing", verdict="reuse", ticked=()).unticked


def test_a_part_is_as_heavy_wherever_it_is_moved() -> None:
    """What its label says to lift is cautioned at each act that lifts it, also where its own caution is of another."""
    walk = reducer()
    walk.take_apart()
    heavy = [each for each in walk.view.teardown.bins if each.part.lift]
    load = walk.ask("wash_started", places=[each.ordinal for each in heavy], ticked=()).unticked

    assert ["15", "24", "33", "35"] == [each.step for each in heavy]
    for each in heavy:
        (alone,) = (text for text in load if each.name in text)
        assert each.part.lift in alone
        assert alone in walk.ask("washed", each.part.id, ticked=()).unticked, "lifted out again"
        assert any("kg" in text for text in walk.ask("installed", each.part.id, ticked=()).unticked)
    assert ("CAUTION: 15 Brake housing: LIFT 20.5 kg", "WARNING: 33 Output shaft, flange: LIFT 24 kg") == (
        load[3],
        load[1],
    )
    assert not any("LIFT" in text for text in walk.ask("removed", "brake-housing", ticked=()).unticked), (
        "said by its own"
    )
    with speaking("de"):
        assert ("VORSICHT: 15 Brake housing: 20.5 kg HEBEN", "WARNUNG: Brake 19.2 kg") == tuple(
            said(text) for text in (load[3], "WARNING: Brake 19.2 kg")
        )


def test_a_stack_of_which_parts_are_new_is_chosen_before_its_graded_disc_goes_in() -> None:
    """What the old disc was graded for is gone."""
    walk = reducer()
    walk.take_apart()
    walk.do("condemned", "friction-disc", why="worn")
    walk.put_in_until("selective-steel")

    disc = walk.place("selective-steel")
    assert ["choose"] == [each.what for each in Assembly(walk.record).allowed() if each.fit == "brake-stroke"]
    assert disc not in {each.place for each in Assembly(walk.record).allowed()}
    assert any("Friction disc" in words for words in walk.ask("installed", "selective-steel", sizes=["2.5"]).told)


def test_a_stack_goes_in_with_the_size_of_each_piece_that_was_chosen() -> None:
    """An old shim and a new one, of which only the new one was measured as it came: the old one is not forgotten."""
    walk, shims = marine(), "output-shims"
    walk.take_apart()
    walk.do("fit_chosen", fit="output-end-play", sizes=["0.30", "0.15"], predicted="0.09")

    refused = walk.refused("installed", shims, sizes=["0.15"])

    assert "0.30 mm + 0.15 mm was chosen for its fit. Allowed now: say the size of each" in refused
    assert "say the size of each" not in walk.refused("installed", shims, sizes=["0.15", "0.30"])


@pytest.mark.parametrize("part", ["sun-2", "carrier-1", "brake-housing", "sun-1-21", "brake-hub"])
def test_a_part_of_a_group_does_not_wait_for_itself(part: str) -> None:
    """It goes in when its group is built: that is told as one thing, and which of the group comes first."""
    walk = reducer()
    walk.take_apart()
    walk.put_in_until("carrier-1" if part in ("sun-2", "carrier-1") else "brake-housing")
    group = next(each for each in walk.view.order if each.bin.part.id == part).group

    before = Assembly(walk.record).before(walk.bin(part).step)
    refusal = walk.refused("installed", part, new=True)

    assert walk.bin(part).full_name not in [each.text for each in before]
    first = refusal.partition("(they go in together)")[0].partition(": ")[2]
    assert first.endswith(f"first build {group} on the bench ")
    assert f"Allowed now: build {group} on the bench: " in refusal


RETIRED: dict[str, tuple[str, list[tuple[str, dict[str, object]]], bool]] = {
    "laid ready": ("cover-oring", [("staged", {"pieces": 1})], True),
    "laid ready, nobody counted": ("cover-oring", [("staged", {})], True),
    "here, not at its place": ("cover-oring", [("received", {"pieces": 1})], False),
    "two of three": ("plug-rings", [("staged", {"pieces": 2})], False),
    "built into its group": ("hub-circlip", [("staged", {"pieces": 1}), ("joined", {"new": True})], True),
    "the old one is built into its group": ("brake-hub", [("staged", {"pieces": 1}), ("joined", {})], False),
    "in": ("cover-oring", [("installed", {"new": True})], True),
    "the old one is in": ("brake-hub", [("staged", {"pieces": 1}), ("installed", {})], False),
    "some are new": ("cover-screws", [("condemned", {"why": "bent", "pieces": 2}), ("staged", {"pieces": 2})], False),
}


@pytest.mark.parametrize(("part", "acts", "retired"), RETIRED.values(), ids=RETIRED)
def test_the_label_of_a_bin_is_retired_by_new_ones_for_all_that_it_held(
    part: str, acts: list[tuple[str, dict[str, object]]], retired: bool
) -> None:
    """As long as an old piece may go in from the bin, its label counts."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    for kind, fields in acts:
        walk.do(kind, part, **fields)
    assert retired == is_retired(walk.record.at(walk.place(part)))


def test_a_fit_that_somebody_agreed_to_is_not_open_any_more() -> None:
    """Outside its target, or not as predicted: a deviation of the job or of the piece that sets it closes both."""
    for read in ("0.71", "0.56"):
        for place in (None, "end-play-washer"):
            walk = reducer()
            walk.take_apart()
            walk.put_in_until("end-play-washer")
            walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.60"], predicted="0.45")
            walk.do("installed", "end-play-washer", new=True, sizes=["2.60"])
            walk.do("reading", fit="carrier-end-play", at="assembled", values=[read] * 3, unit="mm")
            assert list(fit_points(walk.record, "carrier-end-play"))
            walk.do("deviation", place, what=f"end play {read}", reason="measured twice", agreed="Bo")
            assert [] == list(fit_points(walk.record, "carrier-end-play"))


def test_what_is_in_comes_out_again_after_what_went_in_over_it() -> None:
    """A piece that another size was chosen for is refused while screws and housing are over it; they are named."""
    walk = reducer()
    walk.take_apart()
    for placed in walk.view.order:
        if placed.bin.part.id in ("carrier-bolt", "lock-plate"):
            walk.do("installed", placed.bin.part.id)
    bolt, plate = walk.bin("carrier-bolt"), walk.bin("lock-plate")

    assert f"lies on it or holds it: {bolt.step} {bolt.name}" in walk.ask("removed", "lock-plate").refusal
    walk.do("removed", "carrier-bolt")
    assert walk.ask("removed", "lock-plate").allowed, plate.name
