"""What a run gives back: findings, figures and solids at hand, files when they are asked for."""

from __future__ import annotations

import html
from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.errors import FileError, GeometryError
from moldgen.extensions import FORMATS, extensions
from moldgen.finding import Finding, Severity, counted, worst
from moldgen.job.arguments import argument_value
from moldgen.job.form import FormField, form_of
from moldgen.job.formats import Format
from moldgen.job.spec import JobOutput, Paper
from moldgen.named_file import place_to_write
from moldgen.pipeline.file_name import file_name
from moldgen.pipeline.output import Output

if TYPE_CHECKING:
    from moldgen.solid.mesh import Body, Mesh

FormatWords = str | Sequence[str]
"""Formats as a person writes them: ``"stl, 3mf"`` or ``["stl", "3mf"]``."""


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class RunResult:
    """What was made or checked, with everything there is to say about it.

    Nothing is drawn or packed until `files` or `write` is called.

    Attributes
    ----------
    output : Output
        What files are made of.
    """

    output: Output

    @property
    def title(self) -> str:
        """What the job is called."""
        return self.output.told.title

    @property
    def summary(self) -> tuple[tuple[str, str], ...]:
        """Rows of label and value that a person reads at a glance."""
        return self.output.told.summary

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What a person should know, the gravest first; each prints as its sentence."""
        return self.output.told.findings

    @property
    def numbers(self) -> dict[str, Any]:
        """The measures for programs, as in ``findings.json``; units stand in the names."""
        return self.output.told.numbers

    @property
    def worst(self) -> Severity | None:
        """The gravest severity among the findings, or None if there are none."""
        return worst(self.findings)

    @property
    def bodies(self) -> tuple[Body, ...]:
        """The solids, each with its name and mesh. [mm]."""
        return self.output.bodies

    @cached_property
    def mesh(self) -> Mesh:
        """All bodies as one mesh. [mm].

        Raises
        ------
        GeometryError
            If there are no bodies.
        """
        from moldgen.solid.mesh import joined

        if not self.bodies:
            raise GeometryError(f"{self.title} has no solid: there is nothing of it to print.")
        return joined([body.mesh for body in self.bodies])

    def files(
        self,
        formats: FormatWords | None = None,
        *,
        paper: str | None = None,
        units: str | None = None,
    ) -> dict[str, bytes]:
        """Return the files, drawn and packed now; the same bytes as the command line writes.

        Parameters
        ----------
        formats : str or sequence of str, optional
            Such as ``"stl, 3mf"``; those that the job asks for if left out.
        paper : str, optional
            ``A4`` or ``Letter``, for plans; as the job says if left out.
        units : str, optional
            ``mm`` or ``inch``, for what people read; as the job says if left out. Meshes,
            drawings and ``findings.json`` are in millimeters all the same.

        Returns
        -------
        dict of str to bytes
            Content by file name.

        Raises
        ------
        SpecError
            If a format, a paper or the units are unknown, or nothing can be written in it.
        """
        own, added = _told_apart(formats)
        given = {"formats": own, "paper": paper, "units": units}
        read = {
            line.field: argument_value(line.word, given[line.field], line)
            for line in _OUTPUT
            if given.get(line.field) is not None
        }
        wanted: tuple[Format, ...] | None = read.get("formats")
        on: Paper | None = read.get("paper")
        files = (
            {}
            if own == [] and added
            else self.output.render(wanted, paper=on, units=read.get("units")).files
        )
        return {**files, **{f"{file_name(self.title)}.{word}": self._added(word) for word in added}}

    def _added(self, word: str) -> bytes:
        """Return the bytes of a format that another package adds."""
        content = extensions(FORMATS)[word](self.bodies, self.title)
        if not isinstance(content, bytes):
            raise FileError(f"the format {word!r} of another package gave no bytes. Update it.")
        return content

    def write(
        self,
        folder: str | PathLike[str],
        formats: FormatWords | None = None,
        *,
        paper: str | None = None,
        units: str | None = None,
        replace: bool = False,
    ) -> tuple[Path, ...]:
        """Write the files into a folder: all of them, or none.

        What a run that was killed has left there is finished or undone first; another one that is
        writing into the folder is waited for.

        Parameters
        ----------
        folder : path
            Made if it is missing.
        formats, paper, units
            As `files` takes them.
        replace : bool, default False
            Whether files go that an earlier run wrote there and this one does not, as the command
            line does it. Files that somebody has changed since stay, and so do all others.

        Returns
        -------
        tuple of Path
            The files written.

        Raises
        ------
        SpecError
            If a format, a paper or the units are unknown, or nothing can be written in it.
        FileError
            If the folder or a file cannot be written, or another run goes on writing into the
            folder; it is then as it was.
        """
        from moldgen.export.atomic import write_together

        files = self.files(formats, paper=paper, units=units)
        folder = place_to_write(str(folder), field="folder")
        if replace:
            from moldgen.export.run_folder import write_run

            write_run(folder, files)
        else:
            write_together(folder, files)
        return tuple(folder / name for name in files)

    def __repr__(self) -> str:
        found = counted(len(self.findings), "finding")
        solids = f"{len(self.bodies)} {'body' if len(self.bodies) == 1 else 'bodies'}"
        return f"<{type(self).__name__} {self.title!r}: {solids}, {found}>"

    def _repr_html_(self) -> str:
        """Return a picture, the summary and the findings, all in one piece of HTML."""
        rows = "".join(
            f"<tr><th>{html.escape(label)}</th><td>{html.escape(value)}</td></tr>"
            for label, value in self.summary
        )
        told = "".join(
            f"<li><b>{one.severity.value}</b>: {html.escape(str(one))}</li>"
            for one in self.findings
        )
        shown = f"<h3>{html.escape(self.title)}</h3>{self._picture_html()}<table>{rows}</table>"
        return f"<div>{shown}<ul>{told}</ul></div>"

    def _picture_html(self) -> str:
        if not self.bodies:
            return ""
        from moldgen.export.picture.views import lit_views_png

        data = b64encode(lit_views_png(self.bodies, title=self.title)).decode()
        alt = html.escape(f"{self.title} from two sides", quote=True)
        return f'<img alt="{alt}" src="data:image/png;base64,{data}" style="max-width: 100%">'


def _told_apart(formats: FormatWords | None) -> tuple[FormatWords | None, list[str]]:
    """Return the formats of ours, and those that other packages add."""
    if formats is None or not extensions(FORMATS):
        return formats, []
    words = formats.replace(",", " ").split() if isinstance(formats, str) else list(formats)
    added = [word for word in words if word in extensions(FORMATS) and word not in set(Format)]
    return [word for word in words if word not in added], added


_OUTPUT: tuple[FormField, ...] = form_of(JobOutput)
