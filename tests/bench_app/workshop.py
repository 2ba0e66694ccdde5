"""A small invented unit, and a store with a job on it, for tests of cards, scanning and the bench."""

from __future__ import annotations

import io
import struct
import sys
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import pytest

from labelkit.calc.steps import Bin, choose, places
from labelkit.cli.main import run
from labelkit.load.profile import LoadedProfile, parse_profile
from labelkit.sheets.jobview import CODES_PER_PLACE, JobView
from labelkit.store.jobs import Store

SECRET = bytes(range(32))
ADDRESS = "http://127.0.0.1:8080"

PUMP = """\
format: 1
unit:
  {mark: P7, name: Gear pump with relief valve, revision: "3", source: invented, up: drive side, clock_from: drive side,
   twelve: suction port}
options:
  drive:
    name: Drive
    tell: look at the shaft end
    choices: {keyed: Keyed shaft, splined: Splined shaft}
tools: {pliers: Internal circlip pliers, driver: Seal driver 40 mm}
series: {side-plate: {sizes: ["5.00", "5.05", "5.10"], tol: "0.01"}}
hazards: [{signal: warning, at: teardown, text: "Oil under pressure: let it off first"},
          {signal: notice, at: wash, text: No solvent on seals}]
parts:
  - id: cover-screws
    name: Cover screw M8 x 30
    qty: 6
    form: {bolt: {d: 8, l: 30, head: socket}}
    mass: "0.02"
    number: P7-01
    thread: left
    out: {by: unscrew}
    sits: {up: head, opens: up, on: cover, clock: free}
    wash: small_basket
    fasten: {torque: 25, pattern: circle, passes: ["0.5", "1.0"], oiled: true}
    look_alike: [{part: plug, tell: the plug has no head}]
    hazards: [{signal: caution, at: assembly, text: Fingers out of the joint},
              {signal: danger, at: removal, text: The spring pushes the cover up}]
  - id: cover
    name: Cover
    form: {hub: {od: 120, h: 30, bore: 40}}
    mass: "12"
    out: {by: lift, look_under: the side plate may cling to it}
    sits: {up: flat face, opens: down, on: body, clock: "6:00", feature: drain notch, if_wrong: oil stays in}
    held: {by: screwed}
    photo: photos/cover.png
    parts:
      - id: seal
        name: Radial shaft seal 25 x 40 x 7
        form: {lip_seal: {id: 25, od: 40, w: 7}}
        renew: always
        one_time: true
        out: {by: press, tool: driver}
        sits: {up: spring lip, opens: up, on: cover, clock: free, tell: lip toward the oil}
        wash: not_washed
      - {id: circlip, name: Circlip 40 x 1.75, form: {snap_ring: {fits: bore, d: 40, t: "1.75"}},
         held: {by: behind, part: seal}}
  - id: side-plate
    name: Selective side plate
    series: side-plate
    out: {by: lift}
    sits: {on: gears}
    check: [{measure: thickness, readings: 3, at: apart, min: "4.95", tool: micrometer, else: take a thicker one},
            {look: "scoring, by fingernail"}]
  - {id: gears, name: Gear pair, qty: set, mass: "1.5", pair: [body], sits: {up: free, on: body, clock: "6:30"}}
  - {id: key, name: Key 6 x 6 x 20, only: {drive: keyed}, wash: before, renew: {with: gears}}
  - {id: splined-hub, name: Splined hub, only: {drive: splined}, keep_with: [gears]}
  - {id: plug, name: Plug M10, form: {plug: {d: 10, l: 12}}, out: {by: unscrew, with: body}}
  - id: valve
    name: Relief valve
    used: 2
    stack: [steel, paper, steel]
    stack_from: seat
    parts:
      - {id: steel, name: Steel disc, qty: 2, form: {steel_plate: {od: 30, id: 12, t: 1, lugs: 6}}}
      - {id: paper, name: Lined disc, form: {friction_plate: {od: 30, id: 12, t: 1, teeth: 30}}}
  - {id: body, name: Body, mass: "20", hazards: [{signal: notice, text: Paint is old}]}
assembly:
  - {join: [gears, side-plate], as: Rotor set, because: the clearance is measured before they go in}
"""

