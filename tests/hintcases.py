"""One wrong profile for each kind of hint, and the one change that puts it right."""

from __future__ import annotations

from typing import Final, NamedTuple


class Case(NamedTuple):
    """A profile that gives one hint of a kind.

    Attributes:
        path: where the hint stands.
        says: words of it: what is wrong, with the figures of the profile.
        text: what follows the header.
        change: what of the text is replaced by what, so that the hint is gone.
        header: what else the header says; None: nothing of source, clock and mass.
    """

    path: str
    says: str
    text: str
    change: tuple[str, str]
    header: str | None = "source: shop notes, clock_from: above, twelve: plug"

    def profile(self, *, right: bool = False) -> str:
        """Return the profile, wrong or put right."""
        more = f", {self.header}" if self.header else ""
        whole = f"format: 1\nunit: {{mark: KR2, name: Demo unit, up: input side{more}}}\n{self.text}"
        return whole.replace(*self.change) if right else whole


def parts(*entries: str) -> str:
    """Return the parts of a profile; each entry is what stands in its braces after the name."""
    return "parts:\n" + "".join(f"- {{name: Part, {entry}}}\n" for entry in entries)


SHAFT = "id: shaft, form: {shaft: {steps: [[40, 50], [50, 80], [40, 30]]}}"
BRG = "id: brg, form: {ball_bearing: {id: 50, od: 90, w: 20}}"
SHIM = "id: shim, series: s, form: {ring: {od: 40, id: 30, t: '2.00'}}"
SIZES = "series: {s: {sizes: ['2.00', '2.10', '2.20', '2.30'], tol: '0.01'}}\n"
PLAY = "fits: {play: {kind: end_play, target: ['0.10', '0.20'], set_by: shim, thicker: reduces, seat: [push]}}\n"
KEPT = "check: [{measure: thickness, keep: true}]"
PACK = (
    "parts:\n- id: pack\n  name: Pack\n  form: {steel_plate: {od: 140, id: 90, t: '14.0', lugs: 6}}\n"
    "  stack: [s, f, s, f, s]\n  stack_from: piston\n  parts:\n"
    "  - {id: s, name: Steel, qty: 3, form: {steel_plate: {od: 140, id: 96, t: '3.0', lugs: 6}}}\n"
    "  - {id: f, name: Friction, qty: 2, form: {friction_plate: {od: 132, id: 90, t: '2.5', teeth: 36}}}\n"
)
OPTION = "options: {o: {name: Output, tell: look, choices: {a: A, b: B}}}\n"
BOLTS = "id: bolts, qty: 6, form: {bolt: {d: 12, l: 40}}"

