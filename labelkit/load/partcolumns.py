"""The columns of a table of parts: where each goes in a profile, and what people call it.

Source of the names: ordinary words of the trade in English, German and Spanish, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from labelkit.model.formwords import folded

Kind = Literal[
    "text",
    "figure",
    "word",
    "qty",
    "clock",
    "renew",
    "ident",
    "idents",
    "only",
    "form",
    "sizes",
    "size",
    "tool",
    "list",
]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table of parts.

    Attributes:
        name: as the template calls it.
        path: of the field in a part; of a size, the names that the size may have, by form.
        kind: how its cells are read.
        unit: of its bare figures: lengths, masses or torques of the header; empty for none.
    """

    name: str
    path: tuple[str, ...]
    kind: Kind
    unit: str = ""


# name | path | kind | what else it is called: English; German; Spanish
TABLE: Final = """
part | id | ident | part id, ident, identifier, key, part key; kurzzeichen, kennung, teil id, \
schluessel; identificador, clave
name | name | text | part name, description, designation, desc, item, item name; bezeichnung, benennung, teil, \
teilename, \
teilebezeichnung, beschreibung; nombre, denominacion, descripcion, pieza
short | short | text | short name, label, label name; kurzname, kurzbezeichnung, etikett; nombre corto, etiqueta
in | in | ident | inside, inside of, sub assembly, subassembly, parent, belongs to, assembly; baugruppe, in baugruppe, \
unterbaugruppe, gehoert zu; subconjunto, conjunto, dentro de
qty | qty | qty | quantity, count, pcs, pieces, no off, number off, how many, amount; menge, anzahl, anz, stueck, \
stueckzahl, \
stk; cantidad, cant, unidades, piezas
form | form | form | kind, kind of form, shape, type; form, art, bauform, typ; forma, tipo, clase
sizes | sizes | sizes | size, dimensions, dimension, dims, measures; abmessungen, abmessung, maße, groesse; \
dimensiones, medidas, medida, tamano
mass | mass | figure | weight, mass each, weight each, wt; gewicht, stueckgewicht, einzelgewicht; peso, masa, \
peso unitario
number | number | text | part number, part no, part nr, pn, order number, order no, replacement number, stock number, \
sku, article number; teilenummer, teile nr, bestellnummer, bestell nr, artikelnummer, artikel nr, sachnummer, \
ersatzteilnummer; referencia, ref, numero de pieza, codigo, numero de pedido
pack | pack | text | pack size, pack qty, sold in packs of, per pack; packung, packungsgroesse, gebinde, \
verpackungseinheit; \
paquete, unidades por paquete, envase
series | series | ident | graded series, size series; reihe, staffelung; serie
renew | renew | renew | renewed, replace, replaced, new, renewal; erneuern, ersetzen, austauschen; renovar, \
sustituir, cambiar
comes out by | out.by | text | out, removal, how out, removed by; ausbau, ausbauen durch; desmontaje, se saca
look under | out.look_under | text | look below; darunter nachsehen, darunter sehen; mirar debajo
out tool | out.tool | tool | tool, tools, removal tool; werkzeug, ausbauwerkzeug; herramienta, util
out with | out.with | ident | comes with, with; kommt mit; sale con
out note | out.note | text | note, notes, remark, remarks, comment; bemerkung, anmerkung, hinweis, notiz; nota, \
observacion, observaciones, comentario
up | sits.up | text | which way up, way up, face up, side up; oben, oben liegt, lage; arriba, cara arriba, hacia arriba
opens | sits.opens | word | opening, open side; oeffnung, offen; abertura, abre hacia
lies on | sits.on | ident | on, sits on, on top of; liegt auf, sitzt auf, auf; apoya en, sobre, encima de
clock | sits.clock | clock | clock position, o clock, position; uhr, uhrzeit, uhrlage, winkellage; hora, reloj, \
posicion horaria
feature | sits.feature | text | mark, notch, index; merkmal, kerbe, markierung; marca, muesca
tell | sits.tell | text | how to tell, right when; erkennbar an, erkennung; como reconocer
if wrong | sits.if_wrong | text | wrong, when wrong; wenn falsch, folge wenn falsch; si esta mal
only | only | only | version, variant, option, only with; variante, ausfuehrung, nur bei; version de, opcion, solo con
held by | held.by | word | held, fixing, secured by; gehalten durch, befestigung, sicherung; sujecion, sujeto por
held part | held.part | ident | holder, held by part; haltendes teil, gehalten von; pieza que sujeta
carried by | carried_by | ident | goes in with; geht ein mit; entra con
keep with | keep_with | idents | keep together, companions; zusammen halten, beilegen; guardar con
pair | pair | idents | paired with, matched with, matched; paarung, gepaart mit; emparejado con
wash | wash | word | washing, cleaning; waschen, reinigung; lavado, limpieza
lay | lay | word | laid, lies on tray; ablegen; colocacion
photo | photo | text | picture, image; foto, bild; imagen
used | used | text | times used; mal verbaut; veces
stack | stack | idents | stack order, order of plates; stapel, lamellenfolge; pila
stack from | stack_from | text | stack starts at; stapel ab; pila desde
thread | thread | word | hand, thread hand; gewinde, gewinderichtung; rosca
one time | one_time | word | one time use, use once, single use; einmalig, einmalverwendung; un solo uso
torque | fasten.torque | figure | tightening torque, torque nm; drehmoment, anzugsmoment, anziehmoment; par, \
par de apriete
angle | fasten.angle | figure | tightening angle, turn angle; winkel, drehwinkel, anziehwinkel; angulo
pattern | fasten.pattern | word | tightening pattern, tightening order; anziehfolge, anziehreihenfolge; orden de apriete
passes | fasten.passes | list | steps of torque, torque passes; anziehstufen; pasadas
oiled | fasten.oiled | word | lubricated, oil thread; geoelt; aceitado
outside diameter | od | size | od, outer diameter, outside dia, outer dia, o d; aussendurchmesser, aussen, \
aussen durchmesser, \
da; diametro exterior, exterior
inside diameter | id bore | size | inner diameter, inside dia, inner dia, i d, hole; innendurchmesser, innen, \
innen durchmesser, di; diametro interior, interior
bore | bore id | size | bore diameter; bohrung; agujero
thickness | t w h l | size | thick, thk, t; dicke, staerke, blechdicke; espesor, grosor
width | w width b t | size | w, wide; breite; ancho, anchura
length | l length | size | l, long, len; laenge; longitud, largo
height | h l | size | h, high; hoehe; altura, alto
diameter | d od | size | d, dia, nominal diameter; durchmesser, nenndurchmesser; diametro, diametro nominal
section | section | size | cord, cross section; schnurdicke, schnurstaerke; seccion, cuerda
wall | wall | size | wall thickness; wand, wandstaerke, wanddicke; pared
floor | floor | size | floor thickness; boden, bodendicke; fondo
wire | wire | size | wire diameter; draht, drahtdurchmesser; alambre, hilo
coils | coils | size | number of coils, turns; windungen, windungszahl; espiras
teeth | teeth | size | number of teeth, z; zaehne, zaehnezahl; dientes, numero de dientes
module | module | size | m; modul; modulo
lugs | lugs | size | tabs, number of lugs; nasen, lappen; orejetas
waves | waves | size | number of waves; wellenzahl; ondas
planets | planets | size | number of planets; planeten, planetenzahl; satelites
"""

