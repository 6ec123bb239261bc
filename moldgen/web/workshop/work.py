"""Making a class: what runs in a process that may write to the folder of the class and no other."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import blake2b
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.errors import FileError, MoldgenError, SpecError
from moldgen.execution import run_with
from moldgen.export.atomic import write_together
from moldgen.export.run_folder import write_run
from moldgen.finding import Finding, sentence
from moldgen.job.outline import JobSvg
from moldgen.job.room import load_room
from moldgen.job.spec import Job
from moldgen.job.strip_spec import StripJob
from moldgen.language import Language, in_words, speak
from moldgen.lesson.class_work.make import build_people
from moldgen.lesson.class_work.person_job import own_jobs
from moldgen.limits import OWN_MACHINE
from moldgen.pipeline.file_name import names_apart
from moldgen.pipeline.stage import Progress, Stage
from moldgen.sandbox.child import Tell
from moldgen.sandbox.messages import Message
from moldgen.stock import load_shop
from moldgen.stock.experience import experience_from_words
from moldgen.units_text import as_read
from moldgen.user_file import HOME
from moldgen.web.defaults import class_command
from moldgen.web.order import WishOrder
from moldgen.web.page_stock import EXPERIENCE
from moldgen.web.wish import UPLOAD
from moldgen.web.work import BROUGHT
from moldgen.web.workshop.folder import FACTS, ZIP, ClassFolder
from moldgen.zip_file import zip_with

if TYPE_CHECKING:
    from shapely import Polygon

_OWN = replace(BROUGHT, drawing_bytes=OWN_MACHINE.drawing_bytes)
"""Limits of what is built: the outlines of a drawing, which this process wrote, may be long."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Designs:
    """What people make: molds and where they are noted, strips, and why some cannot be made."""

    molds: Sequence[tuple[str, Job]]
    links: Sequence[str]
    strips: Sequence[tuple[str, StripJob]]
    problems: Sequence[tuple[str, str]]


def make(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Make a class and keep what was made in its folder, all of it or nothing.

    Raises
    ------
    MoldgenError
        If nothing of it can be made.
    """
    folder = ClassFolder(path=Path(words["folder"]))

    def progress(stage: Stage) -> None:
        tell({"told": in_words(stage.name), "share": min(1.0, max(0.0, stage.done))})

    with speak(Language(words["language"])):
        _settle(words["stock"], folder)
        _make(words, folder, progress)
    return Message({})


def _settle(stock: Mapping[str, str], folder: ClassFolder) -> None:
    """Give this process a home with the stock in it."""
    before = {path.name: path.read_text("utf-8") for path in sorted(folder.home.glob("*.toml"))}
    if before != dict(stock):
        shutil.rmtree(folder.home, ignore_errors=True)
        folder.home.mkdir(parents=True)
        for name, text in stock.items():
            (folder.home / Path(name).name).write_text(text, "utf-8")
    os.environ[HOME] = str(folder.home)


def _make(words: Mapping[str, Any], folder: ClassFolder, progress: Progress) -> None:
    with run_with(limits=BROUGHT):
        designs = _designs(words, folder)
    command = class_command(words["usual"])
    shop = replace(load_shop(), experience=experience_from_words(words[EXPERIENCE]))
    if not designs.molds:
        raise SpecError(
            "designs", "of at least one mold", "none", "Strips have files of their own."
        )
    with run_with(limits=_OWN):
        result, _ = build_people(
            words["title"], own_jobs(designs.molds, designs.links), command,
            folder=folder.drawings, out=folder.built, shop=shop, progress=progress,
            room=load_room(),
        )  # fmt: skip
        write_run(folder.built, result.files)
        strips, problems = _strip_files(designs.strips)
    packed = result.files.get(ZIP)
    if packed is None:
        raise FileError(f"The class is too large for one file; it lies in {folder.built}.")
    told = [(one.severity.value, _said(one)) for one in result.findings]
    facts = {
        "key": words["key"],
        "summary": [(in_words(label), as_read(value)) for label, value in result.summary],
        "findings": [("stop", one) for one in (*map(_failed, designs.problems), *problems)] + told,
    }
    write_together(
        folder.zip.parent,
        {ZIP: zip_with(packed, strips), FACTS: json.dumps(facts).encode()},
    )


def _said(finding: Finding) -> str:
    return sentence(finding, words=as_read, names=in_words)


def _failed(problem: tuple[str, str]) -> str:
    name, says = problem
    return f"{name}: {in_words(says)}"


def _designs(words: Mapping[str, Any], folder: ClassFolder) -> _Designs:
    """Return the jobs of all people; a drawing becomes a file beside them."""
    molds, links, strips, problems = [], [], [], []
    for number, one in enumerate(words["people"]):
        name = one["name"] or in_words("You")
        brought = folder.uploads / str(number)
        try:
            job = _job(one["wish"], brought, folder.drawings)
        except MoldgenError as problem:
            problems.append((name, str(problem)))
            continue
        if isinstance(job, StripJob):
            strips.append((name, job))
        else:
            molds.append((name, job))
            links.append(str(one["link"]))
    shutil.rmtree(folder.uploads, ignore_errors=True)
    return _Designs(molds=molds, links=links, strips=strips, problems=problems)


def _job(wish: dict[str, Any], brought: Path, drawings: Path) -> Job | StripJob:
    blocks = [brought.read_bytes()] if brought.exists() else []
    order = WishOrder.from_message({"wish": wish}, blocks)
    job = order.wish.job()
    if order.drawings is None or not isinstance(job, Job):
        return job
    data = region_svg_bytes(order.drawings[UPLOAD].region.geoms)
    name = f"{blake2b(data, digest_size=12).hexdigest()}.svg"
    write_together(drawings, {name: data})
    (body,) = job.body
    outline = body.outline
    assert isinstance(outline, JobSvg)
    return replace(job, body=(replace(body, outline=replace(outline, svg=name)),))


def region_svg_bytes(polygons: Sequence[Polygon]) -> bytes:
    """Return outlines as an SVG that reads back as they are, to a ten-thousandth of a mm. [mm]."""
    from shapely import MultiPolygon

    left, low, right, high = MultiPolygon(list(polygons)).bounds
    path = "".join(
        "M" + "L".join(f"{x - left:.5f} {high - y:.5f}" for x, y in ring.coords[:-1]) + "Z"
        for polygon in polygons
        for ring in (polygon.exterior, *polygon.interiors)
    )
    width, height = right - left, high - low
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.5f}mm" height="{height:.5f}mm" '
        f'viewBox="0 0 {width:.5f} {height:.5f}"><path fill-rule="evenodd" d="{path}"/></svg>'
    ).encode()


def _strip_files(
    strips: Sequence[tuple[str, StripJob]],
) -> tuple[list[tuple[str, bytes]], list[str]]:
    """Return the files of bent strips, a folder for each, and what cannot be made."""
    from moldgen.api.molds import make as make_one

    files: list[tuple[str, bytes]] = []
    problems = []
    stems = names_apart(name for name, _ in strips)
    for stem, (name, job) in zip(stems, strips, strict=True):
        try:
            made = make_one(job).files()
        except MoldgenError as problem:
            problems.append(_failed((name, str(problem))))
        else:
            files += ((f"strips/{stem}/{key}", data) for key, data in made.items())
    return files, problems
