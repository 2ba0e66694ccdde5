"""Sizes that a standard fixes: heads, nuts, plugs and retaining rings by their nominal diameter.

Each table keeps the printed rows. A diameter between two rows takes every size by straight interpolation between its
two neighbours; a diameter outside a table has no sizes (None), and the part is then drawn from what the profile gives.
All lengths are mm.
"""

from __future__ import annotations

from typing import Final, Literal, NamedTuple

from labelkit.forms.tables import DIN_471, DIN_472, table


class HexHead(NamedTuple):
    """Hexagon head: across flats `s`, height `k`."""

    s: float
    k: float


class SocketHead(NamedTuple):
    """Cylindrical head with hexagon socket: head diameter `dk`, height `k`, socket across flats `s`, its depth `t`."""

    dk: float
    k: float
    s: float
    t: float


class CountersunkHead(NamedTuple):
    """90 degree countersunk head with hexagon socket: largest diameter `dk` (sharp edge), height `k`, socket `s`."""

    dk: float
    k: float
    s: float


class FlangeHead(NamedTuple):
    """Hexagon head on a flange: flange diameter `dc`, its edge `c`, whole height `k`, across flats `s`."""

    dc: float
    c: float
    k: float
    s: float


class HexNut(NamedTuple):
    """Hexagon nut: across flats `s`, height `m`."""

    s: float
    m: float


class PlugHead(NamedTuple):
    """Collar of a screw plug: diameter `d2`, thickness `c`, hexagon socket across flats `s`."""

    d2: float
    c: float
    s: float


class RetainingRing(NamedTuple):
    """Retaining ring as it lies free.

    Attributes:
        s: thickness.
        d3: diameter on the side of the groove: inside of a ring for shafts, outside of a ring for bores.
        a: radial height of the lugs.
        b: largest radial width of the ring, opposite the gap.
        d5: diameter of the lug holes.
        d2: diameter of the groove.
        m: width of the groove.
    """

    s: float
    d3: float
    a: float
    b: float
    d5: float
    d2: float
    m: float


def hex_head(d: float) -> HexHead | None:
    """Return the head of a hexagon bolt or screw of nominal diameter `d`."""
    sizes = ISO_4014.at(d)
    return HexHead(*sizes) if sizes else None


def socket_head(d: float) -> SocketHead | None:
    """Return the head of a socket head cap screw of nominal diameter `d`."""
    sizes = ISO_4762.at(d)
    return SocketHead(*sizes) if sizes else None


def countersunk_head(d: float) -> CountersunkHead | None:
    """Return the head of a socket countersunk screw of nominal diameter `d`.

    The height follows from the standard's 90 degree cone: k = (dk - d) / 2.
    """
    sizes = ISO_10642.at(d)
    return CountersunkHead(sizes[0], (sizes[0] - d) / 2, sizes[1]) if sizes else None


def flange_head(d: float) -> FlangeHead | None:
    """Return the head of a hexagon flange bolt of nominal diameter `d`."""
    sizes = EN_1665.at(d)
    return FlangeHead(*sizes) if sizes else None


def hex_nut(d: float) -> HexNut | None:
    """Return the hexagon nut of nominal diameter `d`."""
    sizes = ISO_4032.at(d)
    return HexNut(*sizes) if sizes else None


def plug_head(d: float) -> PlugHead | None:
    """Return the collar of a screw plug of nominal thread diameter `d`."""
    sizes = DIN_908.at(d)
    return PlugHead(*sizes) if sizes else None


def retaining_ring(fits: Literal["shaft", "bore"], d: float) -> RetainingRing | None:
    """Return the retaining ring for a shaft or bore of diameter `d`."""
    sizes = (DIN_471 if fits == "shaft" else DIN_472).at(d)
    return RetainingRing(*sizes) if sizes else None


