"""The files of one run, whatever it makes: those asked for, each with what it is for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from moldgen.execution import beside, checkpoint
from moldgen.export.report.report import Picture, Report, report_html_bytes
from moldgen.job.formats import Format, check_formats
from moldgen.job.spec import Paper
from moldgen.pipeline.file_name import names_apart
from moldgen.pipeline.result import Result
from moldgen.solid.mesh import Body, Mesh

if TYPE_CHECKING:
    from moldgen.export.plan.plan import Plan

FINDINGS, REPORT = "findings.json", "report.html"


@dataclass(frozen=True, slots=True, kw_only=True)
class OutputFile:
    """A file that a run can write.

    Attributes
    ----------
    name : str
        With its ending.
    purpose : str
        What it is for, as the report tells it.
    content : callable
        Makes its bytes; called only if the file is written.
    format : Format or None
        By which it is asked for; None for what is always written.
    """

    name: str
    purpose: str
    content: Callable[[], bytes]
    format: Format | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FileSet:
    """The files that were asked for, before the findings and the report are added.

    Attributes
    ----------
    formats : frozenset of Format
        What was asked for.
    files : dict of str to bytes
        By name.
    purposes : tuple of (str, str)
        Name of each file and what it is for.
    pictures : tuple of Picture
        For the report; none unless PNG or HTML was asked for.
    """

    formats: frozenset[Format]
    files: Mapping[str, bytes]
    purposes: tuple[tuple[str, str], ...]
    pictures: tuple[Picture, ...] = ()


def stl_file(stem: str, meshes: Sequence[Mesh], *, title: str, purpose: str) -> OutputFile:
    """Return one STL of all meshes."""

    def content() -> bytes:
        from moldgen.export.mesh.stl import stl_bytes

        return stl_bytes(meshes, title=title)

    return OutputFile(name=f"{stem}.stl", purpose=purpose, content=content, format=Format.STL)


def stl_files(
    stem: str, bodies: Sequence[Body], *, title: str, purpose: str
) -> Iterator[OutputFile]:
    """Yield an STL of each body, named apart if there are several."""
    apart = names_apart(body.name for body in bodies)
    for body, word in zip(bodies, apart, strict=True):
        own = stem if len(bodies) == 1 else f"{stem}-{word}"
        yield stl_file(own, [body.mesh], title=f"{title}, {body.name}", purpose=purpose)


def threemf_file(
    stem: str,
    bodies: Callable[[], Sequence[Body]],
    *,
    title: str,
    metadata: Mapping[str, str],
    purpose: str,
) -> OutputFile:
    """Return a 3MF of all bodies, with their names and the unit.

    Parameters
    ----------
    stem : str
        Name of the file without its ending.
    bodies : Callable[[], Sequence[Body]]
        Gives the bodies when the file is written.
    title : str
        Title in the file.
    metadata : Mapping[str, str]
        What else the file carries, by name.
    purpose : str
        What the file is for, in a few words.
    """

    def content() -> bytes:
        from moldgen.export.mesh.threemf import threemf_bytes

        return threemf_bytes(bodies(), title=title, metadata=metadata)

    return OutputFile(name=f"{stem}.3mf", purpose=purpose, content=content, format=Format.THREE_MF)


def glb_file(stem: str, content: Callable[[], bytes], *, purpose: str) -> OutputFile:
    """Return a GLB, to look at."""
    return OutputFile(name=f"{stem}.glb", purpose=purpose, content=content, format=Format.GLB)


def plain_glb(bodies: Sequence[Body]) -> bytes:
    """Return a GLB of bodies, each in one color."""
    from moldgen.export.mesh.glb import glb_bytes

    return glb_bytes(bodies)


def plan_files(
    stem: str,
    plan: Callable[[], Plan],
    *,
    paper: Paper,
    purpose: str,
    on_paper: Callable[[Plan], Plan] = lambda plan: plan,
) -> tuple[OutputFile, ...]:
    """Return a plan at 1:1 as drawings for cutters and as a PDF to print.

    Parameters
    ----------
    on_paper : callable
        Leaves out what would only fill paper.
    """

    def svg() -> bytes:
        from moldgen.export.plan.svg import svg_bytes

        return svg_bytes(plan())

    def dxf() -> bytes:
        from moldgen.export.plan.dxf import dxf_bytes

        return dxf_bytes(plan())

    def pdf() -> bytes:
        from moldgen.export.plan.pdf import pdf_bytes

        return pdf_bytes(on_paper(plan()), paper=Paper(paper).value)

    printed = f"{purpose} to print, with a check bar"
    return tuple(
        OutputFile(name=f"{stem}.{kind.value}", purpose=words, content=content, format=kind)
        for kind, words, content in (
            (Format.SVG, purpose, svg),
            (Format.DXF, purpose, dxf),
            (Format.PDF, printed, pdf),
        )
    )


def file_set(
    files: Iterable[OutputFile],
    formats: Iterable[Format],
    *,
    pictures: Callable[[], Iterable[Picture]],
    picture_stem: str = "",
    usual: Iterable[Format] = tuple(Format),
) -> FileSet:
    """Return what is asked for of the files and pictures that a run can write.

    Parameters
    ----------
    files : iterable of OutputFile
        In the order they are listed.
    formats : iterable of Format
        Asked for.
    pictures : callable
        Draws the pictures; called only if a file shows them, while the other files are packed.
    picture_stem : str
        What the names of pictures begin with.
    usual : iterable of Format
        Formats of a job that names none: it gets those that there are.

    Raises
    ------
    SpecError
        If nothing can be written in a format that is asked for.
    """
    offered = tuple(files)
    wanted = frozenset(map(Format, formats))
    if wanted != set(usual):
        _refuse_impossible(wanted, offered)
    chosen = [one for one in offered if one.format is None or one.format in wanted]
    with beside(lambda: _contents(chosen)) as packed:
        seen = tuple(pictures()) if wanted & {Format.PNG, Format.HTML} else ()
        written = packed()
    purposes = [(one.name, one.purpose) for one in chosen]
    if Format.PNG in wanted:
        named = {f"{picture_stem}{picture.name}.png": picture.png for picture in seen}
        written |= named
        purposes += [(name, "picture") for name in named]
    assert len({name.casefold() for name in written}) == len(purposes), "two files of one name"
    return FileSet(formats=wanted, files=written, purposes=tuple(purposes), pictures=seen)


def _contents(files: Iterable[OutputFile]) -> dict[str, bytes]:
    contents = {}
    for file in files:
        checkpoint()
        contents[file.name] = file.content()
    return contents


def _refuse_impossible(wanted: frozenset[Format], offered: Sequence[OutputFile]) -> None:
    possible = {one.format for one in offered} | {Format.PNG, Format.HTML, Format.JSON}
    check_formats(wanted, [kind for kind in Format if kind in possible])


def with_documents(made: Result, written: FileSet, report: Callable[[], Report]) -> Result:
    """Return what was made with its files, its findings for programs and its report.

    Parameters
    ----------
    made : Result
        Title, summary, findings and numbers, for every file that tells them.
    report : callable
        Makes the report, without what is said here already: summary, findings, pictures, files.
    """
    files, purposes = dict(written.files), written.purposes
    if Format.JSON in written.formats:
        from moldgen.export.report.findings_json import findings_json_bytes

        files[FINDINGS] = findings_json_bytes(
            made.findings, title=made.title, summary=made.summary, numbers=made.numbers
        )
        purposes += ((FINDINGS, "the findings and figures for programs"),)
    if Format.HTML in written.formats:
        purposes += ((REPORT, "this report"),)
        page = replace(
            report(),
            summary=made.summary,
            findings=made.findings,
            pictures=written.pictures,
            files=purposes,
        )
        files[REPORT] = report_html_bytes(page)
    return replace(made, files=files)