# A header that can be read in two ways, and what to call it instead.
TWO_WAYS: Final[Mapping[str, str]] = {
    "no": "number (to order it by), qty (how many) or part (its id)",
    "nr": "number (to order it by), qty (how many) or part (its id)",
    "num": "number (to order it by) or qty (how many)",
    "pos": "part (its id); the order of the lines is the order of removal",
    "masse": "mass or sizes",
    "durchm": "outside diameter or diameter",
}
# Folded, these would be such a header; spelt out they can be read in one way only.
_SPELT: Final = frozenset(["maße"])


def _columns() -> tuple[dict[str, Column], dict[str, str]]:
    columns: dict[str, Column] = {}
    names: dict[str, str] = {}
    units = {"mass": "masses", "torque": "torques"}
    for line in TABLE.strip().splitlines():
        name, path, kind, called = (piece.strip() for piece in line.split("|"))
        where = tuple(path.split(" " if kind == "size" else "."))
        unit = "lengths" if kind in ("size", "sizes") else units.get(name, "")
        columns[name] = Column(name, where, kind, unit)  # type: ignore[arg-type]
        for other in (name, *re.split("[,;]", called)):
            names.setdefault(_key(other), name)
    return columns, names


def _key(heading: str) -> str:
    """Return a heading for comparing: folded, or as it is spelt where only that says what it is."""
    spelt = heading.strip().lower()
    return spelt if spelt in _SPELT else folded(heading)


