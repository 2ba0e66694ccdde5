"""What the trade calls the forms. Words: ordinary words of the trade, from memory."""

from __future__ import annotations

import pytest

from labelkit.bench.capturewords import kind_name
from labelkit.language import LANGUAGES, speaking
from labelkit.load.profile import load_profile
from labelkit.model.form import FORMS
from labelkit.model.formwords import first_sizes, form_words, kinds_of, sizes_of


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("Wellendichtring", "lip_seal"),
        ("Radial shaft seal 80 x 110 x 10", "lip_seal"),
        ("Retén de eje 80x110x10", "lip_seal"),
        ("Zylinderschraube M8 x 30", "bolt"),
        ("Cover screws M12 x 35, 10.9", "bolt"),
        ("Tornillo de la tapa", "bolt"),
        ("Planet carrier bolt", "bolt"),
        ("Bearing nut", "nut"),
        ("Tuerca del rodamiento", "nut"),
        ("Sicherungsring für Welle 40", "snap_ring"),
        ("Circlip for shaft 40", "snap_ring"),
        ("Anillo de seguridad para eje", "snap_ring"),
        ("O-Ring 132 x 5,3", "o_ring"),
        ("Junta tórica", "o_ring"),
        ("Junta del cárter", "outline"),
        ("Rillenkugellager", "ball_bearing"),
        ("Kegelrollenlager", "taper_cone"),
        ("Planetenträger", "carrier"),
        ("Anlaufscheiben", "ring"),
        ("Tellerfedern", "disc_spring"),
        ("Druckfeder für Kolben", "coil_spring"),
        ("Piston seal", "lip_seal"),
        ("Pistón", "piston"),
        ("Shims behind the piston", "ring"),
        ("Bremsnabe", "hub"),
        ("Fan cowl", "drum"),
        ("Stahllamelle", "steel_plate"),
        ("Disco de fricción", "friction_plate"),
    ],
)
def test_a_name_tells_the_form(name: str, kind: str) -> None:
    """The last word of English and German, the first of Spanish; not what it belongs to."""
    assert kinds_of(name)[:1] == (kind,)


@pytest.mark.parametrize("name", ["", "   ", "KR2-1107", "123", "(), ", "Unbekannt"])
def test_a_name_that_says_nothing_gets_no_form(name: str) -> None:
    """Nothing is guessed."""
    assert kinds_of(name) == ()


def test_a_name_that_says_several_gets_them_all() -> None:
    """A bearing may be of balls or of rollers."""
    assert kinds_of("Lager") == kinds_of("bearing") == kinds_of("rodamiento") == ("ball_bearing", "roller_bearing")


def test_every_form_has_words_in_every_language_that_lead_to_it() -> None:
    """No word of the table leads elsewhere."""
    wordless = {(k, v) for k in FORMS for v in LANGUAGES} - {(kind, language) for _, kind, language in form_words()}
    assert not wordless, "give each form a text for each language in _WORDS of model/formwords.py"
    for word, kind, _ in form_words():
        assert kind in kinds_of(word), word


def test_a_language_that_is_only_begun_stops_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its forms have their English names until somebody gives them others."""
    monkeypatch.setitem(LANGUAGES, "nl", "Nederlands")
    form_words.cache_clear()
    with speaking("nl"):
        assert ("Bolt", "Snap ring") == (kind_name("bolt"), kind_name("snap_ring"))
    form_words.cache_clear()


def test_most_parts_of_the_demo_units_are_known_by_their_names() -> None:
    """Names that people gave, not the table's."""
    parts = [part for name in ("planetary-reducer", "marine-gear") for _, part in load_profile(name).profile.walk()]

    assert sum(part.form is not None and part.form.kind in kinds_of(part.name) for part in parts) >= 0.75 * len(parts)


@pytest.mark.parametrize("kind", FORMS)
def test_the_sizes_asked_for_first_are_those_a_form_cannot_be_without(kind: str) -> None:
    """One to three, in the order in which they are written."""
    first = first_sizes(kind)

    assert 1 <= len(first) <= 3
    assert all(FORMS[kind].model_fields[name].is_required() for name in first)
    assert [name for name in sizes_of(kind) if name in first] == [name for name in first if name in sizes_of(kind)]
