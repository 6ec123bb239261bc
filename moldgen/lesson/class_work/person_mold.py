"""A person's mold as it lies in the folder of the class, to be arranged with the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from moldgen.export.mesh.threemf import WrittenBody, written_bodies
from moldgen.export.mesh.threemf_again import packaged_bodies
from moldgen.job import Job
from moldgen.lesson.arrange.molds import ArrangedMold
from moldgen.lesson.class_work.run import PersonWork
from moldgen.pipeline.setting import setting_of
from moldgen.solid.mesh import Mesh
from moldgen.stock import Shop


def person_mold(
    job: Job,
    work: PersonWork,
    number: Path,
    *,
    name: str,
    folder: Path,
    out: Path,
    shop: Shop,
    color: str = "",
    group: str = "",
) -> ArrangedMold:
    """Return a mold that was built.

    Parameters
    ----------
    job, work : Job, PersonWork
        What the person makes, and what became of it.
    number : Path
        The number of the person in the class.
    name : str
        What the arrangement calls it.
    folder : Path
        Where paths in the job start.
    out : Path
        Folder of the class.
    shop : Shop
        What there is to make it with.
    color : str
        Of its sheet; any, if empty.
    group : str
        Whose sheets it stands on; those of all, if empty.
    """
    shape = work.record.shape
    assert shape is not None

    def walls() -> Mesh:
        from moldgen.pipeline.mold.design import design_mold

        return design_mold(job, folder=folder, shop=shop).raw.mesh

    def finished() -> Sequence[WrittenBody]:
        files = sorted((out / work.folder).glob("*.3mf"))
        if files:
            return packaged_bodies(files[0])
        from moldgen.pipeline.mold.design import design_mold

        return written_bodies(design_mold(job, folder=folder, shop=shop).mold.bodies)

    return ArrangedMold(
        shape=shape,
        piece=replace(shape.piece, name=name),
        file=str(number),
        setting=setting_of(job, shop),
        walls=walls,
        finished=finished,
        mark=work.record.key,
        color=color,
        group=group,
    )
