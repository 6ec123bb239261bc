"""A class that is run again: what is kept, what is made anew, and the same bytes either way."""

import io
import os
import subprocess
import sys
import time
import zipfile
from concurrent.futures import Executor, Future
from pathlib import Path

import pytest
from PIL import Image
from support.some import some

import moldgen as mg
from moldgen.export.run_folder import write_run
from moldgen.finding import Severity
from moldgen.job.command.school_class import ClassCommand, Sizes
from moldgen.job.formats import Format
from moldgen.lesson.arrange.shape import shape_from, shape_words
from moldgen.lesson.arrange.webs import ShotWeb
from moldgen.lesson.class_work.build import SHARED, order_for
from moldgen.lesson.class_work.contact_sheet import contact_sheet_png, small_png
from moldgen.lesson.class_work.kept_arrangement import KeptArrangement
from moldgen.lesson.class_work.kept_drawings import KeptDrawings
from moldgen.lesson.class_work.kept_webs import KeptWebs
from moldgen.lesson.class_work.make import build_class
from moldgen.lesson.class_work.record import RECORDS, kept_record, record_key
from moldgen.lesson.roster.roster import roster_of_text
from moldgen.mold.choices import FormingLook
from moldgen.pipeline.stage import quiet
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
TAG = mg.sign("NAME", letter_height=14, gauge_mm=1.0)
FORMATS = (Format.STL, Format.THREE_MF)
BUILT: dict[bytes, Future] = {}


class Bench(Executor):
    """Builds at once, each mold once for all tests, and counts what was asked for."""

    def __init__(self):
        self.asked = []

    def submit(self, work, /, *args, **options):
        """Build one mold here, or take it from the bench."""
        piece, threads = args
        self.asked.append(piece)
        if piece not in BUILT:
            BUILT[piece] = Future()
            BUILT[piece].set_result(work(piece, threads))
        done = Future()
        done.set_result(BUILT[piece].result())
        return done


def made(out, names, *, folder=Path(), like=TAG, **options):
    """Make a class of these names and write it; return result, works and what was asked for."""
    bench = Bench()
    words = ClassCommand(
        file="r.csv", like="tag.toml", **{"formats": FORMATS, "sizes": Sizes.OWN, **options}
    )
    result, works = build_class(
        roster_of_text("\n".join(names)), like, words,
        folder=folder, out=out, shop=SHOP, progress=quiet, executor=bench,
    )  # fmt: skip
    write_run(out, result.files)
    return result, works, bench.asked


def files(out, without=()):
    """Return every file of a class that people see."""
    return {
        path.relative_to(out).as_posix(): path.read_bytes()
        for path in out.rglob("*")
        if path.is_file() and not any(part.startswith(".") for part in path.relative_to(out).parts)
        and path.name not in without
    }  # fmt: skip


TELLS_OF_THE_RUN = ("overview.html", "class.zip")
"""They tell how many molds were built in this run."""


def test_a_changed_name_taken_back_leaves_no_trace(tmp_path):
    """One mold is built, and every file of plates, templates, lists and cards is as before."""
    out, other = tmp_path / "class", tmp_path / "other"
    made(out, ["ADA", "BO", "CEM"], sizes=Sizes.ONE)
    first = files(out, TELLS_OF_THE_RUN)
    changed, _, asked = made(out, ["ADA", "OLE", "CEM"], sizes=Sizes.ONE)
    between = files(out, TELLS_OF_THE_RUN)
    made(other, ["ADA", "OLE", "CEM"], sizes=Sizes.ONE)
    fresh = files(other, TELLS_OF_THE_RUN)
    packed = [members(folder / "class.zip") for folder in (out, other)]
    made(out, ["ADA", "BO", "CEM"], sizes=Sizes.ONE)

    assert len(asked) == 1
    assert packed[0] == packed[1] == {name: fresh[name] for name in some(packed[0])}
    assert between.keys() - fresh.keys() == {"2-bo/bo.stl", "2-bo/bo.3mf"}
    assert {name: between[name] for name in some(fresh)} == fresh
    assert not [one for one in changed.findings if "laid out anew" in one.says]
    again = files(out, TELLS_OF_THE_RUN)
    assert {name: again[name] for name in some(first)} == first
    assert len([name for name in first if name.endswith(".3mf")]) == 4


def members(path):
    """Return what a ZIP file holds, but for what tells of the run."""
    with zipfile.ZipFile(path) as archive:
        names = [name for name in archive.namelist() if name not in TELLS_OF_THE_RUN]
        return {name: archive.read(name) for name in names}


