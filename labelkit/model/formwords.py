"""What the trade calls each form, in English, German and Spanish: a name tells which form a part has.

Source: ordinary words of the trade, from memory.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from functools import cache
from typing import Final, get_origin

from labelkit.language import LANGUAGES
from labelkit.model.form import FORMS

# Of each form its words, a text for each of `LANGUAGES`, the usual word of each language first. A word that names
# several forms stands with each, with the likeliest first in this table.
_WORDS: Final[dict[str, tuple[str, ...]]] = {
    "ring": (
        "washer, thrust washer, shim, spacer, spacer ring, gasket ring, sealing ring, backup ring, back-up ring, race, "
        "distance ring, collar, ring",
        "Scheibe, Anlaufscheibe, Unterlegscheibe, Passscheibe, Distanzring, Abstandsring, Dichtscheibe, Stützring, "
        "Laufscheibe, Beilagscheibe, Ring",
        "arandela, arandela de empuje, suplemento, galga, cala, espaciador, separador, distanciador, "
        "anillo distanciador, anillo de apoyo, pista, anillo",
    ),
    "o_ring": ("o-ring, oring", "O-Ring, Rundschnurring", "junta tórica, anillo tórico"),
    "snap_ring": (
        "snap ring, circlip, retaining ring",
        "Sicherungsring, Sprengring",
        "anillo de seguridad, anillo de retención, circlip, anillo elástico",
    ),
    "drum": (
        "drum, clutch drum, clutch housing, bell, housing, cover, cowl, cup",
        "Trommel, Lamellenträger, Kupplungskorb, Gehäuse, Deckel, Haube, Topf",
        "tambor, campana, carcasa, tapa",
    ),
    "hub": (
        "hub, housing, flange, cover, boss, coupling half",
        "Nabe, Bremsnabe, Kupplungsnabe, Gehäuse, Flansch, Deckel",
        "cubo, carcasa, brida, tapa",
    ),
    "gear": (
        "gear, pinion, sun gear, spur gear, planet gear, planet, idler",
        "Zahnrad, Ritzel, Sonnenrad, Stirnrad, Planetenrad",
        "engranaje, piñón, rueda dentada, satélite, planeta",
    ),
    "ring_gear": ("ring gear, annulus, internal gear", "Hohlrad", "corona, corona dentada"),
    "carrier": ("carrier, planet carrier", "Planetenträger, Steg", "portasatélites, portaplanetas"),
    "shaft": (
        "shaft, spindle, axle, sun shaft, pinion shaft",
        "Welle, Spindel, Achse, Ritzelwelle",
        "eje, árbol, husillo",
    ),
    "ball_bearing": (
        "ball bearing, bearing",
        "Kugellager, Rillenkugellager, Lager, Wälzlager",
        "rodamiento de bolas, rodamiento rígido de bolas, rodamiento, cojinete de bolas",
    ),
    "roller_bearing": (
        "roller bearing, cylindrical roller bearing, bearing",
        "Rollenlager, Zylinderrollenlager, Lager, Wälzlager",
        "rodamiento de rodillos, rodamiento de rodillos cilíndricos, rodamiento",
    ),
    "taper_cone": (
        "bearing cone, taper cone, tapered cone, cone, tapered bearing, taper roller bearing, tapered roller bearing",
        "Lagerinnenring, Kegelrollenlager, Innenring",
        "cono, cono de rodamiento, rodamiento cónico, rodamiento de rodillos cónicos",
    ),
    "taper_cup": (
        "bearing cup, taper cup, tapered cup, cup",
        "Lageraußenring, Außenring",
        "cubeta, cubeta de rodamiento",
    ),
    "needle_cage": (
        "needle cage, needle bearing, needle roller bearing, needles, needle rollers",
        "Nadelkranz, Nadellager, Nadelkäfig, Nadelhülse",
        "jaula de agujas, rodamiento de agujas, corona de agujas, agujas",
    ),
    "thrust_bearing": (
        "thrust bearing, thrust needle bearing, thrust needle cage, thrust needles, thrust cage, thrust roller bearing",
        "Axiallager, Drucklager, Axialnadellager, Axialnadelkranz, Axialkranz",
        "rodamiento axial, cojinete axial, rodamiento axial de agujas",
    ),
    "friction_plate": (
        "friction plate, friction disc, friction disk, lined plate, clutch disc, brake disc",
        "Reiblamelle, Belaglamelle, Reibscheibe, Bremsscheibe, Innenlamelle",
        "disco de fricción, disco de embrague, disco de freno, disco forrado",
    ),
    "steel_plate": (
        "steel plate, steel disc, steel disk, pressure plate, backing plate, end plate, separator plate",
        "Stahllamelle, Druckplatte, Endlamelle, Außenlamelle, Stahlscheibe",
        "disco de acero, disco metálico, plato de presión, disco separador",
    ),
    "wave_spring": (
        "wave spring, wave washer, waved spring, wavy washer",
        "Wellfeder, Wellenfeder, Wellscheibe, Federscheibe",
        "arandela ondulada, muelle ondulado, resorte ondulado",
    ),
    "disc_spring": (
        "disc spring, disk spring, cup spring, coned spring washer, conical spring washer",
        "Tellerfeder",
        "muelle de disco, arandela elástica cónica, resorte de disco, muelle de platillo",
    ),
    "coil_spring": (
        "coil spring, spring, compression spring, return spring",
        "Feder, Druckfeder, Schraubenfeder, Rückholfeder",
        "muelle, resorte, muelle helicoidal, muelle de compresión",
    ),
    "piston": ("piston", "Kolben", "pistón, émbolo"),
    "lip_seal": (
        "lip seal, shaft seal, oil seal, radial shaft seal, seal",
        "Wellendichtring, Radialwellendichtring, Dichtring",
        "retén, retén de aceite, sello de eje, retén de labio",
    ),
    "bush": (
        "bush, bushing, sleeve, plain bearing",
        "Buchse, Hülse, Gleitlager",
        "casquillo, buje, manguito, cojinete liso",
    ),
    "bolt": (
        "bolt, screw, cap screw, stud, set screw",
        "Schraube, Bolzenschraube, Stiftschraube, Gewindestift",
        "tornillo, perno, espárrago",
    ),
    "nut": ("nut, lock nut, shaft nut", "Mutter, Nutmutter, Wellenmutter", "tuerca, contratuerca"),
    "plug": ("plug, drain plug, fill plug", "Verschlussschraube, Ablassschraube, Stopfen", "tapón, tapón de vaciado"),
    "pin": (
        "pin, dowel, dowel pin, roll pin, button",
        "Stift, Zylinderstift, Passstift, Spannstift, Bolzen",
        "pasador, espiga, clavija, bulón",
    ),
    "key": ("key, parallel key", "Passfeder, Keil", "chaveta"),
    "ball": ("ball, check ball, detent ball", "Kugel", "bola"),
    "lever": ("lever, fork, arm", "Hebel, Gabel, Schaltgabel", "palanca, horquilla"),
    "block": (
        "block, valve, valve block, box, cooler",
        "Block, Ventil, Ventilblock, Klotz",
        "bloque, válvula, bloque de válvulas",
    ),
    "outline": ("gasket, plate", "Flachdichtung, Dichtung, Platte", "junta, junta plana, placa"),
}
# What a thing is stands first ("tuerca del rodamiento"); in the others last ("bearing nut").
_NOUN_FIRST: Final = frozenset(("es",))

_SPREAD: Final = {"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss", "ø": "o"}
# Behind these words stands what the part belongs to, not what it is.
_BELONGS: Final = {
    "en": "for|of|with|in|on|to|under|behind",
    "de": "fuer|in|mit|von|im|am|zu|hinter|unter",
    "es": "con|para|en|bajo|tras",
}
_BEHIND: Final = re.compile(rf"[(,;:]|\b({'|'.join(_BELONGS.values())})\b|\d")
_SHORTEST_IN_COMPOUND: Final = 5
_FIRST: Final = 3


def folded(text: str) -> str:
    """Return a text for comparing: lower case, umlauts spelt out, no accents, one space between words.

    >>> folded("Retén  O-Ring"), folded("Stützring")
    ('reten o ring', 'stuetzring')
    """
    spread = "".join(_SPREAD.get(letter, letter) for letter in unicodedata.normalize("NFC", text).casefold())
    plain = "".join(letter for letter in unicodedata.normalize("NFD", spread) if not unicodedata.combining(letter))
    return " ".join(re.sub(r"[\W_]+", " ", plain).split())


@cache
def form_words() -> tuple[tuple[str, str, str], ...]:
    """Return every word with its form and the code of its language, the usual ones of each form first."""
    return tuple(_each_word())


def _each_word() -> Iterator[tuple[str, str, str]]:
    for kind, by_language in _WORDS.items():
        # A language that is only begun has no words here yet: nothing else may stop because of that.
        for language, words in zip(LANGUAGES, by_language, strict=False):
            yield from ((word.strip(), kind, language) for word in words.split(","))


@cache
def _patterns() -> tuple[tuple[re.Pattern[str], str, str], ...]:
    found = []
    elsewhere = {folded(word) for word, _, language in form_words() if language not in _NOUN_FIRST}
    for word, kind, language in form_words():
        if language in _NOUN_FIRST and folded(word) in elsewhere:
            continue  # pistón: what English or German calls the same stands last there
        plain = folded(word)
        plural = r"(e?s|n|en|er)?"
        # German writes a compound as one word, whose end says what it is.
        start = "" if language == "de" and len(plain) >= _SHORTEST_IN_COMPOUND else r"\b"
        found.append((re.compile(f"{start}{re.escape(plain)}{plural}\\b"), kind, language))
    return tuple(found)


def kinds_of(name: str) -> tuple[str, ...]:
    """Return the forms that a part of this name may have, the likeliest first; empty when the name says nothing.

    What a thing is stands last in English and German ("bearing nut"), first in Spanish ("tuerca del rodamiento").

    >>> kinds_of("Wellendichtring 80 x 110 x 10"), kinds_of("tuerca del eje"), kinds_of("Bearing nut")
    (('lip_seal',), ('nut',), ('nut',))
    """
    spread = re.sub(r"[-_/]+", " ", "".join(_SPREAD.get(letter, letter) for letter in name.casefold()))
    cut = _BEHIND.search(spread)
    head = folded(spread[: cut.start()] if cut and folded(spread[: cut.start()]) else spread)
    found = [
        (*_standing(match, first=language in _NOUN_FIRST), match.start() - match.end(), kind)
        for pattern, kind, language in _patterns()
        for match in pattern.finditer(head)
    ]
    if not found:
        return ()
    best = min(key[:3] for key in found)
    return tuple(dict.fromkeys(kind for *key, kind in found if tuple(key) == best))


def _standing(match: re.Match[str], *, first: bool) -> tuple[bool, int]:
    """Return how well a word stands where a name says what the thing is; the least is the best."""
    return not first, match.start() if first else -match.end()


def sizes_of(kind: str) -> tuple[str, ...]:
    """Return the sizes of a form that are one figure or word each, in the order in which people write them.

    >>> sizes_of("lip_seal"), sizes_of("snap_ring")
    (('id', 'od', 'w'), ('fits', 'd', 't', 'gap'))
    """
    fields = FORMS[kind].model_fields
    return tuple(name for name, info in fields.items() if get_origin(info.annotation) is not tuple)


def first_sizes(kind: str) -> tuple[str, ...]:
    """Return the two or three sizes to ask for first, those that the form cannot be without.

    >>> first_sizes("o_ring"), first_sizes("carrier"), first_sizes("ball")
    (('id', 'section'), ('od', 'h', 'planets'), ('d',))
    """
    return tuple(name for name, info in FORMS[kind].model_fields.items() if info.is_required())[:_FIRST]
