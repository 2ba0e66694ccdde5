"""Hints say what a valid profile leaves unsaid or gets wrong, why it matters and what to write, at its place."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from labelkit.sheets.hints import RULES, Hint, hints
from labelkit.sheets.hints.recorded import LARGE_PHOTO
from labelkit.sheets.wording import short_name
from tests.hintcases import CASES, parts
from tests.shop import DEMO_UNITS, demo, profile_of

HEAD = "format: 1\nunit: {mark: KR2, name: Demo unit, up: input side, source: x, clock_from: above, twelve: plug}\n"
# Needs a file beside the profile, and has a test of its own.
WITH_A_FILE = {"large-photo"}


def given(text: str, *kinds: str) -> list[Hint]:
    return hints(profile_of(text), {kind: RULES[kind] for kind in kinds or RULES})


def test_every_kind_of_hint_has_a_case() -> None:
    """A rule without a profile that it speaks of, and one that it is silent about, is not in the table."""
    assert set(CASES) | WITH_A_FILE == set(RULES), "each kind has a row in tests/hintcases.py"
    assert len(RULES) >= 20


@pytest.mark.parametrize("kind", CASES)
def test_a_kind_of_hint_tells_its_own_and_nothing_else(kind: str) -> None:
    """Once, where it stands, with its figures, why, and the field to write; put right, nothing is said."""
    case = CASES[kind]
    (hint,) = given(case.profile(), kind)

    assert (hint.kind, hint.problem.path) == (kind, case.path)
    assert case.says in hint.problem.message
    assert re.search(r"\b([Ww]rite|[Cc]orrect|[Mm]easure|count|give|look at|Add) ", hint.problem.message)
    assert str(hint).endswith(f" [{kind}]")
    assert case.profile(right=True) != case.profile()
    assert given(case.profile(right=True), kind) == []


@pytest.mark.parametrize("kind", RULES)
def test_a_rule_says_why_it_matters(kind: str) -> None:
    """In its first line, for whoever asks what a kind in brackets means."""
    assert re.fullmatch(r"[a-z]+(-[a-z]+)+", kind)
    assert (RULES[kind].__doc__ or "").strip().splitlines()[0].endswith(".")


# What nobody says of a good profile: each is right as it stands.
SILENT = {
    "a part that stays inside has no label": (
        parts("id: ring", "id: brg, held: {by: behind, part: ring}, parts: [{id: cage, name: Cage}]"),
        ("not-recorded", "side-not-recorded", "name-cut"),
        1,
    ),
    "look-alikes of two versions never lie on one bench": (
        "options: {o: {name: O, choices: {a: A, b: B}}}\n"
        + parts(
            "id: a, number: A-1, only: {o: a}, form: {bolt: {d: 8, l: 40}}",
            "id: b, number: A-2, only: {o: b}, form: {bolt: {d: 8, l: 41}}",
        ),
        ("look-alikes", "names-alike"),
        0,
    ),
    "one number is one part and may be swapped": (
        parts("id: a, number: A-1, form: {ball: {d: 8}}", "id: b, number: A-1, form: {ball: {d: 8}}"),
        ("look-alikes", "number-shared", "listed-twice"),
        0,
    ),
    "a lock plate lies on the end of a shaft with a small hole": (
        parts(
            "id: plate, form: {ring: {od: 60, id: 17, t: 3}}, sits: {on: shaft}",
            "id: shaft, form: {shaft: {steps: [[50, 40], [60, 40]]}}",
        ),
        ("bore-too-small", "screw-through-ring"),
        0,
    ),
    "a rule lets in what the lid would shut out, and a lid with a wide hole shuts nothing out": (
        "assembly: [{first: washer, then: lid}]\n"
        + parts(
            "id: washer, form: {ring: {od: 60, id: 20, t: 5}}, sits: {on: drum}",
            "id: small, form: {ring: {od: 30, id: 20, t: 5}}, sits: {on: drum}",
            "id: lid, form: {ring: {od: 80, id: 32, t: 5}}, sits: {on: drum}",
            "id: drum, form: {drum: {od: 80, h: 40, wall: 8, floor: 10}}, sits: {opens: up}",
        ),
        ("shut-in",),
        0,
    ),
    "a bearing goes round a hub": (
        parts(
            "id: brg, form: {ball_bearing: {id: 80, od: 140, w: 26}}, sits: {on: hub}",
            "id: hub, form: {hub: {od: 80, h: 40, bore: 40}}",
        ),
        ("outside-too-large",),
        0,
    ),
    "a ring of the heavy row and a graded ring have a thickness of their own": (
        "series: {s: {sizes: ['2.5']}}\nparts:\n"
        "- {id: a, name: Heavy circlip, form: {snap_ring: {fits: shaft, d: 40, t: '2.5'}}}\n"
        "- {id: b, name: Ring, series: s, form: {snap_ring: {fits: shaft, d: 40, t: '2.5'}}}\n",
        ("ring-thickness",),
        0,
    ),
    # Common practice, no source: thin shims rise unevenly, and three of them make every twentieth up to the thickest.
    "shims in stacks are graded unevenly by intention, and reach every play": (
        "series: {s: {sizes: ['0.10', '0.15', '0.20', '0.30', '0.50'], pieces: 3, tol: '0.005'}}\n"
        "fits: {p: {kind: end_play, target: ['0.05', '0.10'], set_by: a, thicker: reduces}}\n"
        + parts("id: a, qty: set, series: s, form: {ring: {od: 71, id: 58, t: '0.45'}}"),
        ("series-too-coarse", "size-left-out", "size-not-in-series", "tolerance-missing"),
        0,
    ),
    # A public manual prints rings of 0.060, 0.074, 0.088 and 0.106 in: 14, 14 and 18 thousandths; one more 14 here.
    "a last step that is no multiple of the others was made so": (
        "series: {s: {sizes: ['0.060', '0.074', '0.088', '0.102', '0.120']}}\n" + parts("id: a, series: s"),
        ("size-left-out",),
        0,
    ),
    "the snug torque before an angle may be small": (
        parts("id: a, one_time: true, form: {bolt: {d: 12, l: 80}}, fasten: {torque: 10, angle: 120}"),
        ("torque-unlikely", "stretched-again"),
        0,
    ),
    "a nut that sets a preload is not tightened to a torque": (
        "fits: {p: {kind: preload, unit: N·m, target: [2, 4], chain: [a]}}\n" + parts("id: a, form: {nut: {d: 75}}"),
        ("torque-missing",),
        0,
    ),
    "the caution of a spring may stand at the ball that it throws": (
        parts(
            "id: ball, sits: {on: a}, hazards: [{signal: caution, text: It throws the ball}]",
            "id: a, form: {coil_spring: {od: 8, wire: 1, length: 24, coils: 8}}",
        ),
        ("spring-without-caution",),
        0,
    ),
    "a shaft end with a left-hand thread is no left-hand screw": (
        parts("id: a, form: {shaft: {steps: [[28, 30]]}}, sits: {up: left-hand thread}"),
        ("left-hand-unmarked",),
        0,
    ),
    "what came out with the part it lies on goes in after it": (
        parts("id: plug, sits: {on: ring}", "id: ring, out: {with: plug}"),
        ("comes-with",),
        0,
    ),
    "a thin casting and a plastic ring are light": (
        parts(
            "id: a, mass: 36, form: {block: {l: 420, w: 330, h: 240}}",
            "id: b, mass: 4 g, form: {ring: {od: 142, id: '132.6', t: '1.7'}}",
        ),
        ("mass-unlikely",),
        0,
    ),
}


@pytest.mark.parametrize("promise", SILENT)
def test_what_is_right_gives_no_hint(promise: str) -> None:
    """A mechanic reads hints only as long as they are right."""
    text, kinds, count = SILENT[promise]

    assert len(given(HEAD + text, *kinds)) == count


def test_what_is_not_recorded_of_a_part_is_one_hint() -> None:
    """Form, way, clock and mass, as far as they are missing, with what to write for each; free is recorded."""
    known = "form: {ball: {d: 8}}, mass: 1, sits: {up: free, clock: free}"
    first, last = given(HEAD + parts("id: a", f"id: b, {known}", "id: c, mass: 2, sits: {up: x}"), "not-recorded")

    assert str(first).startswith("test.yaml:4:3: parts[0]: hint: not recorded of a: kind and sizes (no drawing, ")
    assert all(word in str(first) for word in ("which way up", "clock position", "mass (", "; write form: {"))
    assert str(first).count("sits: {") == 1
    assert 'sits: {up: ground face, clock: "6:00"}, or free where any is right; mass: "0.04" [not-rec' in str(first)
    assert ("clock position" in str(last), "which way up" in str(last), "mass" in str(last)) == (True, False, False)


def test_a_name_that_labels_cut_is_shown_as_it_prints() -> None:
    """Twenty-four letters are whole, more need a short."""
    text = f"{HEAD}parts:\n- {{id: a, name: Shims behind the astern cup}}\n- {{id: b, name: {'x' * 24}}}\n"
    printed = short_name(profile_of(text).profile.parts[0])
    (hint,) = given(text, "name-cut")

    assert printed.endswith("…")
    assert f'labels print "{printed}"; give the part a short' in str(hint)


def test_a_photo_as_the_camera_took_it_is_told(tmp_path: Path) -> None:
    """By the size of its file, above four megabytes."""
    (tmp_path / "a.jpg").write_bytes(b"x" * LARGE_PHOTO)
    (tmp_path / "b.jpg").write_bytes(b"x" * (LARGE_PHOTO + 1))
    loaded = profile_of(HEAD + parts("id: a, photo: a.jpg", "id: b, photo: b.jpg"), tmp_path)
    (hint,) = hints(loaded, {"large-photo": RULES["large-photo"]})

    assert hint.problem.path == "parts[1].photo"


def test_masses_are_compared_in_the_unit_of_the_profile() -> None:
    """A figure in lb beside one in kg is compared by nobody."""
    head = HEAD.replace("up: ", "masses: lb, up: ")
    inside = "id: a, mass: 2, parts: [{id: b, name: B, mass: 3}, {id: c, name: C, mass: '0.01', form: {ball: {d: 80}}}]"
    heavy = "assembly: [{join: [d, e], because: x}]\n" + parts("id: d, mass: 60", "id: e, mass: 30")
    kinds = ("mass-unlikely", "mass-below-parts", "heavy-without-caution", "group-without-caution")
    found = [hint.problem.message for text in (parts(inside), heavy) for hint in given(head + text, *kinds)]

    # 80 mm: 268 cm3, 4.7 lb of steel; the load constant of NIOSH is 23 kg, 51 lb.
    assert len(found) == 4
    assert not any(" kg" in message for message in found)
    assert "a has 2 lb, and its parts alone 3.01 lb" in found[0]
    assert "weighs 60 lb; above 50.7 lb nobody lifts alone" in found[3]


def test_what_is_used_once_is_not_called_always_renewed() -> None:
    """Two hints of one part that say the contrary of each other help nobody."""
    found = [hint.problem.message for hint in given(HEAD + parts("id: a, renew: never, one_time: true"))]
    told = [message for message in found if "used once" in message]

    assert len(told) == 2
    assert any("a is used once only and has no number to order it by; write number: KR2-1107" in m for m in told)
    assert not any("always renewed" in message for message in told)


def test_an_angle_counts_from_a_torque() -> None:
    """Without it the torque sheet says NOT RECORDED, whatever the form is."""
    text = HEAD + parts("id: a, form: {bolt: {d: 12, l: 40}}, fasten: {angle: 60}", "id: b, fasten: {oiled: true}")
    first, last = given(text, "torque-missing")

    assert first.problem.path == "parts[0].fasten"
    assert "recorded of a, from which its 60 degrees count: " in first.problem.message
    assert "write fasten: {torque: 25, angle: 60}" in first.problem.message
    assert "no torque is recorded of b: " in last.problem.message


def test_each_kind_of_bare_figure_is_told_by_itself() -> None:
    """Lengths, also of a check; masses; not what says its unit itself, as a fit in N·m, nor degrees."""
    fits = "fits: {p: {kind: preload, unit: N·m, target: [2, 4]}}\n"
    a = "id: a, mass: 2, check: [{measure: wear, max: 1}], fasten: {angle: 60}, form: {ball: {d: 8 mm}}"
    told = [(hint.problem.path, hint.problem.message[:9]) for hint in given(HEAD + fits + parts(a), "unit-not-stated")]

    assert told == [("parts[0].mass", "hint: 2 w"), ("parts[0].check[0].max", "hint: 1 w")]


def test_dimensions_are_compared_in_every_version() -> None:
    """The wrong washer is there with one choice only, and with the default it is not; it is told once."""
    ring = "form: {{ring: {{od: {od}, id: 20, t: 5}}}}, sits: {{on: b}}"
    text = "options: {o: {name: O, choices: {plain: P, grooved: G}}}\n" + parts(
        f"id: a, only: {{o: grooved}}, {ring.format(od=34)}",
        f"id: c, {ring.format(od=44)}",
        "id: b, form: {drum: {od: 80, h: 40, wall: 8, floor: 10, bore: 36}}, sits: {opens: up}",
    )

    assert [hint.problem.path for hint in given(HEAD + text, "seats-disagree")] == ["parts[0].sits.on"]


def test_sixty_parts_on_one_seat_are_one_hint() -> None:
    """At the first that finds its place taken."""
    ring = "form: {ring: {od: 44, id: 20, t: 5}}, sits: {on: b}"
    drum = "id: b, form: {drum: {od: 80, h: 40, wall: 8, floor: 10, bore: 36}}, sits: {opens: up}"
    (hint,) = given(HEAD + parts(*(f"id: w{k}, {ring}" for k in range(60)), drum), "seats-disagree")

    assert "w59 and w58, w57, and 57 more lie on b at one place, between radius 18 and 22" in str(hint)


def test_hints_stand_in_the_order_of_the_file() -> None:
    """By line and column, whichever rule gave them; one of a table stands at its name."""
    text = "tools:\n  puller: Puller\nseries:\n  s: {sizes: [1, 2]}\n" + parts("id: b, renew: always", "id: a")
    found = given(HEAD + text)
    places = [(hint.problem.line, hint.problem.column) for hint in found]

    assert places == sorted(places)
    assert [(h.kind, *p) for h, p in zip(found, places, strict=True) if h.kind == "never-used"] == [
        ("never-used", 4, 3),
        ("never-used", 6, 3),
    ]


# In both units somebody did not look; their files say so beside the part.
@pytest.mark.parametrize(
    ("unit", "left"),
    [
        (DEMO_UNITS[0], {("side-not-recorded", "extension-screws"), ("not-recorded", "tab-washer")}),
        (DEMO_UNITS[1], {("not-recorded", "coupling-lock")}),
    ],
)
def test_the_demo_units_leave_only_unsaid_what_was_not_recorded(unit: str, left: set[tuple[str, str]]) -> None:
    """No rule says anything else of a finished profile: what it says a mechanic would find nonsense."""
    found = hints(demo(unit))

    assert {(hint.kind, name) for hint in found for _, name in left if name in hint.problem.message} == left
    assert len(found) == len(left)