def test_nothing_is_drawn_again_that_did_not_change(tmp_path, monkeypatch):
    """A second run draws no template, plate or picture; a torn one is drawn again."""
    made(tmp_path, ["ADA"], formats=(*FORMATS, Format.PNG))
    first = files(tmp_path / "arrangement")
    drawn = []
    known = KeptDrawings.drawn

    def counting(self, name, made_of, draw):
        def told() -> bytes:
            drawn.append(name)
            return draw()

        return known(self, name, made_of, told)

    monkeypatch.setattr(KeptDrawings, "drawn", counting)
    made(tmp_path, ["ADA"], formats=(*FORMATS, Format.PNG))
    unchanged = list(drawn)
    (tmp_path / "arrangement" / "shot-1.pdf").write_bytes(b"torn")
    made(tmp_path, ["ADA"], formats=(*FORMATS, Format.PNG))

    assert unchanged == []
    assert drawn == ["shot-1.pdf"]
    assert files(tmp_path / "arrangement") == first
    assert {"shot-1.png", "plate-1.png", "plate-1.3mf", "report.html"} <= first.keys()


def test_pictures_and_plates_are_made_if_they_are_asked_for(tmp_path):
    """STL and plates alone bring templates and lists, and no picture."""
    made(tmp_path, ["ADA"])

    assert set(files(tmp_path / "arrangement")) == {"placings.csv", "plate-1.3mf", "shot-1.pdf"}


def test_a_person_whose_number_changed_keeps_the_mold(tmp_path):
    """One more at the front: one mold is built, the others move to their new folders."""
    made(tmp_path, ["BO", "CEM"])
    before = files(tmp_path)
    (tmp_path / "2-cem" / "mine.txt").write_text("kept")
    result, works, asked = made(tmp_path, ["ADA", "BO", "CEM"])
    after = files(tmp_path)

    assert len(asked) == 1
    assert [work.is_new for work in works] == [True, False, False]
    assert after["2-bo/bo.stl"] == before["1-bo/bo.stl"]
    assert after["3-cem/cem.3mf"] == before["2-cem/cem.3mf"]
    assert not (tmp_path / "1-bo").exists()
    assert [path.name for path in (tmp_path / "2-cem").iterdir()] == ["mine.txt"]
    assert not [one for one in result.findings if "Folders of an earlier run" in one.says]


def test_files_of_another_mold_are_not_taken_for_a_persons(tmp_path):
    """A folder that is whole, but with what the person made in between, is no finished work."""
    made(tmp_path, ["name,word", "ADA,BO", "BO,BO"])
    first = (tmp_path / "1-ada" / "ada.stl").read_bytes()
    made(tmp_path, ["name,word", "ADA,CEM", "BO,BO"])
    between = (tmp_path / "1-ada" / "ada.stl").read_bytes()
    made(tmp_path, ["name,word", "ADA,BO", "BO,BO"])

    assert between != first
    assert (tmp_path / "1-ada" / "ada.stl").read_bytes() == first


def test_another_drawing_of_the_same_name_is_another_mold(tmp_path):
    """What a drawing shows counts, not what it is called."""
    drawing = tmp_path / "buoy.svg"
    drawing.write_text('<svg width="40mm" height="40mm"><circle cx="50" cy="50" r="40"/></svg>')
    job = mg.drawing(drawing, width=40)

    def order(mend=False):
        return order_for(job, folder=tmp_path, stock={}, formats=FORMATS, mend=mend)

    first = record_key(order().piece())
    assert record_key(order().piece()) == first
    assert record_key(order(mend=True).piece()) != first
    drawing.write_text('<svg width="40mm" height="40mm"><circle cx="50" cy="50" r="30"/></svg>')

    assert record_key(order().piece()) != first


def test_molds_stay_until_all_are_laid_out_anew(tmp_path):
    """In another order they stay where they were, which is told; ``rearrange`` moves them."""
    made(tmp_path, ["ADA", "BO", "CEM"])
    where = placings(tmp_path)
    kept, _, _ = made(tmp_path, ["CEM", "ADA", "BO"])
    stayed = placings(tmp_path)
    moved, _, _ = made(tmp_path, ["CEM", "ADA", "BO"], rearrange=True)
    notes = [one.says for one in kept.findings if one.severity is Severity.NOTE]

    assert stayed == where
    assert notes == [] or "stay where an earlier run placed them" in notes[0]
    assert not [one for one in moved.findings if "stay" in one.says]
    (tmp_path / RECORDS / "places.kept").write_text("torn")
    again, _, _ = made(tmp_path, ["CEM", "ADA", "BO"])
    assert not [one for one in again.findings if "stay" in one.says]


def placings(out):
    """Return where each mold of a class stands, by its name."""
    lines = (out / "arrangement" / "placings.csv").read_text().splitlines()[1:]
    rows = [line.split(",") for line in lines]
    return {row[2]: (row[0], *row[4:]) for row in some(rows)}


def test_the_zip_of_a_run_that_went_on_is_that_of_a_fresh_one(tmp_path):
    """Members that are taken from the earlier ZIP file are the same; a torn one is not used."""
    made(tmp_path, ["ADA", "BO"])
    made(tmp_path, ["ADA", "BO"])
    packed = (tmp_path / "class.zip").read_bytes()
    for torn in (packed[:-30], packed[:5000] + b"xxxx" + packed[5004:]):
        (tmp_path / "class.zip").write_bytes(torn)
        made(tmp_path, ["ADA", "BO"])
        assert (tmp_path / "class.zip").read_bytes() == packed
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        assert archive.testzip() is None
        there = {name: archive.read(name) for name in archive.namelist()}

    assert there == {name: data for name, data in files(tmp_path).items() if name != "class.zip"}


