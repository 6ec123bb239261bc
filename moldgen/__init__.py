"""Vacuum-forming molds that draw, vent, release and print.  All lengths are millimeters.

::

    import moldgen as mg

    job = mg.sign("HIGH / TIDE", letter_height_mm=25, plastic="HIPS", gauge="1 mm")
    mold = mg.make(job)
    for finding in mold.findings:
        print(finding)
    mold.write("outputs/high-tide", formats=["stl", "3mf"])

Jobs come from `sign`, `tray`, `nest`, `drawing`, `strip` and `load_job`; `make` makes them.
`arrange` lays the molds of several jobs out on sheets, printer beds and stock; `make_class` makes
what each person of a class makes; `add_note` and `read_log` keep what happened at the table;
`experience_of` learns from it, for a stock that is handed on: ``replace(stock, experience=...)``.
`check`, `adapt`, `measure`, `refit` and `split` take parts that somebody brings; `make_fixture`,
`trim`, `letters`, `heat`, `heating_chart` and `print_test_pieces` help at the table. Every argument
is read as the command line and the job file read it, and a wrong one raises one sentence. Nothing
is written until ``write``.

`design` gives a mold in stages, for a program that shows it while it changes; within
``with run_with(cancel=..., threads=...)`` work can be stopped, and runs on so many threads; with
``limits=PAGE`` it reads of strangers' files only so much, and only those beside the job.
"""

from importlib import import_module
from typing import TYPE_CHECKING

from moldgen.version import __version__ as __version__

if TYPE_CHECKING:
    from moldgen.api.compare import compare
    from moldgen.api.design import design
    from moldgen.api.jobs import drawing, load_stock, nest, sign, strip, tray
    from moldgen.api.lists import fonts, shape_names, shapes
    from moldgen.api.loops import prepare_loops
    from moldgen.api.mend import mend
    from moldgen.api.mold_result import MoldResult
    from moldgen.api.molds import adapt, make
    from moldgen.api.parts import check, measure, print_test_pieces, refit, split
    from moldgen.api.readers import (
        mesh_from_bytes,
        outline_from_dxf,
        outline_from_picture,
        outline_from_svg,
    )
    from moldgen.api.room import room
    from moldgen.api.run_result import RunResult
    from moldgen.api.strip_result import StripResult
    from moldgen.api.table import heat, heating_chart, letters, make_fixture, trim
    from moldgen.errors import (
        CancelError,
        FileError,
        GeometryError,
        MoldgenError,
        OutlineError,
        SpecError,
    )
    from moldgen.execution import Cancel, run_with
    from moldgen.export.mesh.packed import packed_mesh_bytes, read_packed_mesh
    from moldgen.finding import Cure, Finding, Severity
    from moldgen.job.any_job import job_toml
    from moldgen.job.formats import Format
    from moldgen.job.load import load_job
    from moldgen.job.room import OwnRoom
    from moldgen.job.spec import Job
    from moldgen.job.strip_spec import StripJob
    from moldgen.lesson.arrange.call import arrange
    from moldgen.lesson.arrange.make import Arrangement
    from moldgen.lesson.arrange.result import ArrangementResult
    from moldgen.lesson.class_work.call import ClassResult, make_class
    from moldgen.lesson.layout.piece import LayoutPiece, PieceLayout, Placing, Shot
    from moldgen.lesson.log.call import add_note, read_log, remove_note
    from moldgen.lesson.log.learn import experience_of
    from moldgen.lesson.log.shot_note import CaliperReading, Outcome, ShotNote
    from moldgen.lesson.log.store import StoredNote
    from moldgen.lesson.log.trouble import likely_causes
    from moldgen.lesson.log.trouble_case import LikelyCause, TroubleCase
    from moldgen.limits import PAGE, Limits
    from moldgen.mold.sheet.formed import FormedSheet
    from moldgen.pipeline.mold.compare import Comparison
    from moldgen.pipeline.mold.design import MoldDesign
    from moldgen.pipeline.mold.mended import MendedJob
    from moldgen.pipeline.mold.mold import Mold
    from moldgen.pipeline.stage import Stage
    from moldgen.pipeline.strip.work import BentStrip
    from moldgen.solid.mesh import Body, Mesh
    from moldgen.stock.experience import Experience
    from moldgen.stock.shop import Shop as Stock

