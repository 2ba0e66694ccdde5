"""A small reader of TrueType files: which letters a font has, how wide and how tall they are, and a smaller
font.

It reads the tables that measuring needs and nothing else, so that both faces of a label are ready within a
few milliseconds. Of a variable font it sees the default instance, which is what `hmtx` and `glyf` hold; this
is also what a PDF gets.

Source: ISO/IEC 14496-22 (Open Font Format): head, hhea, maxp, hmtx, cmap formats 4 and 12, loca, glyf, OS/2.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property
from struct import pack, unpack_from
from typing import Final

_MAGIC: Final = b"\x00\x01\x00\x00"
# Flags of a part of a composite glyph, and how many bytes of scale follow it.
_WORDS: Final = 0x0001
_MORE: Final = 0x0020
_SCALES: Final = ((0x0008, 2), (0x0040, 4), (0x0080, 8))
# What a smaller font takes over as it is: names, style, and the program that hints glyphs.
_COPIED: Final[tuple[str, ...]] = ("OS/2", "cvt ", "fpgm", "name", "prep")
_CHECKSUM: Final = 0xB1B0AFBA


class TrueType:
    """One font file.

    Attributes:
        em: font units to the em.
        cap_height: height of a flat capital letter, font units.
    """

    def __init__(self, data: bytes) -> None:
        """Read the tables; `data` is the whole file.

        Raises:
            ValueError: it is no TrueType file, or has no table of letters that this reader knows.
        """
        if data[:4] != _MAGIC:
            raise ValueError("it is not a TrueType font")
        self._data = data
        self._tables: dict[str, tuple[int, int]] = {}
        for number in range(unpack_from(">H", data, 4)[0]):
            tag, _, start, length = unpack_from(">4sLLL", data, 12 + 16 * number)
            self._tables[tag.decode("latin-1")] = (start, length)
        self.em: int = unpack_from(">H", data, self._at("head") + 18)[0]
        self.cap_height: int = unpack_from(">h", data, self._at("OS/2") + 88)[0]
        self._full_metrics: int = unpack_from(">H", data, self._at("hhea") + 34)[0]

    @cached_property
    def letters(self) -> dict[int, int]:
        """Glyph numbers by code point."""
        start = self._at("cmap")
        subtables = {}
        for number in range(unpack_from(">H", self._data, start + 2)[0]):
            platform, _, offset = unpack_from(">HHL", self._data, start + 4 + 8 * number)
            if platform in (0, 3):  # Unicode, and the same under its other name
                subtables[unpack_from(">H", self._data, start + offset)[0]] = start + offset
        if 12 in subtables:
            return dict(self._groups(subtables[12]))
        if 4 in subtables:
            return dict(self._segments(subtables[4]))
        raise ValueError("its table of letters has neither format 4 nor format 12")

    def glyph(self, letter: str) -> int:
        """Return the number of a letter's glyph; 0, the box that stands for any other, when it has none."""
        return self.letters.get(ord(letter), 0)

    def advance(self, glyph: int) -> int:
        """Return how far the next letter stands, font units."""
        place = min(glyph, self._full_metrics - 1)
        return int(unpack_from(">H", self._data, self._at("hmtx") + 4 * place)[0])

    def reach(self, glyph: int) -> tuple[int, int]:
        """Return the highest and the lowest point over the baseline, font units; (0, 0) for a blank."""
        start, end = self._span(glyph)
        if start == end:
            return 0, 0
        lowest, _, highest = unpack_from(">hhh", self._data, start + 4)
        return highest, lowest

    def subset(self, letters: Iterable[str]) -> bytes:
        """Return a font file with these letters alone; those it lacks are left out.

        It has no kerning and no ligatures, as nothing here uses them.
        """
        codes = sorted({ord(letter) for letter in letters} & self.letters.keys())
        order = [0, *(self.letters[code] for code in codes)]
        for glyph in order:  # grows while it is read: parts may have parts
            order.extend(part for part, _ in self._parts(glyph) if part not in order)
        numbers: dict[int, int] = {}
        for glyph in order:
            numbers.setdefault(glyph, len(numbers))
        tables = {tag: self._table(tag) for tag in _COPIED if tag in self._tables}
        tables["glyf"], tables["loca"] = self._outlines(numbers)
        tables["hmtx"] = b"".join(self._metrics(glyph) for glyph in numbers)
        tables["cmap"] = _letter_table([(code, numbers[self.letters[code]]) for code in codes])
        tables["post"] = b"\x00\x03\x00\x00" + self._table("post")[4:16] + bytes(16)  # no names of glyphs
        tables["hhea"] = self._table("hhea")[:34] + pack(">H", len(numbers))
        tables["maxp"] = self._table("maxp")[:4] + pack(">H", len(numbers)) + self._table("maxp")[6:]
        # Without its checksum, and with long offsets: both stand in the header.
        head = self._table("head")
        tables["head"] = head[:8] + bytes(4) + head[12:50] + pack(">h", 1) + head[52:54]
        return _font_file(tables)

    def _at(self, tag: str) -> int:
        return self._tables[tag][0]

    def _table(self, tag: str) -> bytes:
        start, length = self._tables[tag]
        return self._data[start : start + length]

    def _groups(self, start: int) -> Iterator[tuple[int, int]]:
        count = unpack_from(">L", self._data, start + 12)[0]
        numbers = unpack_from(f">{3 * count}L", self._data, start + 16)
        for first, last, glyph in zip(numbers[::3], numbers[1::3], numbers[2::3], strict=True):
            yield from zip(range(first, last + 1), range(glyph, glyph + last + 1 - first), strict=True)

    def _segments(self, start: int) -> Iterator[tuple[int, int]]:
        length, _, double = unpack_from(">HHH", self._data, start + 2)
        count = double // 2
        words = unpack_from(f">{(length - 14) // 2}H", self._data, start + 14)
        lasts, firsts = words[:count], words[count + 1 : 2 * count + 1]
        deltas, offsets = words[2 * count + 1 : 3 * count + 1], words[3 * count + 1 : 4 * count + 1]
        for number, (first, last) in enumerate(zip(firsts, lasts, strict=True)):
            for code in range(first, last + 1):
                glyph = code
                if offsets[number]:
                    # An offset counts bytes from its own place to the glyph number.
                    glyph = words[3 * count + 1 + number + offsets[number] // 2 + code - first]
                    if not glyph:
                        continue
                glyph = (glyph + deltas[number]) & 0xFFFF
                if glyph:
                    yield code, glyph

    def _span(self, glyph: int) -> tuple[int, int]:
        """Return where a glyph's outline begins and ends in the file."""
        loca, glyf = self._at("loca"), self._at("glyf")
        if unpack_from(">h", self._data, self._at("head") + 50)[0]:
            start, end = unpack_from(">LL", self._data, loca + 4 * glyph)
        else:
            start, end = (2 * half for half in unpack_from(">HH", self._data, loca + 2 * glyph))
        return glyf + start, glyf + end

    def _parts(self, glyph: int) -> Iterator[tuple[int, int]]:
        """Yield the glyphs a composite glyph is made of, and where in its outline their numbers stand."""
        start, end = self._span(glyph)
        if start == end or unpack_from(">h", self._data, start)[0] >= 0:
            return
        place, flags = start + 10, _MORE
        while flags & _MORE:
            flags, part = unpack_from(">HH", self._data, place)
            yield part, place + 2 - start
            place += 8 if flags & _WORDS else 6
            place += next((size for flag, size in _SCALES if flags & flag), 0)

    def _outlines(self, numbers: dict[int, int]) -> tuple[bytes, bytes]:
        """Return `glyf` and `loca` for the glyphs in the order of `numbers`, renumbered."""
        outlines, offsets = bytearray(), [0]
        for glyph in numbers:
            start, end = self._span(glyph)
            outline = bytearray(self._data[start:end])
            for part, place in self._parts(glyph):
                outline[place : place + 2] = pack(">H", numbers[part])
            outlines += outline + bytes(-len(outline) % 4)
            offsets.append(len(outlines))
        return bytes(outlines), pack(f">{len(offsets)}L", *offsets)

    def _metrics(self, glyph: int) -> bytes:
        """Return advance and left bearing of a glyph as `hmtx` has them."""
        start, full = self._at("hmtx"), self._full_metrics
        place = start + 4 * glyph + 2 if glyph < full else start + 4 * full + 2 * (glyph - full)
        return pack(">H", self.advance(glyph)) + self._data[place : place + 2]


def _letter_table(pairs: list[tuple[int, int]]) -> bytes:
    """Return a `cmap` of format 12 with one group a letter."""
    groups = b"".join(pack(">LLL", code, code, glyph) for code, glyph in pairs)
    subtable = pack(">HHLLL", 12, 0, 16 + len(groups), 0, len(pairs)) + groups
    return pack(">HHHHL", 0, 1, 3, 10, 12) + subtable


def _font_file(tables: dict[str, bytes]) -> bytes:
    power = len(tables).bit_length() - 1
    directory = _MAGIC + pack(">HHHH", len(tables), 16 << power, power, 16 * (len(tables) - (1 << power)))
    body, start = b"", 12 + 16 * len(tables)
    for tag, data in sorted(tables.items()):
        padded = data + bytes(-len(data) % 4)
        directory += pack(">4sLLL", tag.encode("latin-1"), _sum(padded), start + len(body), len(data))
        body += padded
    whole = directory + body
    place = start + sum(len(data) + -len(data) % 4 for tag, data in tables.items() if tag < "head") + 8
    return whole[:place] + pack(">L", (_CHECKSUM - _sum(whole)) & 0xFFFFFFFF) + whole[place + 4 :]


def _sum(padded: bytes) -> int:
    return int(sum(unpack_from(f">{len(padded) // 4}L", padded))) & 0xFFFFFFFF
