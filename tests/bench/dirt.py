"""Simulated pictures of dirty labels, seeded: no real grease was photographed.

A label is drawn flat at 20 pixels per mm, grease is put on it, and a camera looks at it: any way up, tilted, out of
focus, unevenly lit, noisy. Grease is opaque and nearly as dark as the print, the worst case for a reader: spatter
is many small drops, a smear is what a finger wipes.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from labelkit.drawing.qr import encode
from labelkit.proof.decode import Reading, read_symbols
from labelkit.proof.rescue import rescued

FINE = 20  # pixels per mm of the flat label: a whole number for a module and for the frame
MODULE = 0.5
FRAME = 0.7
QUIET = 4 * MODULE
CODE_LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

Grey = NDArray[np.uint8]


@dataclass(frozen=True)
class Scene:
    """What is drawn, and how much dirt lies on it.

    Attributes:
        spatter: share of the area of each symbol's modules that drops cover, 0 to 1.
        smear: share that wiped strokes cover.
        strokes: long strokes anywhere on the label, whatever they hit.
        symbols: 1, or 2 at opposite ends, both of the same text.
        neighbours: whether other labels stand close by, with symbols of their own.
        touching: whether letters run into the frame.
        tilt_deg: greatest tilt of the camera.
        scale: pixels per mm of the label before tilt, lowest and highest.
    """

    spatter: float = 0.0
    smear: float = 0.0
    strokes: int = 0
    symbols: int = 1
    neighbours: bool = False
    touching: bool = False
    tilt_deg: float = 35.0
    scale: tuple[float, float] = (6.0, 9.0)


@dataclass(frozen=True)
class Shot:
    """A simulated picture, what its symbols say, and what else can be read in it."""

    image: Grey
    text: str
    others: tuple[str, ...] = field(default=())


def shoot(scene: Scene, seed: int) -> Shot:
    """Make one picture; the same scene and seed make the same picture."""
    rng = np.random.default_rng([seed, 20250])
    text, *others = (_text(rng) for _ in range(3))
    width, height = (90.0, 37.0) if scene.symbols == 2 else (60.0, 32.0)
    margin = 26.0
    sheet = Image.new("L", (int((width + 2 * margin) * FINE), int((height + 2 * margin) * FINE)), 255)
    if not scene.neighbours:
        sheet.paste(int(rng.uniform(60, 150)), (0, 0, *sheet.size))
        box = [margin * FINE, margin * FINE, (margin + width) * FINE, (margin + height) * FINE]
        ImageDraw.Draw(sheet).rectangle(box, fill=255)
    places = _draw_label(sheet, (margin, margin), (width, height), text, scene)
    if scene.neighbours:
        gap = 2.5
        _draw_label(sheet, (margin + width + gap, margin), (width, height), others[0], scene)
        _draw_label(sheet, (margin, margin - height - gap), (width, height), others[1], scene)
    side = _symbol_side(text)
    for x, y in places:
        _spatter(sheet, (x, y, side), scene.spatter, rng)
        _smear(sheet, (x, y, side), scene.smear, rng)
    for _ in range(scene.strokes):
        start = margin + rng.uniform(0, 1, 2) * (width, height)
        _stroke(sheet, start, rng.uniform(4.0, 8.0), rng.uniform(25.0, 50.0), rng)
    aim = np.array(places[0]) + side / 2 if scene.symbols == 1 else np.array([margin + width / 2, margin + height / 2])
    view = (56.0, 44.0) if scene.symbols == 1 else (104.0, 104.0)
    return Shot(_photograph(sheet, aim, view, scene, rng), text, tuple(others) if scene.neighbours else ())


def _text(rng: np.random.Generator) -> str:
    return "http://192.168.1.20:8080/" + "".join(rng.choice(list(CODE_LETTERS), 11))


def _symbol_side(text: str) -> float:
    """Side of the whole symbol with quiet zone and frame, mm."""
    return encode(text, "H").size * MODULE + 2 * QUIET + 2 * FRAME


def _draw_label(
    sheet: Image.Image, at: tuple[float, float], size: tuple[float, float], text: str, scene: Scene
) -> list[tuple[float, float]]:
    """Draw a label; return the top left corners of its symbols, mm."""
    side = _symbol_side(text)
    (x, y), (width, height) = at, size
    places = [(x + width - side - 3, y + (height - side) / 2)]
    if scene.symbols == 2:
        places.insert(0, (x + 3, y + (height - side) / 2))
    for place in places:
        _draw_symbol(sheet, place, text)
    draw = ImageDraw.Draw(sheet)
    left = x + 3 + (side + 3 if scene.symbols == 2 else 0)
    big, small = ImageFont.load_default(12 * FINE), ImageFont.load_default(4 * FINE)
    draw.text((left * FINE, (y + 2) * FINE), "12", fill=0, font=big)
    end = places[-1][0] * FINE if scene.touching else (places[-1][0] - 2) * FINE
    for line, words in enumerate(("INPUT SHIM", "HAT UP", text[-11:])):
        start = end - draw.textlength(words, font=small)
        draw.text((max(start, left * FINE), (y + 14.5 + 5.5 * line) * FINE), words, fill=0, font=small)
    return places


def _draw_symbol(sheet: Image.Image, at: tuple[float, float], text: str) -> None:
    matrix = encode(text, "H")
    modules = np.array([[matrix.dark(x, y) for x in range(matrix.size)] for y in range(matrix.size)])
    picture = np.where(np.pad(modules, 4), np.uint8(0), np.uint8(255))
    picture = np.kron(picture, np.ones((int(MODULE * FINE),) * 2, np.uint8))
    framed = np.pad(picture, round(FRAME * FINE), constant_values=0)
    sheet.paste(Image.fromarray(framed), (round(at[0] * FINE), round(at[1] * FINE)))


def _covered(mask: Image.Image, square: tuple[float, float, float]) -> float:
    """Share of the modules' area that a mask covers."""
    x, y, side = square
    inset = FRAME + QUIET
    left, top, right, bottom = (
        round(value * FINE) for value in (x + inset, y + inset, x + side - inset, y + side - inset)
    )
    return float((np.asarray(mask.crop((left, top, right, bottom))) > 0).mean())


