"""Pages as SVG: the only module that knows `svgwrite`.

A page becomes a file of its own, in mm, with the letters it uses embedded. For a web page there is
`svg_fragment`: a picture inside the page's own text, in the page's own ink.

`svgwrite` is no longer maintained and checks slowly what it is given; it is used to nest and escape elements,
with its checks switched off.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Callable, Iterable, Mapping
from typing import Any, BinaryIO, Final

import svgwrite
from svgwrite import container, path, shapes, text

from labelkit.drawing.fonts import FAMILY, WEIGHT, clean, metrics
from labelkit.drawing.page import (
    BLACK,
    IDENTITY,
    WHITE,
    Affine,
    Box,
    Group,
    Item,
    Page,
    Path,
    Symbol,
    Text,
)
from labelkit.drawing.qr import QUIET_ZONE, runs
from labelkit.render.numbers import number, outline_text

# Families of a text in the ordinary face; what a reader without them takes is squeezed to the same width.
_FAMILIES: Final = f"{FAMILY['regular']}, {FAMILY['fallback']}, sans-serif"
# Letters side by side by their widths, as they were measured.
_SETTING: Final = "font-kerning:none;font-variant-ligatures:none"

_COMMANDS: Final = {"M": "M%.9g %.9g", "L": "L%.9g %.9g", "C": f"C{' '.join(['%.9g'] * 6)}", "Z": "Z"}

_Colours = Callable[[str], str]


def write_svg(page: Page, stream: BinaryIO, *, title: str, subject: str = "") -> None:
    """Write a page as an SVG file.

    Args:
        page: what to draw.
        stream: where the bytes (UTF-8) go.
        title: what a viewer shows as the name of the picture.
        subject: one line more about it; may be empty.
    """
    stream.write(svg_text(page, title=title, subject=subject).encode())


def svg_text(page: Page, *, title: str, subject: str = "") -> str:
    """Return a page as the text of an SVG file; arguments as for `write_svg`."""
    root = svgwrite.Drawing(debug=False, **_frame(Box(0, 0, page.width, page.height)))
    css = font_face_css(letters_used(page.items))
    if css:
        root.embed_stylesheet(css)
    _add(root, page.items, _same, named=True)
    root.set_desc(clean(title), clean(subject) or None)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{root.tostring()}\n'


def svg_fragment(items: Iterable[Item], box: Box, *, title: str) -> str:
    """Return a picture as an element for the middle of an HTML page.

    Black becomes the ink of the text around it (`currentColor`) and white its paper (the style sheet's
    `--paper`), so that it also shows on a dark page. A symbol stays black on white, as scanners need it.

    Args:
        items: what to draw.
        box: the part of their frame that is shown, mm; also the size of the picture, unless a style sheet
            says another.
        title: what the picture shows, for who cannot see it.
    """
    root = container.SVG(debug=False, role="img", **_frame(box))
    root.elements.clear()  # an empty <defs>
    _add(root, items, _ink)
    root.set_desc(clean(title))
    return str(root.tostring())


def font_face_css(letters: Mapping[str, Iterable[str]]) -> str:
    """Return the rules of a style sheet that bring the letters of each face along.

    Args:
        letters: by face, as from `letters_used`; a face without letters gives no rule.
    """
    return "".join([_font_face(face, "".join(sorted(set(used)))) for face, used in sorted(letters.items()) if used])


def letters_used(items: Iterable[Item]) -> dict[str, set[str]]:
    """Return the letters on a page by the face that draws them."""
    used: dict[str, set[str]] = {}
    for item in items:
        if isinstance(item, Text):
            for run in item.runs:
                used.setdefault(run.face, set()).update(run.text)
        elif isinstance(item, Group):
            for face, letters in letters_used(item.items).items():
                used.setdefault(face, set()).update(letters)
    return used


def _font_face(face: str, letters: str) -> str:
    data = b64encode(metrics(face).subset(letters)).decode()
    return (
        f"@font-face{{font-family:'{FAMILY[face]}';font-weight:{WEIGHT[face]};"
        f"src:url(data:font/ttf;base64,{data}) format('truetype')}}"
    )


def _frame(box: Box) -> dict[str, Any]:
    """Return the attributes of the outermost element."""
    return {
        "size": (f"{number(box.width)}mm", f"{number(box.height)}mm"),
        "viewBox": " ".join(map(number, (box.x, box.y, box.width, box.height))),
        "font_family": _FAMILIES,
        "style": _SETTING,
        "stroke_linejoin": "round",
    }


def _add(parent: Any, items: Iterable[Item], colours: _Colours, *, named: bool = False) -> None:
    for item in items:
        match item:
            case Path():
                parent.add(_path(item, colours))
            case Text():
                parent.add(_text(item, colours))
            case Symbol():
                parent.add(_symbol(item))
            case Group():
                _add(_group(parent, item, named=named), item.items, colours, named=named)


def _group(parent: Any, group: Group, *, named: bool) -> Any:
    """Return the element that holds what is in a group: a new one only where it has a matrix, a clip or a name."""
    if group.matrix != IDENTITY:
        parent = parent.add(_element(container.Group, transform=_matrix(group.matrix)))
    if box := group.clip:
        corner, size = (number(box.x), number(box.y)), (number(box.width), number(box.height))
        parent = parent.add(_element(container.SVG, insert=corner, size=size, viewBox=" ".join(corner + size)))
        parent.elements.clear()  # an empty <defs>
    if named and group.name:
        parent = parent.add(_element(container.Group, id=group.name.replace(" ", "-")))
    return parent


def _element(kind: Callable[..., Any], *given: Any, **attributes: Any) -> Any:
    return kind(*given, debug=False, **attributes)


def _path(item: Path, colours: _Colours) -> Any:
    drawn = _element(path.Path, outline_text(item.d, _COMMANDS), fill="none")
    if item.fill is not None:
        drawn.update({"fill": colours(item.fill), "fill_rule": "evenodd"})
    if item.pen is not None:
        drawn.update({"stroke": colours(item.pen.colour), "stroke_width": number(item.pen.width)})
        if item.pen.dash:
            drawn["stroke-dasharray"] = " ".join(map(number, item.pen.dash))
    return drawn


def _text(item: Text, colours: _Colours) -> Any:
    """Return a line of text that is as long as it was measured, whatever the letters at hand."""
    drawn = _element(text.Text, "", fill=colours(item.fill), font_size=number(item.size))
    drawn.update({"x": number(item.left), "y": number(item.y)})
    if item.width > 0:
        drawn.update({"textLength": number(item.width), "lengthAdjust": "spacingAndGlyphs"})
    if item.string != " ".join(item.string.split()):
        drawn["xml:space"] = "preserve"
    if len(item.runs) == 1:
        drawn.text = item.string
        drawn.update(_face(item.runs[0].face))
    else:
        for run in item.runs:
            drawn.add(_element(text.TSpan, run.text, **_face(run.face)))
    return drawn


def _face(face: str) -> dict[str, str]:
    """Return what sets a face apart from the one of the whole file."""
    attributes = {}
    if FAMILY[face] != FAMILY["regular"]:
        attributes["font_family"] = f"{FAMILY[face]}, sans-serif"
    if WEIGHT[face] != WEIGHT["regular"]:
        attributes["font_weight"] = str(WEIGHT[face])
    return attributes


def _symbol(item: Symbol) -> Any:
    """Return a symbol in module units: white ground, frame, and all modules as one path.

    No `crispEdges`: snapping the edges to the dots of a screen makes modules of unequal width.
    """
    quiet, line, size = QUIET_ZONE, item.frame / item.module, item.matrix.size
    inner = item.inner
    drawn = _element(
        container.Group, transform=f"translate({number(inner.x)} {number(inner.y)}) scale({item.module:.8g})"
    )
    corner, side = f"{-quiet - line:.7g}", f"{size + 2 * quiet + 2 * line:.7g}"
    drawn.add(_element(shapes.Rect, (corner, corner), (side, side), fill=WHITE))
    d = "".join([f"M{x} {y}h{width}v{height}h-{width}z" for x, y, width, height in runs(item.matrix)])
    if line:
        whole, hole = size + 2 * quiet, -quiet
        d = f"M{corner} {corner}h{side}v{side}h-{side}zM{hole} {hole}v{whole}h{whole}v-{whole}z{d}"
    drawn.add(_element(path.Path, d, fill=BLACK, fill_rule="evenodd"))
    return drawn


def _matrix(matrix: Affine) -> str:
    a, b, c, d, e, f = matrix
    turn = (f"{round(value, 9):.10g}" for value in (a, b, c, d))
    return f"matrix({' '.join([*turn, number(e), number(f)])})"


def _same(colour: str) -> str:
    return colour


def _ink(colour: str) -> str:
    """Return the colour of the surroundings that stands for black or white."""
    return {BLACK: "currentColor", WHITE: f"var(--paper, {WHITE})"}.get(colour, colour)