def test_a_record_holds_the_shape_exactly(tmp_path):
    """Foot, bodies and trim line are those of the mold to the last bit."""
    _, works, _ = made(tmp_path, ["ADA"])
    shape = works[0].record.shape
    read = shape_from(shape_words(shape))

    assert shape_words(kept_record(tmp_path, works[0].record.key).shape) == shape_words(shape)
    assert read.trim.equals_exact(shape.trim, 0.0)
    assert read.piece.outline.equals_exact(shape.piece.outline, 0.0)
    assert [one.height_mm for one in read.bodies] == [one.height_mm for one in shape.bodies]
    with pytest.raises((KeyError, TypeError, ValueError)):
        shape_from({**shape_words(shape), "trim": "00"})


def test_the_sheet_is_formed_over_a_shot_once(tmp_path, monkeypatch):
    """What webs is moved apart; the next run knows it and forms nothing."""
    formed = []

    def crowded(self, layout, shot, molds):
        formed.append(shot)
        names = sorted(molds[k].piece.name for k in shot.pieces)
        web = ShotWeb(where_mm=(1.0, 2.0), height_mm=3.0, length_mm=4.0, near=(0, 1))
        return (((names[0], names[1]), web),) if len(formed) == 1 else ()

    monkeypatch.setattr("moldgen.lesson.arrange.webs.WebCheck.crowded", crowded)
    first, _, _ = made(tmp_path, ["ADA", "BO"], forming=FormingLook.PREVIEW)
    n_formed = len(formed)
    again, _, _ = made(tmp_path, ["ADA", "BO"], forming=FormingLook.PREVIEW)

    assert n_formed == 2
    assert len(formed) == n_formed
    assert dict(first.summary)["Webs"] == dict(again.summary)["Webs"]
    assert "1 pair moved apart" in dict(first.summary)["Webs"]
    other = KeptWebs(tmp_path / RECORDS, FormingLook.FINE).remember(lambda *_: ())
    kept = KeptArrangement(tmp_path, ClassCommand(file="r", like="t")).earlier
    assert other is not None
    assert list(kept.added_mm) == [("ADA", "BO")]


def test_what_a_mold_lacks_is_mended_for_the_person_alone(tmp_path):
    """Wider letters where a gap is narrow, told in the list; the sheet stays that of the class."""
    like = mg.sign("NAME", letter_height=14, gauge_mm=1.5)
    mended, works, _ = made(tmp_path, ["CEM"], like=like, formats=(Format.STL,), mend=True)

    assert mended.findings == ()
    assert works[0].changes
    assert not [one for one in works[0].changes if one.partition(":")[0] in SHARED]
    assert works[0].changes[0] in mended.files["class-list.csv"].decode("utf-8-sig")
    assert works[0].record.numbers["gauge_mm"] == 1.5


def test_many_pictures_are_shown_smaller():
    """The sheet of hundreds of molds stays of a size that a page can show."""
    stream = io.BytesIO()
    Image.new("RGB", (1400, 560), "navy").save(stream, "PNG")
    small = small_png(stream.getvalue())
    sizes = [Image.open(io.BytesIO(contact_sheet_png([small] * n))).size for n in (1, 3, 61, 300)]

    assert Image.open(io.BytesIO(small)).size == (560, 224)
    assert sizes[:2] == [(568, 232), (1136, 464)]
    assert all(width <= 1300 for width, _ in sizes)
    assert sizes[3][0] * sizes[3][1] < 4e6


def test_workers_end_with_who_started_them():
    """A run that is killed leaves no process behind."""
    words = (
        "import os, time\n"
        "from moldgen.pool.processes import local_processes\n"
        "if __name__ == '__main__':\n"
        "    with local_processes(2) as pool:\n"
        "        print(pool.submit(os.getpid).result(), flush=True)\n"
        "        time.sleep(60)\n"
    )
    script = subprocess.Popen([sys.executable, "-c", words], stdout=subprocess.PIPE)
    worker = int(script.stdout.readline())
    script.kill()
    script.wait()
    script.stdout.close()
    until = time.monotonic() + 20
    while time.monotonic() < until and _lives(worker):
        time.sleep(0.05)

    assert not _lives(worker)


def _lives(pid):
    try:
        os.kill(pid, 0)
    except OSError:
        return False
    return True


def test_no_more_results_wait_than_are_soon_written(tmp_path, monkeypatch):
    """Where a hundred molds are built quickly, only some are asked for before one is written."""
    monkeypatch.setattr("moldgen.pool.answers.MOST_WAITING", 1)
    bench = Bench()
    seen = []
    words = ClassCommand(file="r.csv", like="tag.toml", formats=FORMATS, alone=True)
    build_class(
        roster_of_text("ADA\nBO"), TAG, words, folder=Path(), out=tmp_path, shop=SHOP,
        progress=lambda stage: seen.append((stage.name, len(bench.asked))), executor=bench,
    )  # fmt: skip

    assert [n for name, n in seen if "of 2 molds built" in name] == [1, 2]