def _spatter(sheet: Image.Image, square: tuple[float, float, float], share: float, rng: np.random.Generator) -> None:
    x, y, side = square
    mask = Image.new("L", sheet.size)
    draw = ImageDraw.Draw(mask)
    while share and _covered(mask, square) < share:
        middle = np.array([x, y]) + rng.uniform(0, side, 2)
        radius = float(np.clip(rng.lognormal(np.log(0.35), 0.6), 0.1, 1.5))
        for _ in range(3):
            cx, cy = (middle + rng.normal(0, radius / 3, 2)) * FINE
            rx, ry = radius * rng.uniform(0.5, 1.0, 2) * FINE
            draw.ellipse((cx - rx, cy - ry, cx + rx, cy + ry), fill=255)
    sheet.paste(int(rng.uniform(10, 70)), mask=mask)


def _smear(sheet: Image.Image, square: tuple[float, float, float], share: float, rng: np.random.Generator) -> None:
    x, y, side = square
    mask = Image.new("L", sheet.size)
    while share and _covered(mask, square) < share:
        place, angle = np.array([x, y]) + rng.uniform(0.1, 0.9, 2) * side, rng.uniform(0, 2 * np.pi)
        width, length = rng.uniform(1.5, 3.5), rng.uniform(6.0, 25.0)
        done = 0.0
        while done < length and _covered(mask, square) < share:
            place, angle = _wipe(mask, place, angle, width, rng)
            done += 0.5
    sheet.paste(int(rng.uniform(10, 70)), mask=mask)


