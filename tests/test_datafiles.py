"""Data files are found by name: the shop's first, then the packaged ones."""

from pathlib import Path

import pytest

from labelkit import datafiles
from labelkit.errors import NotFoundError, UsageError

CHECKOUT = Path(__file__).resolve().parent.parent


def _write(path: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("format: 1\n", encoding="utf-8")
    return path


def named(kind):
    """Return the names that there are, sorted."""
    return sorted(path.stem for path in datafiles.files(kind))


def test_packaged_layouts_are_found_from_any_folder(here):
    """Without a shop folder the names are those of the packaged files."""
    expected = sorted(path.stem for path in (CHECKOUT / "layouts").glob("*.yaml"))

    assert expected
    assert named("layouts") == expected


def test_an_installed_package_finds_its_own_data(here, monkeypatch):
    """In an installed package the data lie in its folder _data."""
    expected = _write(here / "site" / "labelkit" / "_data" / "layouts" / "rolls.yaml")
    monkeypatch.setattr(datafiles, "_PACKAGE", here / "site" / "labelkit")

    assert datafiles.find("layouts", "rolls") == expected


def test_a_shop_file_hides_the_packaged_one_of_its_name(here, monkeypatch):
    """Of two files of one name the shop's is found, and only it."""
    expected = _write(here / "shop" / "layouts" / "rolls.yaml")
    monkeypatch.setenv(datafiles.SHOP_VARIABLE, str(here / "shop"))

    assert datafiles.find("layouts", "rolls") == expected
    assert [path for path in datafiles.files("layouts") if path.stem == "rolls"] == [expected]


def test_a_folder_as_it_was_unpacked_is_found_by_the_name_of_its_profile(here):
    """A profile and its photos lie together in a folder; a file beside that folder is the one that is meant."""
    inside = _write(here / "unit_profiles" / "from-next-door" / "kr2.yaml")
    assert datafiles.find("unit_profiles", "kr2") == inside.relative_to(here)

    beside = _write(here / "unit_profiles" / "kr2.yml")
    assert datafiles.find("unit_profiles", "kr2") == beside.relative_to(here)


def test_shop_files_come_first(here, monkeypatch):
    """The shop's own files stand before the packaged ones."""
    expected = _write(here / "shop" / "layouts" / "zebra-wood.yml")
    monkeypatch.setenv(datafiles.SHOP_VARIABLE, str(here / "shop"))

    assert datafiles.files("layouts")[0] == expected


def test_the_working_folder_is_the_shop_unless_one_is_named(here, monkeypatch):
    """./unit_profiles counts without the variable, and no more with it."""
    _write(here / "unit_profiles" / "mill-head.yaml")
    (here / "shop").mkdir()

    assert datafiles.find("unit_profiles", "mill-head") == Path("unit_profiles/mill-head.yaml")
    monkeypatch.setenv(datafiles.SHOP_VARIABLE, str(here / "shop"))
    assert "mill-head" not in named("unit_profiles")


@pytest.mark.parametrize("name", ["./mine", "shop/mine", "mine.yaml", "shop\\mine", "rolls.yaml:roll-50"])
def test_a_separator_or_an_ending_makes_a_path(here, name):
    """What looks like a path is not looked up, whether it is there or not."""
    assert datafiles.find("layouts", name) == Path(name)


def test_an_unknown_name_is_answered_with_the_nearest(here):
    """The error says what was asked, what there is and what was probably meant."""
    with pytest.raises(NotFoundError) as error:
        datafiles.find("layouts", "papers-")

    assert 'no layout file named "papers-"' in str(error.value)
    assert "trays" in str(error.value)
    assert "did you mean papers?" in str(error.value)


def test_a_shop_folder_that_is_not_there_is_told(here, monkeypatch):
    """A misspelt LABELKIT_SHOP is an error, not an empty shop."""
    monkeypatch.setenv(datafiles.SHOP_VARIABLE, str(here / "shopp"))

    with pytest.raises(UsageError, match=r"LABELKIT_SHOP: found .*shopp, which is not a folder"):
        named("layouts")


def test_hidden_and_other_files_are_passed_over(here):
    """Editors' hidden files, notes and folders are no data."""
    for name in (".#rolls.yaml", "notes.txt"):
        _write(here / "unit_profiles" / name)
    (here / "unit_profiles" / "photos").mkdir()
    before = {*named("unit_profiles")}

    _write(here / "unit_profiles" / "pump.yaml")

    assert {*named("unit_profiles")} - before == {"pump"}
    assert not {".#rolls", "notes", "photos"} & before
