"""A job with all that it is made with, as words and bytes, and out of them in another process."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from moldgen.errors import MoldgenError
from moldgen.execution import limits_now, run_with
from moldgen.job import job_toml
from moldgen.job.packed import pack_job
from moldgen.job.read import mold_from_words
from moldgen.language import Language, language_now, speak
from moldgen.stock.experience import Experience, experience_from_words, experience_words

if TYPE_CHECKING:
    from moldgen.job.spec import Job
    from moldgen.stock import Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class BroughtJob:
    """A job that came as words and bytes.

    Attributes
    ----------
    job : Job
        What is wanted.
    folder : Path
        Where paths in it start.
    shop : Shop
        What there is to make it with.
    """

    job: Job
    folder: Path
    shop: Shop


def packed_words(
    job: Job, *, folder: Path, stock: Mapping[str, str], experience: Experience
) -> tuple[dict[str, Any], list[bytes]]:
    """Return a job as words, and the files that it names as blocks of bytes.

    Parameters
    ----------
    job : Job
        What is wanted.
    folder : Path
        Where paths in it start.
    stock : mapping of str to str
        Own stock files, by name, as `moldgen.stock.shop.shop_from_texts` takes them.
    experience : Experience
        What notes of the tables say.

    Raises
    ------
    FileError
        If a file that the job names cannot be read.
    """
    packed = pack_job(job, folder=folder, font_path=font_file)
    words = {
        "job": job_toml(packed.job), "files": list(packed.files), "stock": dict(stock),
        "language": str(language_now()), "experience": experience_words(experience),
    }  # fmt: skip
    return words, list(packed.files.values())


@contextmanager
def unpacked_job(words: Mapping[str, Any], blocks: Sequence[bytes]) -> Iterator[BroughtJob]:
    """Yield a job out of the words of `packed_words`; its files are in a folder meanwhile.

    What is said meanwhile is in the language of who asked.

    Raises
    ------
    MoldgenError
        If the words are no job, or the stock is none.
    """
    from moldgen.stock.shop import shop_from_texts

    files = dict(zip(words["files"], blocks, strict=True))
    with (
        _folder_of(files) as folder,
        speak(Language(words["language"])),
        # What is told of a file is the same wherever it is built.
        run_with(limits=replace(limits_now(), own_folder=True)),
    ):
        experience = experience_from_words(words["experience"])
        yield BroughtJob(
            job=mold_from_words(tomllib.loads(words["job"])),
            folder=folder,
            shop=replace(shop_from_texts(words["stock"]), experience=experience),
        )


def font_file(name: str) -> Path | None:
    """Return the file of a font of this computer; None for one that every moldgen has."""
    from moldgen.outline.lettering.fonts import find_font
    from moldgen.typeface.face import load_faces

    try:
        font = find_font(name)
    except MoldgenError:
        return None
    own = {face.path for face in load_faces()}
    return None if font.path in own or font.index else font.path


@contextmanager
def _folder_of(files: Mapping[str, bytes]) -> Iterator[Path]:
    """Yield a folder that holds files meanwhile; any, if there are none."""
    if not files:
        yield Path()
        return
    with TemporaryDirectory() as folder:
        for name, data in files.items():
            (Path(folder) / name).write_bytes(data)
        yield Path(folder)