CASES: Final[dict[str, Case]] = {
    # --- what is not written down
    "not-recorded": Case(
        "parts[0]",
        "mass (nobody knows what its tray weighs); write mass:",
        parts("id: a, form: {ball: {d: 8}}, sits: {up: free, clock: free}"),
        ("{ball: {d: 8}}", "{ball: {d: 8}}, mass: '0.002'"),
    ),
    "side-not-recorded": Case(
        "parts[0]",
        "for where its LIP points",
        parts("id: seal, form: {lip_seal: {id: 45, od: 62, w: 8}}, sits: {clock: free}"),
        ("clock: free", "opens: up"),
    ),
    "end-not-recorded": Case(
        "parts[0].sits.up",
        '"arrow" is up, but the drawing of pump cannot show',
        parts("id: pump, form: {drum: {od: 80, h: 40, wall: 8}}, sits: {up: arrow}"),
        ("up: arrow", "up: arrow, opens: down"),
    ),
    "way-for-a-face": Case(
        "parts[0].sits.up",
        'labels print "LIP DOWN"; write up: the face that is up, as in up: ground face, and opens: up for LIP UP',
        parts("id: seal, form: {lip_seal: {id: 45, od: 62, w: 8}}, sits: {up: lip down}"),
        ("up: lip down", "up: flat back, opens: down"),
    ),
    "name-cut": Case(
        "parts[0].name",
        "the name has 27 letters",
        "parts:\n- {id: a, name: Shims behind the astern cup}\n",
        ("id: a,", "id: a, short: Shims astern,"),
    ),
    "names-alike": Case(
        "parts[1].name",
        'labels print "Part" for a and for b',
        parts("id: a", "id: b"),
        ("id: b", "id: b, short: Other"),
    ),
    "clock-without-frame": Case(
        "unit",
        "read from the other end it is mirrored",
        parts("id: a, sits: {clock: '5:00'}"),
        ("clock_from", "twelve: plug, clock_from"),
        header="clock_from: above",
    ),
    "version-untold": Case(
        "options.o",
        "how to tell a from b",
        OPTION.replace("tell: look, ", "") + parts("id: a, only: {o: a}"),
        ("name: Output", "name: Output, tell: look at it"),
    ),
    "unit-not-stated": Case(
        "parts[0].fasten.torque",
        "40 and 1 more without a unit, and the header does not say which: read as 40 N·m; write torques: in unit:",
        parts("id: a, fasten: {torque: 40}", "id: b, fasten: {torque: 25 lb-ft}", "id: c, fasten: {torque: 40.0}"),
        ("up: input side", "torques: lb-ft, up: input side"),
    ),
    "limits-without-source": Case(
        "unit",
        "1 limit without a source",
        parts("id: a, check: [{measure: wear, max: '0.2', else: replace}]"),
        ("up: input side", "up: input side, source: shop notes"),
        header=None,
    ),
    "measured-for-nothing": Case(
        "parts[0].check[0]",
        "wear of a is measured",
        parts("id: a, check: [{measure: wear}]"),
        ("measure: wear", "measure: wear, keep: true"),
    ),
    "no-verdict": Case(
        "parts[0].check[0]",
        "wear of a has a limit",
        parts("id: a, check: [{measure: wear, max: '0.2'}]"),
        ("max: '0.2'", "max: '0.2', else: replace"),
    ),
    "places-not-asked": Case(
        "parts[0].check[0]",
        "not those of 3 places",
        parts("id: a, check: [{measure: wear at 3 places, keep: true}]"),
        ("keep: true", "keep: true, readings: 3"),
    ),
    # --- parts that are taken for each other
    "look-alikes": Case(
        "parts[1]",
        "b and a differ by less than 10 % in size",
        parts(
            "id: a, number: A-1, form: {bolt: {d: 8, l: 40}}",
            "id: b, number: A-2, form: {bolt: {d: 8, l: 43}}",
        ),
        ("l: 43}}", "l: 45}}"),
    ),
    "look-alike-untold": Case(
        "parts[0].look_alike[0]",
        "easily taken for b",
        parts("id: a, look_alike: [{part: b}]", "id: b"),
        ("{part: b}", "{part: b, tell: two grooves}"),
    ),
    "look-alike-one-way": Case(
        "parts[0].look_alike[0]",
        "that of b says nothing",
        parts("id: a, look_alike: [{part: b}]", "id: b"),
        ("id: b}", "id: b, look_alike: [{part: a}]}"),
    ),
    "pair-one-way": Case(
        "parts[0].pair[0]",
        "that of b says nothing",
        parts("id: a, pair: [b]", "id: b"),
        ("id: b}", "id: b, pair: [a]}"),
    ),
    "number-shared": Case(
        "parts[1].number",
        "(ring od 40 mm id 30 mm t 2 mm) and of b",
        parts(
            "id: a, number: N-1, form: {ring: {od: 40, id: 30, t: 2}}",
            "id: b, number: N-1, form: {ring: {od: 42, id: 30, t: 2}}",
        ),
        ("od: 42", "od: '40.0'"),
    ),
    "pack-differs": Case(
        "parts[1].number",
        "pack: 5 at a and pack: not recorded at b",
        parts("id: a, number: N-1, pack: 5", "id: b, number: N-1"),
        ("id: b,", "id: b, pack: 5,"),
    ),
    "listed-twice": Case(
        "parts[2]",
        "Write it once with qty: 5",
        parts(
            "id: base", "id: a, number: N-1, qty: 2, sits: {on: base}", "id: b, number: N-1, qty: 3, sits: {on: base}"
        ),
        ("qty: 3, sits: {on: base}", "qty: 3, sits: {on: base, clock: '6:00'}"),
    ),
    # --- sizes of two parts
    "seats-disagree": Case(
        "parts[0].sits.on",
        "a (od 34, id 20, t 5) finds no face of b",
        parts(
            "id: a, form: {ring: {od: 34, id: 20, t: 5}}, sits: {on: b}",
            "id: b, form: {drum: {od: 80, h: 40, wall: 8, floor: 10, bore: 36}}, sits: {opens: up}",
        ),
        ("od: 34", "od: 40"),
    ),
    "shut-in": Case(
        "parts[0].sits.on",
        "washer lies inside drum, and lid, which closes it, goes in before",
        parts(
            "id: washer, form: {ring: {od: 60, id: 20, t: 5}}, sits: {on: drum}",
            "id: lid, form: {ring: {od: 80, id: 20, t: 5}}, sits: {on: drum}",
            "id: drum, form: {drum: {od: 80, h: 40, wall: 8, floor: 10}}, sits: {opens: up}",
        ),
        ("sits: {opens: up}", "sits: {opens: down}"),
    ),
    # DIN 471:2011 (read in an open table): shaft 50, s 2.0, groove 47 x 2.15.
    "ring-thickness": Case(
        "parts[0].form",
        "DIN 471 makes the ring for a shaft of 50 mm 2 mm thick, for a groove of 2.15 mm; this one of 2.5 mm does not",
        parts("id: ring, form: {snap_ring: {fits: shaft, d: 50, t: '2.5'}}"),
        ("'2.5'", "'2.0'"),
    ),
    # DIN 472:2011 (read in an open table): bore 80, groove 83.5; a bearing of 90 does not pass through 80.
    "ring-other-size": Case(
        "parts[0].form",
        "the ring for a bore of 80 mm",
        parts("id: ring, form: {snap_ring: {fits: bore, d: 80, t: '2.5'}}, sits: {on: brg}", BRG),
        ("d: 80, t: '2.5'", "d: 90, t: '3.0'"),
    ),
    "ring-without-groove": Case(
        "parts[0].form",
        "no step of shaft (40, 50, 40) is 45 mm",
        parts(
            "id: ring, form: {snap_ring: {fits: shaft, d: 45, t: '1.75'}}, sits: {on: brg}",
            BRG + ", sits: {on: shaft}",
            SHAFT,
        ),
        ("d: 45", "d: 40"),
    ),
    "bore-too-small": Case(
        "parts[0].form",
        "gear has a bore of 38 mm and goes over neither end of shaft",
        parts("id: gear, form: {gear: {teeth: 30, module: 3, width: 20, bore: 38}}, sits: {on: shaft}", SHAFT),
        ("bore: 38", "bore: 40"),
    ),
    "outside-too-large": Case(
        "parts[0].form",
        "cup is 125 mm outside and cannot sit in housing",
        parts(
            "id: cup, form: {taper_cup: {id: 106, od: 125, w: 22}}, sits: {on: housing}",
            "id: housing, form: {drum: {od: 120, h: 80, wall: 10}}",
        ),
        ("od: 120", "od: 180"),
    ),
    "cone-and-cup": Case(
        "parts[0].form",
        "cone is 125 mm over its rollers",
        parts(
            "id: cone, pair: [cup], form: {taper_cone: {id: 80, od: 125, w: 29}}",
            "id: cup, form: {taper_cup: {id: 106, od: 125, w: 22}}",
        ),
        ("{id: 80, od: 125", "{id: 80, od: 110"),
    ),
    "module-differs": Case(
        "parts[0].form",
        "a has module 2.5 mm and b, with which it is matched, 3 mm",
        parts(
            "id: a, pair: [b], form: {gear: {teeth: 30, module: '2.5', width: 20, bore: 20}}",
            "id: b, pair: [a], form: {gear: {teeth: 40, module: 3, width: 20, bore: 20}}",
        ),
        ("module: 3", "module: '2.50'"),
    ),
    "screw-through-ring": Case(
        "parts[1].form",
        "washer has a hole of 10 mm; bolt of 12 mm does not pass",
        parts(
            "id: bolt, form: {bolt: {d: 12, l: 40}}, sits: {on: washer}",
            "id: washer, form: {ring: {od: 24, id: 10, t: 2}}",
        ),
        ("id: 10", "id: 13"),
    ),
    "screw-too-short": Case(
        "parts[0].form",
        "bolts is 20 mm long and goes through a flange of 17 mm",
        parts(
            "id: bolts, qty: 6, form: {bolt: {d: 12, l: 20}}, sits: {on: cover}",
            "id: cover, form: {hub: {od: 140, h: 42, bore: 62, flange_od: 250, flange_t: 17}}",
        ),
        ("l: 20", "l: 35"),
    ),
    # DIN 6885-1 (read in an open table): shafts of 40 and 44 take 12 x 8, of 50 14 x 9.
    "key-off-standard": Case(
        "parts[0].form",
        "no step of shaft takes a key 10 mm wide",
        parts("id: key, form: {key: {b: 10, h: 8, l: 40}}, sits: {on: shaft}", SHAFT),
        ("{b: 10, h: 8", "{b: 14, h: 9"),
    ),
    "key-too-long": Case(
        "parts[0].form",
        "key is 90 mm long and lies on shaft, whose longest step is 80 mm",
        parts("id: key, form: {key: {b: 14, h: 9, l: 90}}, sits: {on: shaft}", SHAFT),
        ("l: 90", "l: 80"),
    ),
    "o-ring-too-large": Case(
        "parts[0].form",
        "ring is 180 mm inside and lies on piston, 170 mm at most",
        parts(
            "id: ring, form: {o_ring: {id: 180, section: '5.3'}}, sits: {on: piston}",
            "id: piston, form: {piston: {od: 170, id: 96, h: 40}}",
        ),
        ("id: 180", "id: 160"),
    ),
    # --- sizes and masses of one part
    # ISO 4762 M12 x 35: 48 g in handbook tables (from memory); 48 kg is a gram too many zeros.
    "name-sizes-differ": Case(
        "parts[0].form",
        "the name of a says 40 x 52 x 7, its form 28 x 40 x 7 (id x od x w)",
        "parts:\n- {id: a, name: Shaft seal 40 x 52 x 7, form: {lip_seal: {id: 28, od: 40, w: 7}}}\n",
        ("seal 40 x 52", "seal 28 x 40"),
    ),
    "mass-unlikely": Case(
        "parts[0].mass",
        "48 kg is too heavy for the form of a",
        parts("id: a, mass: 48, form: {bolt: {d: 12, l: 35, head: socket}}"),
        ("mass: 48", "mass: 48 g"),
    ),
    "mass-below-parts": Case(
        "parts[0].mass",
        "a has 2 kg, and its parts alone 3.6 kg",
        "parts:\n- {id: a, name: A, mass: 2, parts: [{id: b, name: B, qty: 3, mass: '1.2'}]}\n",
        ("mass: 2", "mass: '3.5'"),
    ),
    "spring-solid": Case(
        "parts[0].form",
        "12 coils of 4 mm are 48 mm, and a is 46 mm long",
        parts("id: a, form: {coil_spring: {od: 22, wire: 4, length: 46, coils: 12}}"),
        ("coils: 12", "coils: '7.5'"),
    ),
    "pack-height": Case("parts[0].form", "pack is 16.0 mm high", PACK.replace("'14.0'", "'16.0'"), ("16.0", "14.0")),
    "plates-differ": Case(
        "parts[0].parts[1].form",
        "f (90 mm to 132 mm) and s (133 mm to 140 mm) do not overlap",
        PACK.replace("id: 96", "id: 133"),
        ("id: 133", "id: 96"),
    ),
    "each-differs": Case(
        "parts[0].check[0].each",
        "end play is asked for 4 times, and there are 3 of a",
        parts(
            "id: a, form: {carrier: {od: 176, h: 52, planets: 3, planet_od: 70}}, check: [{measure: end play, each: 4}]"
        ),
        ("each: 4", "each: 3"),
    ),
    "limit-refuses-new": Case(
        "parts[0].check[0].min",
        "f is 2.50 mm by its form, and min: 2.60 mm would condemn a new one",
        parts(
            "id: f, form: {friction_plate: {od: 132, id: 92, t: '2.50', teeth: 36}}, "
            "check: [{measure: thickness at 3 places, min: '2.60', else: replace}]"
        ),
        ("'2.60'", "'2.20'"),
    ),
    # --- fits and series
    "fit-not-set": Case(
        "fits.play",
        "nothing sets play",
        PLAY.replace("set_by: shim, thicker: reduces, ", "") + parts("id: shim"),
        ("seat:", "set_by: shim, thicker: reduces, seat:"),
    ),
    "sign-missing": Case(
        "fits.play",
        "what a thicker shim does to play",
        PLAY.replace("thicker: reduces, ", "") + SIZES + parts(SHIM),
        ("seat:", "thicker: increases, seat:"),
    ),
    "series-missing": Case(
        "fits.play.set_by",
        "shim sets play and has no series",
        PLAY + SIZES + parts("id: shim"),
        ("id: shim", "id: shim, series: s"),
    ),
    "pieces-missing": Case(
        "series.s.pieces",
        "3 shim lie together, and a choice from the series takes 1",
        PLAY + SIZES + parts(f"{SHIM}, qty: 3"),
        ("tol: '0.01'}", "tol: '0.01', pieces: 3}"),
    ),
    "setter-not-measured": Case(
        "fits.play.set_by",
        "no check that measures it is kept for the sum, which starts from the thickness that was in; write keep: true",
        PLAY + SIZES + parts(f"{SHIM}, {KEPT}".replace(", keep: true", "")),
        ("thickness}", "thickness, keep: true}"),
    ),
    # Steps of 0.10 in a target 0.10 wide always do; one of 0.15 leaves readings without an answer: s_max <= hi - lo.
    "series-too-coarse": Case(
        "fits.play.target",
        "the target is 0.10 mm wide, and from 2.20 to 2.35 mm the series s has no size",
        PLAY + SIZES.replace("2.30", "2.35") + parts(SHIM),
        ("2.35", "2.30"),
    ),
    "tolerance-missing": Case(
        "series.s",
        "s has no tolerance: the choice of shim",
        PLAY + SIZES.replace(", tol: '0.01'", "") + parts(SHIM),
        ("'2.30']", "'2.30'], tol: '0.01'"),
    ),
    "size-left-out": Case(
        "series.s",
        "from 2.30 to 2.50 mm: is 2.40 left out?",
        SIZES.replace("'2.30'", "'2.30', '2.50', '2.60'") + parts(SHIM),
        ("'2.30'", "'2.30', '2.40'"),
    ),
    "size-not-in-series": Case(
        "parts[0].form",
        "shim is 2.05 mm thick, and its series s has no such size",
        SIZES + parts(SHIM.replace("2.00", "2.05")),
        ("t: '2.05'", "t: '2.1'"),
    ),
    "size-without-number": Case(
        "series.s.numbers",
        "s has no number for 2.20 and 2.30",
        SIZES.replace("tol:", "numbers: {'2.00': A-1, '2.10': A-2}, tol:") + parts(SHIM),
        ("'2.10': A-2", "'2.10': A-2, '2.20': A-3, '2.30': A-4"),
    ),
    "series-without-fit": Case(
        "parts[0].series",
        "no fit says which is right",
        SIZES + parts(SHIM),
        ("series: {s:", PLAY + "series: {s:"),
    ),
    # 19.22 less 2 x 4.5 and 2 x 2.5 leaves 5.22; 17.72 leaves 3.72, and 2.00 of it 1.72 (sums by hand).
    "stack-out-of-target": Case(
        "fits.gap.depth",
        "leaves 5.22 mm, and with last from 2.00 to 2.30 mm the clearance is 2.92 to 3.22 mm",
        SIZES + "fits: {gap: {kind: stack, depth: '19.22', of: pack, set_by: last, target: ['1.40', '1.80']}}\n"
        "parts:\n- id: pack\n  name: Pack\n  stack: [s, f, s, f, last]\n  parts:\n"
        "  - {id: s, name: S, qty: 2, form: {steel_plate: {od: 140, id: 96, t: '4.5', lugs: 6}}}\n"
        "  - {id: f, name: F, qty: 2, form: {friction_plate: {od: 132, id: 90, t: '2.5', teeth: 36}}}\n"
        "  - {id: last, name: L, series: s, form: {steel_plate: {od: 140, id: 96, t: '2.0', lugs: 6}}}\n",
        ("19.22", "17.72"),
    ),
    "wave-state-missing": Case(
        "fits.gap",
        "whether w is free or pressed flat",
        "fits: {gap: {kind: clearance, chain: [w], target: ['1.40', '1.80']}}\n"
        + parts("id: w, form: {wave_spring: {od: 90, id: 80, t: 1, h: 3, waves: 3}}"),
        ("chain:", "state: wave flat, chain:"),
    ),
    "spread-too-wide": Case(
        "fits.play.spread",
        "may differ by 0.10 mm, and its target is 0.10 wide",
        PLAY.replace("seat:", "spread: '0.10', seat:") + parts("id: shim"),
        ("spread: '0.10'", "spread: '0.02'"),
    ),
    "fit-not-seated": Case(
        "fits.play",
        "before play is read",
        PLAY.replace(", seat: [push]", "") + parts("id: shim"),
        ("thicker: reduces", "thicker: reduces, seat: [push]"),
    ),
    # --- order
    "not-always-there": Case(
        "parts[0].sits.on",
        "pad is not there with o = b",
        OPTION + parts("id: a, sits: {on: pad}", "id: pad, only: {o: a}"),
        ("only: {o: a}", "only: {o: [a, b]}"),
    ),
    "comes-with": Case(
        "parts[1].out.with",
        "circlip comes out with carrier, and nothing says how the two go in",
        parts("id: carrier", "id: circlip, out: {with: carrier}"),
        ("id: circlip", "id: circlip, carried_by: carrier"),
    ),
    "ring-holds-nothing": Case(
        "parts[0]",
        "nothing says what ring holds",
        parts("id: ring, form: {snap_ring: {fits: shaft, d: 50, t: 2}}", BRG),
        ("id: brg", "id: brg, held: {by: ring, part: ring}"),
    ),
    "number-missing": Case(
        "parts[0]",
        "a is always renewed and has no number to order it by; write number: KR2-1107, or its own",
        parts("id: a, renew: always"),
        ("renew: always", "renew: always, number: A-1"),
    ),
    "seal-reused": Case(
        "parts[0].renew",
        "a seals or locks by being squeezed or bent",
        "parts:\n- {id: a, name: Lock plate 60 x 3, renew: if_worn}\n",
        ("renew: if_worn", "renew: always"),
    ),
    "old-one-accepted": Case(
        "parts[0].renew",
        "the old one is not refused",
        parts("id: a, renew: always"),
        ("renew: always", "renew: always, one_time: true"),
    ),
    "one-time-not-renewed": Case(
        "parts[0].renew",
        "a new one is ordered, and cards say renew: if_worn as well",
        parts("id: a, one_time: true, renew: if_worn"),
        ("if_worn", "always"),
    ),
    "renewed-in-a-ring": Case(
        "parts[0].renew",
        "a with b with a",
        parts("id: a, renew: {with: b}", "id: b, renew: {with: a}"),
        ("renew: {with: a}", "renew: if_worn"),
    ),
    "stack-missing": Case(
        "parts[0]",
        "the order of the plates of pack is not recorded",
        PACK.replace("  stack: [s, f, s, f, s]\n", ""),
        ("  stack_from", "  stack: [s, f, s, f, s]\n  stack_from"),
    ),
    "stack-start-missing": Case(
        "parts[0].stack",
        "at which end the stack of pack begins",
        PACK.replace("  stack_from: piston\n", ""),
        ("  stack:", "  stack_from: piston\n  stack:"),
    ),
    "rule-unexplained": Case(
        "assembly[0]",
        "a before b: the bench refuses",
        "assembly: [{first: a, then: b}]\n" + parts("id: a", "id: b"),
        ("then: b", "then: b, because: hidden"),
    ),
    "rule-overruled": Case(
        "assembly[0]",
        "gear before shaft is not kept: what lies on what (sits.on), or is held by it, says shaft before gear",
        parts("id: gear, sits: {on: shaft}", "id: shaft")
        + "assembly:\n- {first: gear, then: shaft, because: so}\n- {join: [shaft, gear], because: so}\n",
        ("first: gear, then: shaft", "first: shaft, then: gear"),
    ),
    "rule-idle": Case(
        "assembly[0]",
        "a and b are never there together",
        OPTION + "assembly: [{first: a, then: b}]\n" + parts("id: a, only: {o: a}", "id: b, only: {o: b}"),
        ("only: {o: b}", "only: {o: [a, b]}"),
    ),
    "version-unused": Case(
        "options.o",
        "with a and b the same parts are there",
        OPTION + parts("id: x"),
        ("id: x", "id: x, only: {o: a}"),
    ),
    "never-used": Case(
        "tools.puller",
        "nothing names puller",
        "tools: {puller: Puller}\n" + parts("id: a"),
        ("id: a", "id: a, out: {tool: puller}"),
    ),
    # --- work
    "torque-missing": Case(
        "parts[0]",
        "no torque is recorded of bolts",
        parts(BOLTS),
        ("id: bolts", "id: bolts, fasten: {torque: 85}"),
    ),
    # M12, class 8.8: 84 N·m dry in handbook tables (from memory), 440 MPa by T = K x D x F; 84 lbf·ft would be 114 N·m,
    # twelve times 84 N·m stretch any screw.
    "torque-unlikely": Case(
        "parts[0].fasten.torque",
        "more than the strongest screws bear (970 MPa, class 12.9 by ISO 898-1)",
        parts(BOLTS + ", fasten: {torque: 1008}"),
        ("1008", "84"),
    ),
    "dry-or-oiled": Case(
        "parts[0].fasten",
        "dry or oiled is not recorded of bolts",
        parts(BOLTS + ", fasten: {torque: 85}"),
        ("torque: 85", "torque: 85, oiled: true"),
    ),
    "tightening-order-missing": Case(
        "parts[0].fasten",
        "in which order the 6 of bolts are tightened",
        parts(BOLTS + ", fasten: {torque: 85}"),
        ("torque: 85", "torque: 85, pattern: circle"),
    ),
    "tightening-order-unfit": Case(
        "parts[0].fasten.pattern",
        "tightening order of 6 screws: leaves out 6",
        parts(BOLTS + ", fasten: {torque: 85, pattern: [1, 4, 2, 5, 3]}"),
        ("5, 3]", "5, 3, 6]"),
    ),
    "passes-unfinished": Case(
        "parts[0].fasten.passes",
        "the passes of bolts are 0.5, 0.8 of the torque",
        parts(BOLTS + ", fasten: {torque: 85, passes: ['0.5', '0.8']}"),
        ("'0.8'", "'1.0'"),
    ),
    "stretched-again": Case(
        "parts[0].fasten.angle",
        "bolts is tightened by 90 degrees, which stretches it",
        parts(BOLTS + ", fasten: {torque: 60, angle: 90}"),
        ("id: bolts", "id: bolts, one_time: true"),
    ),
    "left-hand-unmarked": Case(
        "parts[0]",
        "a is called left-hand",
        "parts:\n- {id: a, name: Shaft nut M28 LEFT-HAND, form: {nut: {d: 28}}}\n",
        ("id: a", "id: a, thread: left"),
    ),
    "ring-without-caution": Case(
        "parts[0]",
        "ring is under tension and has no caution",
        parts("id: ring, form: {snap_ring: {fits: shaft, d: 50, t: 2}}"),
        ("id: ring", "id: ring, hazards: [{signal: caution, text: Can fly off}]"),
    ),
    "spring-without-caution": Case(
        "parts[0]",
        "spring is spring-loaded",
        parts(
            "id: spring, form: {disc_spring: {od: 92, id: 61, t: 2, h: '4.6'}}, held: {by: ring, part: ring}",
            "id: ring, out: {with: spring}",
        ),
        ("id: ring,", "id: ring, hazards: [{signal: warning, text: '2.1 kN'}],"),
    ),
    "press-without-caution": Case(
        "parts[0].out",
        "gear comes out under a press",
        "tools: {press-50: 'Press 50 kN'}\n" + parts("id: gear, out: {by: force, tool: press-50}"),
        ("id: gear", "id: gear, hazards: [{signal: warning, text: 'Press: guard shut'}]"),
    ),
    # The load constant of the revised NIOSH lifting equation, 23 kg (DHHS 94-110).
    "heavy-without-caution": Case(
        "parts[0].mass",
        "a weighs 24 kg; above 23 kg nobody lifts alone",
        parts("id: a, mass: 24"),
        ("mass: 24", "mass: 22"),
    ),
    "group-without-caution": Case(
        "assembly[0]",
        "a and b weigh 24.5 kg together; above 23 kg nobody lifts alone",
        parts("id: a, mass: 12", "id: b, mass: '12.5', hazards: [{signal: warning, at: removal, text: 24.5 kg}]")
        + "assembly: [{join: [a, b], as: Core}]\n",
        ("at: removal", "at: assembly"),
    ),
    "tool-missing": Case(
        "parts[0].out",
        "a comes out by pliers, and no tool is named",
        "tools: {p: Pliers}\n" + parts("id: a, out: {by: pliers}"),
        ("by: pliers", "by: pliers, tool: p"),
    ),
    "spoilt-by-wash": Case(
        "parts[0].wash",
        "rubber swells",
        parts("id: ring, form: {o_ring: {id: 60, section: '3.55'}}, wash: basket"),
        ("wash: basket", "wash: no_solvent"),
    ),
    "lost-in-wash": Case(
        "parts[0].parts[0]",
        "ball lies loose in valve",
        "parts:\n- {id: valve, name: V, parts: [{id: ball, name: B, form: {ball: {d: 8}}, held: {by: loose}}]}\n",
        ("{by: loose}", "{by: loose}, wash: before"),
    ),
}