FITTED = (
    PUMP
    + """\
fits:
  side-play: {kind: end_play, target: ["0.04", "0.10"], set_by: side-plate, thicker: reduces}
"""
)
"""The pump with a play that is set by its side plate."""
WAVE_PACK = """\
  - id: pack
    name: Pack
    stack: [wave, steel, friction]
    parts:
      - {id: wave, name: Wave plate, form: {wave_spring: {od: 90, id: 70, t: "1.80", h: "2.60", waves: 4}}}
      - {id: steel, name: Steel, form: {steel_plate: {od: 90, id: 70, t: "2.0", lugs: 6}}}
      - {id: friction, name: Friction, form: {friction_plate: {od: 88, id: 68, t: "2.5", teeth: 30}}}
  - {id: ring, name: Ring, series: rings}
"""
"""Parts of a profile: a pack with a wave plate, and the ring of the series `rings` that sets it."""


def png(width: int = 3, height: int = 2) -> bytes:
    """Return a grey picture, by the PNG specification (W3C, third edition, chapters 5 and 11)."""
    rows = b"".join(b"\0" + b"\x80" * width for _ in range(height))
    chunks = (
        (b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)),
        (b"IDAT", zlib.compress(rows)),
        (b"IEND", b""),
    )
    body = b"".join(struct.pack(">I", len(d)) + k + d + struct.pack(">I", zlib.crc32(k + d)) for k, d in chunks)
    return b"\x89PNG\r\n\x1a\n" + body


@lru_cache(maxsize=32)
def pump(text: str = PUMP) -> LoadedProfile:
    """Return the pump's profile, or another one written in a test."""
    return parse_profile(text.encode(), "pump.yaml", None)


def put_profiles(folder: Path, *, photo: str = "cover.png", picture: bytes = b"", **texts: str) -> None:
    """Lay profiles of the pump into a folder, by the names of their files, with the photo that they name."""
    (folder / "photos").mkdir()
    (folder / "photos" / photo).write_bytes(picture or png())
    for name, text in texts.items():
        (folder / f"{name}.yaml").write_text(text, encoding="utf-8")


def open_job(
    store: Store,
    loaded: LoadedProfile,
    *,
    options: Mapping[str, str] | None = None,
    address: str = ADDRESS,
    photos: Mapping[str, bytes] | None = None,
    serial: str | None = None,
) -> JobView:
    """Open a job in a store and return its view."""
    job = store.create_job(
        number=None,
        serial=serial,
        file=loaded.file,
        source=loaded.source,
        options=choose(loaded.profile, options or {}),
        address=address,
        codes=places(loaded.profile) * CODES_PER_PLACE,
        photos=photos or {},
    )
    return JobView(job, loaded.profile, store.secret)


def bin_of(view: JobView, part: str) -> Bin:
    """Return the first bin of a part."""
    return view.teardown.of(part)[0]


def code_of(view: JobView, part: str) -> str:
    """Return the code of a part's first bin."""
    return view.code(bin_of(view, part))


def called(folder: Path, *words: str) -> None:
    """Run a command that must succeed in a folder with its own store; for fixtures of a module."""
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        patch.delenv("LABELKIT_STORE", raising=False)
        patch.setattr(sys, "argv", ["labelkit", *words])
        with pytest.raises(SystemExit) as ended:
            run()
    assert not ended.value.code


class NoServer:
    """Stands where waitress's server would listen: it ends at once, as if Ctrl-C had been pressed."""

    closed = False

    def run(self) -> None:
        """End."""
        raise KeyboardInterrupt

    def close(self) -> None:
        """Note that it was closed."""
        self.closed = True


def ended_at_once(patch: pytest.MonkeyPatch) -> NoServer:
    """Let `labelkit bench` listen nowhere and end at once; return what stands in for its server."""
    stand_in = NoServer()
    patch.setattr("labelkit.cli.bench._listen", lambda _host, _port: None)
    patch.setattr("waitress.create_server", lambda _app, **_settings: stand_in)
    return stand_in


@dataclass
class Answer:
    """What a command said: exit status, answer and messages."""

    status: int
    out: str
    err: str


@dataclass
class Shell:
    """Runs the command as a user does, in one folder with its own store."""

    folder: Path
    patch: pytest.MonkeyPatch
    capture: pytest.CaptureFixture[str]

    def __call__(self, *words: str, stdin: bytes = b"") -> Answer:
        self.patch.chdir(self.folder)
        self.patch.setattr(sys, "argv", ["labelkit", *words])
        self.patch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin), encoding="utf-8"))
        self.capture.readouterr()
        with pytest.raises(SystemExit) as ended:
            run()
        said = self.capture.readouterr()
        return Answer(int(ended.value.code or 0), said.out, said.err)