def _stroke(
    sheet: Image.Image, start: NDArray[np.float64], width: float, length: float, rng: np.random.Generator
) -> None:
    mask = Image.new("L", sheet.size)
    place, angle = start, rng.uniform(0, 2 * np.pi)
    for _ in range(int(length / 0.5)):
        place, angle = _wipe(mask, place, angle, width, rng)
    sheet.paste(int(rng.uniform(10, 70)), mask=mask)


def _wipe(
    mask: Image.Image, place: NDArray[np.float64], angle: float, width: float, rng: np.random.Generator
) -> tuple[NDArray[np.float64], float]:
    """Draw half a mm of a stroke with ragged edges; return where it ends and its new direction."""
    after = place + 0.5 * np.array([np.cos(angle), np.sin(angle)])
    radius = width / 2 * rng.uniform(0.85, 1.0) * FINE
    x, y = after * FINE
    ImageDraw.Draw(mask).ellipse((x - radius, y - radius, x + radius, y + radius), fill=255)
    return after, angle + float(rng.normal(0, 0.05))


def _photograph(
    sheet: Image.Image,
    aim: NDArray[np.float64],
    view: tuple[float, float],
    scene: Scene,
    rng: np.random.Generator,
) -> Grey:
    """Look at the flat label with a camera, `view` mm across and down when straight above."""
    scale = rng.uniform(*scene.scale)
    size = np.array([round(view[0] * scale), round(view[1] * scale)])
    turn = rng.choice([0, 90, 180, 270]) + rng.uniform(-25, 25)
    matrix = _camera(rng.uniform(0, scene.tilt_deg), rng.uniform(0, 360), turn, scale)
    shift = np.eye(3)
    shift[:2, 2] = size / 2 + rng.uniform(-2, 2, 2) * scale
    move = np.eye(3)
    move[:2, 2] = -aim
    over = 3  # pixels that are averaged into one, per side
    to_picture = np.diag([over, over, 1.0]) @ shift @ matrix @ move @ np.diag([1 / FINE, 1 / FINE, 1.0])
    back = np.linalg.inv(to_picture)
    back /= back[2, 2]
    wide = sheet.transform(
        tuple((size * over).tolist()), Image.Transform.PERSPECTIVE, back.reshape(9)[:8].tolist(),
        Image.Resampling.BILINEAR, fillcolor=110,
    )  # fmt: skip
    picture = wide.reduce(over).filter(ImageFilter.GaussianBlur(rng.uniform(0.4, 1.1)))
    levels = np.asarray(picture, dtype=np.float64)
    down, across = np.mgrid[-1 : 1 : levels.shape[0] * 1j, -1 : 1 : levels.shape[1] * 1j]
    light = 1 + rng.uniform(0, 0.35) * (across * np.cos(turn) + down * np.sin(turn)) / 1.5
    black, white = rng.uniform(15, 50), rng.uniform(150, 215)
    levels = (black + levels / 255 * (white - black)) * light + rng.normal(0, rng.uniform(2, 7), levels.shape)
    clipped: NDArray[np.uint8] = np.clip(levels, 0, 255).astype(np.uint8)
    return clipped


def _camera(tilt_deg: float, towards_deg: float, turn_deg: float, scale: float) -> NDArray[np.float64]:
    """Map mm about the aim to pixels about the middle, for a camera 250 mm away."""
    tilt, towards, turn = np.radians([tilt_deg, towards_deg, turn_deg])

    def turned(angle: float) -> NDArray[np.float64]:
        return np.array([[np.cos(angle), -np.sin(angle), 0], [np.sin(angle), np.cos(angle), 0], [0, 0, 1]])

    distance = 250.0
    leaning = np.array([[1, 0, 0], [0, np.cos(tilt), 0], [0, np.sin(tilt) / distance, 1]])
    seen: NDArray[np.float64] = np.diag([scale, scale, 1.0]) @ turned(turn - towards) @ leaning @ turned(towards)
    return seen


def read_label(image: Grey) -> list[Reading]:
    """Read a label as fast as it allows: the next means only where the one before read nothing."""
    return read_symbols(image, thorough=False) or read_symbols(image, thorough=True) or rescued(image)