_HOMES = {
    "api.compare": ("compare",),
    "api.design": ("design",),
    "api.jobs": ("drawing", "load_stock", "nest", "sign", "strip", "tray"),
    "api.lists": ("fonts", "shape_names", "shapes"),
    "api.loops": ("prepare_loops",),
    "api.mend": ("mend",),
    "api.mold_result": ("MoldResult",),
    "api.molds": ("adapt", "make"),
    "api.parts": ("check", "measure", "refit", "split", "print_test_pieces"),
    "api.readers": (
        "mesh_from_bytes",
        "outline_from_dxf",
        "outline_from_picture",
        "outline_from_svg",
    ),
    "api.room": ("room",),
    "api.run_result": ("RunResult",),
    "api.strip_result": ("StripResult",),
    "api.table": ("heat", "heating_chart", "letters", "make_fixture", "trim"),
    "errors": (
        "CancelError",
        "FileError",
        "GeometryError",
        "MoldgenError",
        "OutlineError",
        "SpecError",
    ),
    "execution": ("Cancel", "run_with"),
    "export.mesh.packed": ("packed_mesh_bytes", "read_packed_mesh"),
    "finding": ("Cure", "Finding", "Severity"),
    "job.any_job": ("job_toml",),
    "job.formats": ("Format",),
    "job.load": ("load_job",),
    "job.room": ("OwnRoom",),
    "job.spec": ("Job",),
    "job.strip_spec": ("StripJob",),
    "lesson.arrange.call": ("arrange",),
    "lesson.arrange.make": ("Arrangement",),
    "lesson.arrange.result": ("ArrangementResult",),
    "lesson.class_work.call": ("ClassResult", "make_class"),
    "lesson.layout.piece": ("PieceLayout", "LayoutPiece", "Placing", "Shot"),
    "lesson.log.call": ("add_note", "read_log", "remove_note"),
    "lesson.log.learn": ("experience_of",),
    "lesson.log.shot_note": ("CaliperReading", "Outcome", "ShotNote"),
    "lesson.log.store": ("StoredNote",),
    "lesson.log.trouble": ("likely_causes",),
    "lesson.log.trouble_case": ("LikelyCause", "TroubleCase"),
    "limits": ("PAGE", "Limits"),
    "mold.sheet.formed": ("FormedSheet",),
    "pipeline.mold.compare": ("Comparison",),
    "pipeline.mold.design": ("MoldDesign",),
    "pipeline.mold.mended": ("MendedJob",),
    "pipeline.mold.mold": ("Mold",),
    "pipeline.stage": ("Stage",),
    "pipeline.strip.work": ("BentStrip",),
    "solid.mesh": ("Body", "Mesh"),
    "stock.experience": ("Experience",),
    "stock.shop": ("Shop as Stock",),
}
"""Where each name is found: a module is imported when one of its names is asked for."""

__all__ = [
    "PAGE",
    "Arrangement",
    "ArrangementResult",
    "BentStrip",
    "Body",
    "CaliperReading",
    "Cancel",
    "CancelError",
    "ClassResult",
    "Comparison",
    "Cure",
    "Experience",
    "FileError",
    "Finding",
    "Format",
    "FormedSheet",
    "GeometryError",
    "Job",
    "LayoutPiece",
    "LikelyCause",
    "Limits",
    "MendedJob",
    "Mesh",
    "Mold",
    "MoldDesign",
    "MoldResult",
    "MoldgenError",
    "Outcome",
    "OutlineError",
    "OwnRoom",
    "PieceLayout",
    "Placing",
    "RunResult",
    "Severity",
    "Shot",
    "ShotNote",
    "SpecError",
    "Stage",
    "Stock",
    "StoredNote",
    "StripJob",
    "StripResult",
    "TroubleCase",
    "__version__",
    "adapt",
    "add_note",
    "arrange",
    "check",
    "compare",
    "design",
    "drawing",
    "experience_of",
    "fonts",
    "heat",
    "heating_chart",
    "job_toml",
    "letters",
    "likely_causes",
    "load_job",
    "load_stock",
    "make",
    "make_class",
    "make_fixture",
    "measure",
    "mend",
    "mesh_from_bytes",
    "nest",
    "outline_from_dxf",
    "outline_from_picture",
    "outline_from_svg",
    "packed_mesh_bytes",
    "prepare_loops",
    "print_test_pieces",
    "read_log",
    "read_packed_mesh",
    "refit",
    "remove_note",
    "room",
    "run_with",
    "shape_names",
    "shapes",
    "sign",
    "split",
    "strip",
    "tray",
    "trim",
]

if not TYPE_CHECKING:  # so that a type checker refuses names that there are not

    def __getattr__(name):
        """Return a public name, and keep it."""
        for module, names in _HOMES.items():
            for entry in names:
                own, _, public = entry.partition(" as ")
                if name == (public or own):
                    found = getattr(import_module(f"moldgen.{module}"), own)
                    globals()[name] = found
                    return found
        raise AttributeError(f"module 'moldgen' has no attribute {name!r}")

    def __dir__():
        """Return the public names, and what every module has."""
        return sorted({*globals(), *__all__})
