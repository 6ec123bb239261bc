"""Packages by name through the ordinary clients, and a random sample of the files in them."""

from __future__ import annotations

import random
import subprocess
import sys
import tarfile
import zipfile
from collections.abc import Sequence
from pathlib import Path

_ARCHIVES = {".tgz", ".gz", ".whl", ".zip", ".tar"}

MOST_BYTES = 8_000_000
"""Files larger than this are passed over."""


def fetched(names: Sequence[str], folder: Path, *, client: str) -> list[Path]:
    """Return the archives of packages, fetched into a folder of their own each.

    Parameters
    ----------
    client : str
        ``npm``, ``pip``, or ``apt`` for packages of Debian.
    """
    archives = []
    for number, name in enumerate(names):
        own = folder / f"{number}"
        own.mkdir(exist_ok=True)
        if not any(own.iterdir()):
            subprocess.run(_words(client, name, own), cwd=own, check=True, stdout=sys.stderr)
            _open_debian(own)
        archives.append(next(path for path in sorted(own.iterdir()) if path.suffix in _ARCHIVES))
    return archives


def _words(client: str, name: str, folder: Path) -> list[str]:
    if client == "npm":
        return ["npm", "pack", "--silent", name]
    if client == "apt":
        return ["apt-get", "download", "-q", name]
    return [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "-d", str(folder), name]


def _open_debian(folder: Path) -> None:
    """Write the files of each package of Debian as an archive that Python reads."""
    for package in folder.glob("*.deb"):
        with package.with_suffix(".tar").open("wb") as tar:
            subprocess.run(
                ["dpkg-deb", "--fsys-tarfile", package.name], cwd=folder, check=True, stdout=tar
            )


def sampled(
    archive: Path,
    folder: Path,
    *,
    endings: tuple[str, ...],
    count: int,
    seed: int,
    within: str = "",
) -> list[Path]:
    """Return a random sample of the files of an archive, written into a folder.

    Parameters
    ----------
    endings : tuple of str
        Of the files wanted, such as ``.svg``.
    count : int
        How many at most.
    seed : int
        Makes the choice the same again.
    within : str
        Must be in the path of each.
    """
    with _opened(archive) as box:
        names = sorted(
            name
            for name, size in _members(box)
            if name.lower().endswith(endings) and within in name and 0 < size <= MOST_BYTES
        )
        chosen = random.Random(seed).sample(names, min(count, len(names)))
        return [_written(box, name, folder / f"{k}-{Path(name).name}")
                for k, name in enumerate(chosen)]  # fmt: skip


def _opened(archive: Path) -> tarfile.TarFile | zipfile.ZipFile:
    if zipfile.is_zipfile(archive):
        return zipfile.ZipFile(archive)
    return tarfile.open(archive)


def _members(box: tarfile.TarFile | zipfile.ZipFile) -> list[tuple[str, int]]:
    if isinstance(box, zipfile.ZipFile):
        return [(one.filename, one.file_size) for one in box.infolist()]
    return [(one.name, one.size) for one in box.getmembers() if one.isfile()]


def _written(box: tarfile.TarFile | zipfile.ZipFile, name: str, path: Path) -> Path:
    if isinstance(box, zipfile.ZipFile):
        path.write_bytes(box.read(name))
    else:
        content = box.extractfile(name)
        path.write_bytes(content.read() if content is not None else b"")
    return path