COLUMNS, NAMES = _columns()

_UNIT_BEHIND: Final = re.compile(r"(.+?)\s*(?:[(\[]\s*([^()\[\]]{1,8})\s*[)\]]|\s(?:in|/)\s*(mm|cm|kg|g|lb))\s*")


def column_of(header: str) -> tuple[Column | None, str]:
    """Return the column that a header names and the unit in it; None and empty for what it does not say.

    >>> column_of("Gewicht [g]")[0].name, column_of("Gewicht [g]")[1], column_of("Farbe")
    ('mass', 'g', (None, ''))
    """
    if (key := _key(header)) in NAMES:
        return COLUMNS[NAMES[key]], ""
    match = _UNIT_BEHIND.fullmatch(header)
    name = NAMES.get(_key(match[1])) if match else None
    if match is None or name is None or not COLUMNS[name].unit:
        return None, ""
    return COLUMNS[name], match[2] or match[3]


# What people write for the words of the format, folded: by the column, then by the word.
_VALUES: Final[Mapping[str, Mapping[str, str]]] = {
    "opens": {
        "up": "up, upward, upwards, oben, nach oben, arriba, hacia arriba",
        "down": "down, downward, downwards, unten, nach unten, abajo, hacia abajo",
    },
    "held by": {
        "loose": "loose, lose, suelto, flojo",
        "slip": "slip, slip fit, sliding, schiebesitz, deslizante",
        "pressed": "pressed, press fit, gepresst, presssitz, eingepresst, prensado, a presion",
        "staked": "staked, verstemmt, remachado",
        "screwed": "screwed, bolted, geschraubt, verschraubt, atornillado, roscado",
        "ring": "ring, circlip, snap ring, sicherungsring, anillo",
        "behind": "behind, captured, dahinter, gefangen, detras, cautivo",
    },
    "wash": {
        "basket": "basket, korb, cesta",
        "small_basket": "small basket, kleiner korb, cesta pequena",
        "wipe": "wipe, wischen, abwischen, limpiar con trapo",
        "no_solvent": "no solvent, kein loesemittel, sin disolvente",
        "not_washed": "not washed, nicht waschen, no lavar, no se lava",
        "before": "before, before the wash, vorher, vor dem waschen, antes",
    },
    "lay": {"each": "each, einzeln, cada una", "stack": "stack, stapel, pila", "cup": "cup, becher, vaso"},
    "thread": {
        "right": "right, right hand, rh, rechts, rechtsgewinde, derecha, a derechas",
        "left": "left, left hand, lh, links, linksgewinde, izquierda, a izquierdas",
    },
    "one time": {"true": "yes y x true ja si 1 wahr verdadero", "false": "no n false nein 0 falsch falso"},
    "oiled": {"true": "yes y x true ja si 1 wahr verdadero", "false": "no n false nein 0 falsch falso"},
    "pattern": {
        "circle": "circle, kreis, circulo",
        "row": "row, reihe, fila",
        "two_rows": "two rows, zwei reihen, dos filas",
    },
    "renew": {
        "always": "always, immer, siempre, yes, ja, si, x",
        "if_worn": "if worn, when worn, bei verschleiss, wenn verschlissen, si esta gastado, segun desgaste",
        "never": "never, nie, niemals, nunca, no, nein",
    },
}
_FREE: Final = frozenset(["free", "any", "either", "either way", "frei", "beliebig", "egal", "libre", "cualquiera"])
NOTHING: Final = frozenset(
    ["", "-", "--", "–", "?", "n/a", "n.a.", "not recorded", "unknown", "unbekannt", "desconocido"]
)


def _spelt(words: str) -> list[str]:
    return [word.strip() for word in (words.split(",") if "," in words else words.split())]


_SPELLINGS: Final = {
    column: {folded(spelling): word for word, spellings in words.items() for spelling in (word, *_spelt(spellings))}
    for column, words in _VALUES.items()
}


def word_of(column: str, text: str) -> str:
    """Return the format's word for what a cell of a column says; a text that is none stays what it is.

    >>> word_of("thread", "Links"), word_of("up", "beliebig"), word_of("wash", "basin")
    ('left', 'free', 'basin')
    """
    if column in ("up", "clock") and folded(text) in _FREE:
        return "free"
    return _SPELLINGS.get(column, {}).get(folded(text), text)
