"""`labelkit pack` and `labelkit unpack`: a profile with its photos as one file, for another shop."""

from __future__ import annotations

from pathlib import Path

import click

from labelkit.cli.newfile import check_ending, write_new
from labelkit.cli.openjob import photos_of
from labelkit.cli.options import counted
from labelkit.errors import InputError, OutputError
from labelkit.load.archive import LARGEST_ALL, pack, unpack
from labelkit.load.profile import load_profile, parse_profile
from labelkit.load.textfile import read_bytes
from labelkit.proof.raster import photo_jpeg
from labelkit.render.folder import replacing


@click.command("pack")
@click.argument("profile")
@click.option("--out", required=True, type=click.Path(path_type=Path), metavar="FILE.zip", help="File to make.")
def pack_(profile: str, out: Path) -> None:
    """Pack a profile with its photos into one ZIP file.

    PROFILE is a name (planetary-reducer) or a path to a YAML file without faults. JPEG photos lose what the camera
    wrote into them: place, time and maker. FILE.zip is written once and never over another.

    \b
    Example: labelkit pack unit_profiles/kr2.yaml --out kr2.zip
    """
    check_ending(out, ".zip", "a packed profile")
    loaded = load_profile(profile)
    photos = photos_of(loaded)
    clean = {path: _bare(path, data) for path, data in photos.items()}
    content = pack(loaded.file, loaded.source, clean)
    unpack(content, str(out))  # a photo's name may be one that another system cannot write
    write_new(out, content)
    click.echo(f"{out}: {loaded.file}, {counted(len(photos), 'photo')}")


@click.command("unpack")
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False), metavar="FILE.zip")
@click.option("--out", required=True, type=click.Path(path_type=Path), metavar="FOLDER", help="Folder to make.")
def unpack_(file: Path, out: Path) -> None:
    """Unpack a profile with its photos into a new folder, once all of it was looked at.

    Nothing is written when the profile has a fault, when a photo that it names is missing or is no picture, or when the
    file holds anything else, or something too large.

    \b
    Example: labelkit unpack kr2.zip --out kr2
    """
    if out.exists():
        raise OutputError(f"{out}: is there already and is never overwritten; name another folder")
    content = read_bytes(file, str(file), "ZIP", LARGEST_ALL)
    if len(content) > LARGEST_ALL:
        raise InputError(f"{file}: has over {LARGEST_ALL / 1e6:.0f} MB; no profile with its photos is that large")
    files = unpack(content, str(file))
    name = next(iter(files))
    loaded = parse_profile(files[name], f"{file}: {name}", None)
    for _, part in loaded.profile.walk():
        if part.photo and part.photo not in files:
            raise InputError(f"{file}: {name} names {part.photo} for {part.id}, and it is not there")
    for path in files.keys() - {name}:
        photo_jpeg(files[path], f"{file}: {path}")
    with replacing(out) as fill:
        fill(files)
    click.echo(f"{out / name}: {loaded.profile.unit.name}, {counted(len(files) - 1, 'photo')}")


def _bare(path: str, data: bytes) -> bytes:
    """Return a photo as it may leave the shop."""
    jpeg = photo_jpeg(data, path)
    return jpeg if path.lower().endswith((".jpg", ".jpeg")) else data
