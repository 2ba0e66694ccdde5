"""Profiles packed with their photos: what is in comes out, and nothing else ever does."""

from __future__ import annotations

import contextlib
import io
import stat
import struct
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.errors import InputError
from labelkit.load import archive
from labelkit.load.archive import pack, unpack

SOURCE = b"format: 1\n"


def zipped(*files: tuple[str | zipfile.ZipInfo, bytes]) -> bytes:
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in files:
            packed.writestr(name, data)
    return written.getvalue()


def link(name: str, mode: int) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name)
    entry.external_attr = (mode | 0o777) << 16
    return entry


@given(
    st.dictionaries(
        st.from_regex(r"photos/[a-z0-9_-]{1,20}( [a-z0-9]{1,9})?\.(jpg|png)", fullmatch=True),
        st.binary(max_size=60),
        max_size=5,
    )
)
def test_what_is_packed_comes_out(photos: dict[str, bytes]) -> None:
    """The profile first; the same content is the same file."""
    packed = pack("kr2.yaml", SOURCE, photos)

    assert unpack(packed, "kr2.zip") == {"kr2.yaml": SOURCE, **photos}
    assert packed == pack("kr2.yaml", SOURCE, dict(reversed(photos.items())))


@pytest.mark.parametrize(
    "path",
    [
        "../kr2.jpg", "photos/../../kr2.jpg", "/etc/kr2.jpg", "//host/kr2.jpg", "C:/kr2.jpg", "photos//a.jpg",
        "./a.jpg", "photos/con.jpg", "photos/a.jpg ", "photos/a?.jpg", "photos/a\n.jpg", "run.sh", "photos/a.svg",
        "a.jpg/b.exe", "x" * 121 + ".jpg", ".../a.jpg",
    ],
)  # fmt: skip
def test_a_path_that_leads_elsewhere_is_refused(path: str) -> None:
    """Paths of known attacks (CWE-22 and CWE-73 name the kinds), and names that another system cannot write."""
    with pytest.raises(InputError, match=r"kr2\.zip: .*allowed: "):
        unpack(zipped(("kr2.yaml", SOURCE), (path, b"x")), "kr2.zip")


def test_a_backslash_is_no_way_out() -> None:
    """Other systems read it as a step; this one is asked with a name that only they would take apart."""
    entry = zipfile.ZipInfo("photos.jpg")
    entry.filename = "..\\photos.jpg"
    with pytest.raises(InputError, match="allowed: "):
        unpack(zipped(("kr2.yaml", SOURCE), (entry, b"x")), "kr2.zip")


@pytest.mark.parametrize("mode", [stat.S_IFLNK, stat.S_IFCHR, stat.S_IFIFO, stat.S_IFSOCK])
def test_links_and_devices_are_refused(mode: int) -> None:
    """A link would write wherever it points (CWE-59)."""
    with pytest.raises(InputError, match="is a link or a device; allowed: files"):
        unpack(zipped(("kr2.yaml", SOURCE), (link("photos/a.jpg", mode), b"/etc/passwd")), "kr2.zip")


def test_a_file_without_a_name_is_refused() -> None:
    """What reads a directory ends a name at its first zero."""
    nameless = zipped(("kr2.yaml", SOURCE), ("a.jpg", b"")).replace(b"a.jpg", b"\0.jpg")
    with pytest.raises(InputError, match=r"kr2\.zip: '': leads elsewhere"):
        unpack(nameless, "kr2.zip")


def test_a_rare_compression_is_refused() -> None:
    """Each of them fails in its own way when it is damaged: a bent byte in this one was no error of ZIP files."""
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w", zipfile.ZIP_LZMA) as packed:
        packed.writestr("kr2.yaml", SOURCE)
    whole = written.getvalue()
    for content in (whole, whole.replace(b"\x5d\0\0", b"\xff\0\0", 1)):
        with pytest.raises(InputError, match=r"kr2\.yaml': is compressed in a rare way \(14\)"):
            unpack(content, "kr2.zip")


@pytest.mark.parametrize(
    ("files", "words"),
    [
        ((), "holds these profiles: none"),
        ((("a.yaml", SOURCE), ("b.yml", SOURCE)), "holds these profiles: a.yaml, b.yml"),
        ((("deep/a.yaml", SOURCE),), "holds these profiles: deep/a.yaml"),
        ((("a.yaml", SOURCE), ("p/A.jpg", b""), ("P/a.JPG", b"")), "P/a.JPG: is in it twice"),
    ],
)
def test_one_profile_and_each_picture_once(files: tuple[tuple[str, bytes], ...], words: str) -> None:
    """Anything else is told by name."""
    with pytest.raises(InputError, match=words):
        unpack(zipped(*files), "kr2.zip")


def test_a_bomb_is_read_no_further_than_allowed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever size its directory states (CWE-409)."""
    monkeypatch.setattr(archive, "LARGEST_PHOTO", 1000)
    bomb = zipped(("kr2.yaml", SOURCE), ("p/a.jpg", bytes(1001)))
    small = bomb.replace(struct.pack("<L", 1001), struct.pack("<L", 10))

    assert len(bomb) < 400
    for content in (bomb, small):
        with pytest.raises(InputError):
            unpack(content, "kr2.zip")
    monkeypatch.setattr(archive, "LARGEST_ALL", 1500)
    with pytest.raises(InputError, match="all together"):
        unpack(zipped(("kr2.yaml", SOURCE), ("a.jpg", bytes(900)), ("b.jpg", bytes(900))), "kr2.zip")
    monkeypatch.setattr(archive, "MOST_FILES", 2)
    with pytest.raises(InputError, match="holds 3 files; allowed: 2"):
        unpack(zipped(("kr2.yaml", SOURCE), ("a.jpg", b""), ("b.jpg", b"")), "kr2.zip")


@given(st.data())
def test_of_a_damaged_file_comes_nothing_that_was_not_in_it(data: st.DataObject) -> None:
    """Cut short, or with another byte somewhere. A photo that its directory hides is missed with the profile."""
    whole = pack("kr2.yaml", SOURCE, {"photos/a.jpg": b"picture" * 9})
    at = data.draw(st.integers(0, len(whole) - 1))
    if data.draw(st.booleans()):
        broken = whole[:at]
    else:
        broken = whole[:at] + bytes([whole[at] ^ data.draw(st.integers(1, 255))]) + whole[at + 1 :]
    with contextlib.suppress(InputError):
        assert set(unpack(broken, "kr2.zip").values()) <= {SOURCE, b"picture" * 9}
