"""Names and forms that are offered while a name is typed."""

from __future__ import annotations

from collections import Counter

from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.suggest import MOST, kinds, names_before, suggest
from labelkit.language import speaking
from labelkit.load.profile import load_profile
from labelkit.model.form import FORMS

BEFORE: Counter[tuple[str, str | None]] = Counter(
    {("Thrust washer", "ring"): 1, ("Thrust needle cage", "thrust_bearing"): 4, ("Odd thing", None): 2}
)


def names(typed: str) -> list[str]:
    return [each.name for each in suggest(typed, BEFORE)]


def test_what_was_typed_before_comes_first_and_the_frequent_above_the_rare() -> None:
    """Then what the trade calls the forms."""
    assert names("thr")[:2] == ["Thrust needle cage", "Thrust washer"]
    assert "Thrust bearing" in names("thr")
    assert (suggest("thr", BEFORE)[0].kind, suggest("thr", BEFORE)[0].times) == ("thrust_bearing", 4)


def test_each_name_is_offered_once() -> None:
    """A name typed before that the trade uses too is the one from before."""
    assert names("thrust washer").count("Thrust washer") == 1
    assert suggest("thrust washer", BEFORE)[0].times == 1


def test_nothing_is_offered_before_a_letter_and_names_of_this_unit_first() -> None:
    """Of names that fit equally well, however often other units have another one."""
    assert names(" ") == []
    assert names("thr")[:2] == [each.name for each in suggest("thr", BEFORE, {"Thrust washer"})[1::-1]]


def test_words_may_be_started_in_any_order_without_accents() -> None:
    """As a thumb types; one wrong letter does not end the help."""
    assert names("cage need thr")[0] == "Thrust needle cage"
    assert "Retén de aceite" in names("reten")
    with speaking("de"):
        assert "Wellendichtring" in names("wellndicht")
    assert names("qqqq") == names("wellndicht") == [], "a slip in another language is noise"


def test_the_language_that_is_spoken_comes_alone_where_it_fits() -> None:
    """Bolt in English, where German has its pin and Spanish its ball; what no English word fits is still found."""
    assert names("bol") == ["Bolt"]
    assert names("bola")[:2] == ["Bola", "Cojinete de bolas"]
    with speaking("de"):
        assert names("bol")[0] == "Bolzen"
        assert "Bolt" not in names("bol")


def test_the_form_of_a_name_is_what_it_was_before_or_what_its_words_say() -> None:
    """The odd thing has none."""
    assert kinds("thrust NEEDLE cage", BEFORE) == ("thrust_bearing",)
    assert kinds("Wellendichtring 40 x 60 x 8", BEFORE) == ("lip_seal",)
    assert kinds("Odd thing", BEFORE) == ()


def test_profiles_teach_their_names() -> None:
    """Every part of a demo unit is found again by its own name."""
    profile = load_profile("marine-gear").profile
    before = names_before([profile])

    assert sum(before.values()) == sum(1 for _ in profile.walk())
    for _, part in profile.walk():
        assert suggest(part.name, before)[0].name == part.name


@settings(max_examples=50, deadline=None)
@given(st.text(max_size=30))
def test_any_text_gets_an_answer(typed: str) -> None:
    """At most so many, each of a known form."""
    found = suggest(typed, BEFORE)

    assert len(found) <= MOST
    assert {each.kind for each in found} <= {None, *FORMS}
