"""The job: as a file says it, and as a short command stands for it."""

from moldgen.job.any_job import AnyJob, job_from_words, job_toml
from moldgen.job.command.bend import BendCommand
from moldgen.job.command.check import CheckCommand
from moldgen.job.command.mold import DrawingCommand, LettersAs, SignCommand, TrayCommand
from moldgen.job.command.mold_jobs import drawing_job, sign_job, tray_job
from moldgen.job.command.shop import DrawDirection
from moldgen.job.command.strip import strip_job
from moldgen.job.feature_names import places, with_names
from moldgen.job.load import load_job
from moldgen.job.outline import (
    Grid,
    JobAround,
    JobBorder,
    JobDrawn,
    JobDxf,
    JobGrid,
    JobInset,
    JobOutline,
    JobPoints,
    JobShape,
    JobSvg,
    JobText,
    Placement,
)
from moldgen.job.schema import job_schema
from moldgen.job.spec import (
    Format,
    Job,
    JobBody,
    JobFeature,
    JobForming,
    JobOutput,
    JobSheet,
    JobTrim,
    JobUnderside,
    JobVents,
    Paper,
    ReadAt,
    Side,
    TrimShape,
)
from moldgen.job.strip_spec import (
    JigKind,
    JobBend,
    JobHole,
    JobJigs,
    JobLoad,
    JobStand,
    JobStrip,
    JobTestStrip,
    StripJob,
)
from moldgen.mold.choices import FormingLook, UndersideKind
from moldgen.outline.choices import Align, StrokeUse

__all__ = [
    "Align",
    "AnyJob",
    "BendCommand",
    "CheckCommand",
    "DrawDirection",
    "DrawingCommand",
    "Format",
    "FormingLook",
    "Grid",
    "JigKind",
    "Job",
    "JobAround",
    "JobBend",
    "JobBody",
    "JobBorder",
    "JobDrawn",
    "JobDxf",
    "JobFeature",
    "JobForming",
    "JobGrid",
    "JobHole",
    "JobInset",
    "JobJigs",
    "JobLoad",
    "JobOutline",
    "JobOutput",
    "JobPoints",
    "JobShape",
    "JobSheet",
    "JobStand",
    "JobStrip",
    "JobSvg",
    "JobTestStrip",
    "JobText",
    "JobTrim",
    "JobUnderside",
    "JobVents",
    "LettersAs",
    "Paper",
    "Placement",
    "ReadAt",
    "Side",
    "SignCommand",
    "StripJob",
    "StrokeUse",
    "TrayCommand",
    "TrimShape",
    "UndersideKind",
    "drawing_job",
    "job_from_words",
    "job_schema",
    "job_toml",
    "load_job",
    "places",
    "sign_job",
    "strip_job",
    "tray_job",
    "with_names",
]
