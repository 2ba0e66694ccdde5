"""Parts from a table: under any heading of the trade, every fault and doubt at its place, back to the same profile."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from labelkit.errors import InputError, InputErrors
from labelkit.load.exporting import parts_csv, template_csv
from labelkit.load.importing import ImportedTable, import_parts
from labelkit.load.partheadings import read_mapping
from labelkit.load.profile import LoadedProfile, load_profile, parse_profile
from labelkit.load.table import LARGEST_FILE
from labelkit.load.writer import profile_yaml
from labelkit.model.part import Part
from labelkit.model.profile import Profile
from tests.shop import DEMO_UNITS

HEADER = {"mark": "KR2", "name": "Reducer", "up": "input side"}


def read(text: str | bytes, **arguments: Any) -> ImportedTable:
    data = text if isinstance(text, bytes) else text.encode()
    return import_parts(data, "parts.csv", HEADER, **arguments)


def parts(text: str | bytes, **arguments: Any) -> tuple[Part, ...]:
    found = read(text, **arguments)
    assert found.profile is not None, found.faults
    return found.profile.parts


def faults(text: str, **arguments: Any) -> list[str]:
    return [str(fault) for fault in read(text, **arguments).faults]


def doubts(text: str, **arguments: Any) -> list[str]:
    return [str(doubt) for doubt in read(text, **arguments).doubts]


ENGLISH = """part,name,qty,kind,size,weight [g],part no.,inside of,on,clock,hand,renew,held by
cover-screw,Cover screw,6 pcs,bolt,M8 x 30,15.5,00123,,Cover,free,left,if worn,screwed
cover,Cover,1,,,,,,,6 o'clock,,,
seal,Shaft seal,1,,40 x 62 x 7.5,,4-711,cover,,any,,always,press fit
shims,Shim,set,ring,72 x 50 x 0.60,1.25,,,cover,12,,with cover,loose
"""
GERMAN = """Kurzzeichen;Bezeichnung;Menge;Bauform;Abmessungen;Gewicht [g];Bestell-Nr.;Baugruppe;Liegt auf;Uhr;\
Gewinde;Erneuern;Gehalten durch
cover-screw;Cover screw;6 Stk.;Schraube;M8 x 30;15,5;00123;;Cover;frei;links;bei Verschleiß;geschraubt
cover;Cover;1 Stück;;;;;;;6 Uhr;;;
seal;Shaft seal;1;Wellendichtring;40 x 62 x 7,5;;4-711;cover;;beliebig;;immer;gepresst
shims;Shim;Satz;Scheibe;72 x 50 x 0,60;1,25;;;cover;12:00;;mit cover;lose
"""
SPANISH = """identificador\tnombre\tcantidad\tforma\tmedidas\tpeso (g)\treferencia\tconjunto\tapoya en\treloj\t\
rosca\trenovar\tsujeción
cover-screw\tCover screw\t6 uds\ttornillo\tM8 x 30\t15,5\t00123\t\tCover\tlibre\tizquierda\tsi está gastado\tatornillado
cover\tCover\t1 pza\t\t\t\t\t\t\ta las 6\t\t\t
seal\tShaft seal\t1\tretén\t40 x 62 x 7,5\t\t4-711\tcover\t\tlibre\t\tsiempre\tprensado
shims\tShim\tjuego\tarandela\t72 x 50 x 0,60\t1,25\t\t\tcover\t12\t\tcon cover\tsuelto
"""


def test_one_line_a_part_in_three_languages_is_the_same_profile() -> None:
    """Headings and words in English, German and Spanish; comma, semicolon, tab; point and comma; mark or none."""
    wanted = read(ENGLISH).profile

    assert wanted
    assert [part.id for part in wanted.parts] == ["cover-screw", "cover", "shims"]
    assert [part.id for part in wanted.parts[1].parts] == ["seal"]
    assert wanted.parts[0].number == "00123"
    assert wanted.parts[2].qty == "set"
    for other in (GERMAN, SPANISH, "\ufeff" + GERMAN.replace("\n", "\r\n"), "sep=;\n" + GERMAN):
        assert read(other).profile == wanted, read(other).faults


def test_sizes_stand_in_columns_of_any_unit() -> None:
    """A heading may name the unit; which size a word means depends on the form; inches stay inches."""
    (ring,) = parts("name;form;Außendurchmesser [in];inner dia;thickness\nSpacer;ring;2 1/4;1,5 in;2,60\n")
    (bearing,) = parts("name;OD;inside diameter;width\nBall bearing;62;30;16\n")

    assert str(ring.form) == str(parts("name,form,sizes\nSpacer,ring,od=2.25 in; id=1.5 in; t=2.60\n")[0].form)
    assert bearing.form == parts("name,sizes\nBall bearing,30 x 62 x 16\n")[0].form


def test_an_id_is_made_of_the_name_where_there_is_none() -> None:
    """Each once; names stand for the parts they name."""
    found = parts("Benennung;liegt auf\nPaßscheibe;\nPaßscheibe;\nDeckel 2;Paßscheibe\n")

    assert [part.id for part in found] == ["passscheibe", "passscheibe-2", "deckel-2"]
    assert found[2].sits
    assert found[2].sits.on == "passscheibe"


def test_a_mapping_names_the_rest() -> None:
    """And leaves columns out without a word."""
    mapping = read_mapping(b"Was: name\nWieviel: qty\nRegal:\n", "map.yaml")

    assert parts("WAS;Wieviel;Regal\nRing;4;R2\n", mapping=mapping)[0].qty == 4
    assert doubts("WAS;Wieviel;Regal\nRing;4;R2\n", mapping=mapping) == []
    with pytest.raises(InputErrors) as caught:
        read_mapping(b"Was: nam\nX: [a]\n", "map.yaml")
    assert [str(p).partition("; allowed")[0] for p in caught.value.problems] == [
        'map.yaml:1:6: Was: found "nam"',
        'map.yaml:2:4: X: found "a list or mapping"',
    ]
    assert "did you mean name?" in str(caught.value)


def test_every_doubt_is_told_at_its_place() -> None:
    """Columns that are not read, forms and sizes from names, a ring written the other way round, a pitch."""
    table = "name,colour,sizes,form\nShaft seal,red,40 x 62 x 8,\nNut,,M22 x 1.5,nut\nShim,,50 x 72 x 2,ring\n"
    table += "X,,5,\nR,,5,ring\nS,,,shaft\nC,,30,circlip\n"

    assert doubts(table) == [
        'parts.csv:1:6: the column "colour" is not read',
        "parts.csv:2:16: sizes: the form lip_seal is taken from the name",
        "parts.csv:3:6: sizes: 1.5 is read as the pitch, which a nut has no field for",
        "parts.csv:4:7: sizes: a ring is written od x id or id x od: read as inside 50, outside 72",
        "parts.csv:5:4: sizes: has sizes and no form, and its name says none: name one in a column form; "
        "the sizes are left out",
        "parts.csv:6:6: form: the form ring needs id, t too: it is left without a form",
        "parts.csv:7:5: form: the form shaft needs steps=45x76+50x86 too: it is left without a form",
        "parts.csv:8:7: form: the form snap_ring needs fits=shaft or fits=bore, t too: it is left without a form",
    ]
    assert doubts("Name;Maße\nAnkerplatte;120 x 50 x 10\n") == [
        "parts.csv:2:13: Maße: has sizes and no form, and its name says none: name one in a column form; the sizes are "
        "left out"
    ], "a plate is an outline at most, whose places no row of figures tells"
    assert doubts("Name;hacia arriba\nRetén;labio hacia abajo\nRing;Fase\n") == [
        'parts.csv:2:7: hacia arriba: "labio hacia abajo" says a way and names no face: labels print it as it stands; '
        "write the face that is up, and up or down, for its end, in a column opens"
    ]
    assert "did you mean quantity, which is the column qty?" in doubts("name,quantitiy\nRing,1\n")[0]
    assert doubts("name,form\nBall bearing 30 x 62 x 16,\n") == []
    assert "are taken from the name" in doubts("name\nShaft seal 40 x 62 x 8\n")[0]


def test_every_fault_is_told_at_its_place() -> None:
    """Of the cells and of what they name; all at once."""
    table = (
        "part,name,in,qty,lies on,clock,OD,inside diameter,thickness,held by\n"
        "a,Spacer ring,b,4 of,shim,13:00,50,60.5,0.1,glue\n"
        'b,"Box\nlid",a,,,,,,,\n'
        "c,,zz,1,,,,,,\n"
        "c,Nut,,x,,,=2+3,,,\n"
        "d,Nut,,,,,5,,,,behind\n"
    )
    told = [fault.partition("; allowed")[0].partition(";")[0] for fault in faults(table)]

    assert told == [
        "parts.csv:2:15: in: a would stand inside itself, or more than 8 deep",
        'parts.csv:2:17: qty: found "4 of"',
        "parts.csv:2:22: lies on: found shim",
        'parts.csv:2:27: clock: found "13:00"',
        "parts.csv:2:33: OD: id 60.5 mm is not smaller than od 50 mm",
        'parts.csv:2:45: held by: found "glue"',
        "parts.csv:4:6: in: b would stand inside itself, or more than 8 deep",
        'parts.csv:5:4: in: "zz" is no part here',
        "parts.csv:6:1: part: the id c is already that of the part in line 5",
        'parts.csv:6:8: qty: found "x"',
        'parts.csv:6:12: OD: found "=2+3": a formula is never run',
        'parts.csv:7:16: found "behind" behind the last column',
    ]
    assert faults("name,lies on\nShaft seal,Shft seal\n") == [
        'parts.csv:2:12: lies on: found "Shft seal"; no part of the table is called so; write its id or its whole '
        "name; allowed: Shaft seal; did you mean Shaft seal?"
    ]


@pytest.mark.parametrize(
    ("table", "words"),
    [
        (
            "name;thickness\nX;1,250\n",
            "parts.csv:2:3: thickness: found 1,250: is the sign for decimals or for thousands?",
        ),
        ("name;mass\nX;1.250,00\n", "thousands are not set apart"),
        ("name;mass\nX;0,5\nY;0.5\n", "the decimal sign of this file is the comma; did you mean 0,5?"),
        ("name;OD;id\nX;5;3\n", 'parts.csv:1:9: the column "id" can be read in two ways'),
        ("name;Nr\nX;5\n", 'parts.csv:1:6: the column "Nr" can be read in two ways; call it number'),
        ("name;qty;Menge\nX;5;3\n", 'parts.csv:1:10: the columns "qty" and "Menge" say the same, qty; keep one, or'),
        ("name;only\nX;flange\n", "write GROUP=CHOICE"),
        (
            "name;form;sizes\nX;ring;72 x wide x 3\n",
            'parts.csv:2:8: sizes: "wide" is no figure; write the sizes of a ring as od x id x t',
        ),
        ("name;form;sizes;OD\nX;ring;72 x 50 x 3;70\n", "od is 70 here and 72 in another column; keep one"),
        ("name;form;sizes\nX;washr;7\n", 'found the form "washr", which is not known; allowed: ring, o_ring, '),
        ("name;form;sizes\nX;washr;7\n", "block, outline; did you mean washer, which is ring?"),
        ("name;form;sizes\nX;xyz;7\n", 'found the form "xyz"; allowed: ring, o_ring, '),
        ("Name;Masse\nX;5\n", 'parts.csv:1:6: the column "Masse" can be read in two ways; call it mass or sizes'),
        ("name;form;teeth\nX;ring;7\n", "a ring has no teeth; its sizes are od, id, t"),
        ("name\n\n", "holds no line with a part"),
    ],
)
def test_what_can_be_read_in_two_ways_is_asked(table: str, words: str) -> None:
    """Nothing is guessed in silence."""
    assert any(words in fault for fault in faults(table)), faults(table)


def test_a_form_that_names_no_kind_for_sure_is_not_called_missing() -> None:
    """It is quoted, with the kinds that it may be, and of a slip the word that was meant."""
    assert doubts("name;form;sizes\nX;Kugelager;20x42x12\nY;bearing;\n") == [
        'parts.csv:2:3: form: found the form "Kugelager", which is not known: it may be ball_bearing or '
        "roller_bearing; name one of them; the sizes are left out; did you mean Kugellager, which is ball_bearing?",
        'parts.csv:3:3: form: found the form "bearing": it may be ball_bearing or roller_bearing; name one of them',
    ]


def test_headings_that_only_their_spelling_tells_apart() -> None:
    """Maße are sizes, also with a unit behind; Winkel is the angle beside Drehmoment."""
    (screw, ring) = parts("Name;Form;Maße [mm];Drehmoment;Winkel\nX;Schraube;M8 x 30;25;60\nY;Ring;72 x 50 x 3;;\n")

    assert screw.form == parts("name;form;sizes\nX;bolt;M8 x 30\n")[0].form
    assert ring.form == parts("name;form;sizes\nX;ring;72 x 50 x 3\n")[0].form
    assert screw.fasten is not None
    assert (str(screw.fasten.torque), str(screw.fasten.angle)) == ("25 N·m", "60 deg")
    assert doubts("Name;Nummer\nX;5\n") == ['parts.csv:1:6: the column "Nummer" is not read; did you mean number?']


def test_a_declared_decimal_sign_answers_for_the_file() -> None:
    """One and a quarter where the comma is declared."""
    (part,) = parts("name;form;sizes\nX;ball;1,250\n", decimal=",")

    assert part.form == parts("name;form;sizes\nX;ball;1.2500\n")[0].form


def test_formulas_stay_texts_and_are_guarded_when_written() -> None:
    """Source: OWASP page on CSV injection, from memory."""
    found = read('name,number\n"=HYPERLINK(""x"")",@SUM(1)\n\'-5,+49\n')

    assert found.profile
    assert [part.name for part in found.profile.parts] == ['=HYPERLINK("x")', "-5"]
    assert [doubt.column for doubt in found.doubts] == [1, 21]
    cells = [cell for row in csv.reader(io.StringIO(parts_csv(found.profile).decode("utf-8-sig"))) for cell in row]
    assert {'\'=HYPERLINK("x")', "'-5", "'@SUM(1)", "'+49"} <= set(cells)


def bare(profile: Profile) -> LoadedProfile:
    """Return a profile whose parts say only what no cell can, each under a wrong name."""
    left = ("check", "hazards", "look_alike")
    flat = [Part(id=p.id, name="?", **{key: getattr(p, key) for key in left}) for _, p in profile.walk()]
    empty = profile.model_copy(update={"parts": tuple(flat)})
    return LoadedProfile(empty, "base.yaml", profile_yaml(empty), None)


def lone(base: LoadedProfile, name: str) -> LoadedProfile:
    """Return a profile of one of its parts, without what speaks of others."""
    (part,) = (part for part in base.profile.parts if part.id == name)
    alone = part.model_copy(update={"sits": None, "only": {}, "keep_with": (), "look_alike": (), "out": None})
    profile = base.profile.model_copy(update={"parts": (alone,), "fits": {}, "assembly": ()})
    return LoadedProfile(profile, "lone.yaml", profile_yaml(profile), None)


@pytest.mark.parametrize("name", DEMO_UNITS)
@pytest.mark.parametrize(("delimiter", "decimal"), [(",", "."), (";", ","), ("\t", ",")])
def test_a_profile_comes_back_from_its_table(name: str, delimiter: str, decimal: Any) -> None:
    """Put onto the header, options, fits and rules that no line holds, its parts are the same."""
    profile = load_profile(name).profile
    table = parts_csv(profile, delimiter=delimiter, decimal=decimal)

    found = import_parts(table, "parts.csv", {}, onto=bare(profile))

    assert (found.faults, found.doubts) == ((), ())
    assert found.profile == profile


@pytest.mark.parametrize("pattern", [("3",), ("1", "4", "2")])
def test_an_order_of_tightening_comes_back_from_its_table(pattern: tuple[str, ...]) -> None:
    """Of one place, too: found by hostile profiles."""
    unit = "format: 1\nunit: {mark: KR2, name: X, up: in}\n"
    text = f"{unit}parts: [{{id: a, name: A, fasten: {{pattern: [{', '.join(pattern)}]}}}}]"
    loaded = parse_profile(text.encode(), "kr2.yaml", None)

    assert import_parts(parts_csv(loaded.profile), "parts.csv", {}, onto=loaded).profile == loaded.profile


def test_a_part_that_has_no_line_is_told_and_what_has_no_column_stays() -> None:
    """The table is the truth for its own columns."""
    base = load_profile("planetary-reducer")
    found = import_parts(b"part,name,mass\noil-plugs,Plug,\n", "parts.csv", {}, onto=base)
    before = next(part for part in base.profile.parts if part.id == "oil-plugs")

    emptied = next(line.data for line in found.lines)
    tabled = b"part,name,mass,qty\noil-plugs,Plug,,4\n"
    (kept,) = import_parts(tabled, "parts.csv", {}, onto=lone(base, "oil-plugs")).profile.parts  # type: ignore[union-attr]

    assert "mass" not in emptied
    assert (kept.name, kept.qty, kept.mass, kept.hazards, kept.form) == ("Plug", 4, None, before.hazards, before.form)
    assert len(found.doubts) == sum(1 for _ in base.profile.walk()) - 1
    assert found.faults  # fits and rules name parts that are not there any more
    assert "oil-plugs" in {line.data["id"] for line in found.lines}
    assert before.mass is not None


def test_the_template_reads_without_a_doubt() -> None:
    """Its lines are examples to write over."""
    for delimiter, decimal in ((",", "."), (";", ",")):
        found = read(template_csv(delimiter=delimiter, decimal=decimal))  # type: ignore[arg-type]
        assert (found.faults, found.doubts, len(found.lines)) == ((), (), 3)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "the file is empty"),
        (b"\0\1", "is a binary file"),
        ("name\nX\n".encode("utf-16"), "is UTF-16 text"),
        ("name\nBügel\n".encode("cp1252"), "parts.csv:2:2: holds the byte 0xFC, which is not UTF-8"),
        (b"colour,weight\nred,5\n", "parts.csv:1:1: no column is named name; found: colour | weight;"),
        (b"a,b,c,d,e,f,g,h,i\n1\n", "found: a | b | c | d | e | f | g | h | ... (9 in all);"),
        (b"name," * 1_000_000 + b"\n", "names 1000001 columns; allowed: 200"),
        (b"name\n" + b"x" * LARGEST_FILE, "the file has over 32 MB"),
    ],
)
def test_what_is_no_table_of_parts_is_told(data: bytes, words: str) -> None:
    """With line and column where there is one; a million columns too."""
    with pytest.raises(InputError, match=r".") as caught:
        read(data)
    assert words in str(caught.value)


CELLS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        ["name", "part", "in", "qty", "sizes", "form", "OD", "mass", "on", "only", "renew", "clock", "id", "tool"]
    ),
    st.sampled_from(
        ["72 x 50 x 2,6", "M8 x 1,25", "od=5; id=", "4 pcs", "=1+1", '"', "a=b", "1,250", "0.5", "ring", "a", "b"]
    ),
)
TABLES = st.lists(st.lists(CELLS, min_size=1, max_size=8), min_size=1, max_size=6)


@settings(max_examples=50, deadline=None)
@given(TABLES, st.sampled_from(",;\t"), st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]), st.booleans())
@example([["name", "in"], ["a", "b"], ["b", "a"]], ",", "utf-8", True)
@example([["name", "form", "sizes"], ["a", "shaft", "=x+"], ["b", "outline", "points=1x"]], ";", "utf-8", True)
def test_no_table_makes_it_crash(rows: list[list[str]], delimiter: str, encoding: str, quoted: bool) -> None:
    """Encodings, quotes, separators: a profile, or faults each with its line and column."""
    stream = io.StringIO()
    if quoted:
        csv.writer(stream, delimiter=delimiter).writerows(rows)
    else:
        stream.write("\n".join(delimiter.join(row) for row in rows))
    for head in ("", f"part{delimiter}name{delimiter}qty{delimiter}form{delimiter}sizes{delimiter}in\n"):
        try:
            found = read((head + stream.getvalue()).encode(encoding, "replace"))
        except InputErrors as error:
            told = error.problems
        except InputError:
            told = ()  # of the whole file: it has no line
        else:
            told = (*found.faults, *found.doubts)
            assert (found.profile is None) == bool(found.faults)
        assert all(problem.line and problem.column for problem in told)
