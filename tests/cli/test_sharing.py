"""`labelkit pack` and `unpack`: to another shop and back."""

from __future__ import annotations

import io
import zipfile

import pytest
from PIL import Image

from tests.bench_app.workshop import PUMP, Shell, png, put_profiles

WITH_JPEG = PUMP.replace("photos/cover.png", "photos/cover.jpg")


def camera() -> bytes:
    """Return a photo that says where it was taken."""
    exif = Image.Exif()
    exif[0x010F] = "Maker"
    exif.get_ifd(0x8825)[1] = "N"
    written = io.BytesIO()
    Image.new("RGB", (30, 20), "grey").save(written, "JPEG", exif=exif)
    return written.getvalue()


@pytest.fixture
def labelkit(labelkit: Shell) -> Shell:
    put_profiles(labelkit.folder, photo="cover.jpg", picture=camera(), pump=WITH_JPEG)
    return labelkit


def test_a_profile_goes_to_another_shop_with_its_photos(labelkit: Shell) -> None:
    """It passes the check there; the photo says no place and no maker any more."""
    packed = labelkit("pack", "pump.yaml", "--out", "pump.zip")
    unpacked = labelkit("unpack", "pump.zip", "--out", "there")

    assert "pump.zip: pump.yaml, 1 photo\n" == packed.out
    assert "there/pump.yaml: Gear pump with relief valve, 1 photo\n" == unpacked.out
    assert 0 == labelkit("check", "there/pump.yaml").status
    assert (labelkit.folder / "there" / "pump.yaml").read_text() == WITH_JPEG
    with Image.open(labelkit.folder / "there" / "photos" / "cover.jpg") as photo:
        assert (30, 20, {}) == (*photo.size, dict(photo.getexif()))


@pytest.mark.parametrize(("out", "meant"), [("pump.tar", "; did you mean pump.zip?"), (".", ""), ("..", "")])
def test_a_packed_profile_is_named_as_what_it_is(labelkit: Shell, out: str, meant: str) -> None:
    """A ZIP file that is called otherwise is opened by nobody; a folder is no name."""
    said = labelkit("pack", "pump.yaml", "--out", out)

    assert (2, f"labelkit: --out {out}: a packed profile is a .zip{meant}\n") == (said.status, said.err)
    assert not (labelkit.folder / "pump.tar").exists()


@pytest.mark.parametrize(
    ("files", "words"),
    [
        ({"pump.yaml": WITH_JPEG.encode()}, "pump.yaml names photos/cover.jpg for cover, and it is not there"),
        ({"pump.yaml": WITH_JPEG.encode(), "photos/cover.jpg": b"<svg/>"}, "photos/cover.jpg: "),
        ({"pump.yaml": WITH_JPEG.replace("mark: P7", "mark: p7").encode(), "photos/cover.jpg": png()}, 'found "p7"'),
    ],
    ids=["a photo is missing", "no picture", "a fault"],
)
def test_what_is_not_right_writes_nothing(labelkit: Shell, files: dict[str, bytes], words: str) -> None:
    """Neither folder nor half a folder."""
    with zipfile.ZipFile(labelkit.folder / "pump.zip", "w") as made:
        for name, data in files.items():
            made.writestr(name, data)

    said = labelkit("unpack", "pump.zip", "--out", "there")

    assert said.status != 0
    assert words in said.err
    assert ["photos", "pump.yaml", "pump.zip"] == sorted(each.name for each in labelkit.folder.iterdir())


def test_nothing_is_written_over(labelkit: Shell) -> None:
    """Neither the file nor the folder."""
    labelkit("pack", "pump.yaml", "--out", "pump.zip")

    again = labelkit("pack", "pump.yaml", "--out", "pump.zip")
    into = labelkit("unpack", "pump.zip", "--out", "photos")

    assert "pump.zip: is there already" in again.err
    assert "photos: is there already" in into.err


def test_what_another_system_could_not_write_is_told_before_it_is_packed(labelkit: Shell) -> None:
    """Whoever packs can still name the photo otherwise; whoever gets the file cannot."""
    (labelkit.folder / "photos" / "cover?.jpg").write_bytes(camera())
    (labelkit.folder / "pump.yaml").write_text(WITH_JPEG.replace("photos/cover.jpg", '"photos/cover?.jpg"'))

    said = labelkit("pack", "pump.yaml", "--out", "pump.zip")

    assert (1, "") == (said.status, said.out)
    assert "'photos/cover?.jpg': not every system can write this; allowed: a path as photos/carrier-1.jpg" in said.err
    assert not (labelkit.folder / "pump.zip").exists()


def test_a_file_that_is_too_large_is_read_no_further(labelkit: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    """A device tells no size, and never ends."""
    monkeypatch.setattr("labelkit.cli.sharing.LARGEST_ALL", 1_000_000)

    said = labelkit("unpack", "/dev/zero", "--out", "there")

    assert (1, "") == (said.status, said.out)
    assert "/dev/zero: has over 1 MB" in said.err