def thread_length(head: str, d: float, length: float) -> float:
    """Return how far a screw of this length under its head is threaded, mm; all of it when it is short.

    Args:
        head: hex, flange, socket or countersunk.
        d: nominal diameter.
        length: nominal length (overall for a countersunk head).

    Source: ISO 4014 and EN 1665 (b = 2 d + 6, from 125 mm 12, from 200 mm 25), ISO 4762 and ISO 10642 (2 d + 12);
    from memory.

    >>> thread_length("hex", 8, 80), thread_length("hex", 8, 16)
    (22, 16)
    """
    if head in ("socket", "countersunk"):
        return min(2 * d + 12, length)
    return min(2 * d + (6 if length <= 125 else 12 if length <= 200 else 25), length)


ISO_4014: Final = table(
    "ISO 4014:2011 and ISO 4017:2011, nominal head height",
    """
    d      s     k
    1.6   3.2   1.1
    2     4     1.4
    2.5   5     1.7
    3     5.5   2
    4     7     2.8
    5     8     3.5
    6    10     4
    8    13     5.3
    10   16     6.4
    12   18     7.5
    14   21     8.8
    16   24    10
    18   27    11.5
    20   30    12.5
    22   34    14
    24   36    15
    27   41    17
    30   46    18.7
    33   50    21
    36   55    22.5
    39   60    25
    42   65    26
    45   70    28
    48   75    30
    52   80    33
    56   85    35
    60   90    38
    64   95    40
    """,
)

ISO_4762: Final = table(
    "ISO 4762:2004, largest plain head; M4, M14 and from M24 dk from memory",
    """
    d      dk     k     s     t
    1.6    3     1.6   1.5   0.7
    2      3.8   2     1.5   1
    2.5    4.5   2.5   2     1.1
    3      5.5   3     2.5   1.3
    4      7     4     3     2
    5      8.5   5     4     2.5
    6     10     6     5     3
    8     13     8     6     4
    10    16    10     8     5
    12    18    12    10     6
    14    21    14    12     7
    16    24    16    14     8
    20    30    20    17    10
    24    36    24    19    12
    30    45    30    22    15.5
    36    54    36    27    19
    42    63    42    32    24
    48    72    48    36    28
    56    84    56    41    34
    64    96    64    46    38
    """,
)

ISO_10642: Final = table(
    "ISO 10642:2004, theoretical head diameter; from memory",
    """
    d     dk      s
    3     6.72    2
    4     8.96    2.5
    5    11.2     3
    6    13.44    4
    8    17.92    5
    10   22.4     6
    12   26.88    8
    14   30.8    10
    16   33.6    10
    20   40.32   12
    """,
)

EN_1665: Final = table(
    "EN 1665:1998",
    """
    d     dc     c     k     s
    5    11.8   1     5.8    8
    6    14.2   1.1   6.6   10
    8    18     1.2   8.1   13
    10   22.3   1.5  10.4   16
    12   26.6   1.8  11.8   18
    14   30.5   2.1  13.7   21
    16   35     2.4  15.4   24
    20   43     3    18.9   30
    """,
)

ISO_4032: Final = table(
    "ISO 4032:2012, largest height",
    """
    d      s     m
    1.6   3.2   1.3
    2     4     1.6
    2.5   5     2
    3     5.5   2.4
    4     7     3.2
    5     8     4.7
    6    10     5.2
    8    13     6.8
    10   16     8.4
    12   18    10.8
    14   21    12.8
    16   24    14.8
    18   27    15.8
    20   30    18
    22   34    19.4
    24   36    21.5
    27   41    23.8
    30   46    25.6
    33   50    28.7
    36   55    31
    39   60    33.4
    42   65    34
    45   70    36
    48   75    38
    52   80    42
    56   85    45
    60   90    48
    64   95    51
    """,
)

DIN_908: Final = table(
    "DIN 908:2012, screw plugs with collar and hexagon socket; from memory",
    """
    d    d2   c    s
    8    12   3    4
    10   14   3    5
    12   17   3    6
    14   19   3    6
    16   21   3    8
    18   23   4    8
    20   25   4   10
    22   27   4   10
    24   29   4   12
    26   31   4   12
    27   32   4   12
    30   36   4   17
    33   39   5   17
    36   42   5   19
    42   49   5   22
    48   55   5   24
    """,
)
