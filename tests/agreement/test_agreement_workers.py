"""What many processes make is what one makes, to the last byte."""

from pathlib import Path

import moldgen as mg
from moldgen.execution import SameContextThread
from moldgen.outline.library.sheet import shape_sheet
from moldgen.pipeline.mold.mend import mend
from moldgen.pool.processes import local_processes
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
SLIP = mg.sign("SLIP", letter_height_mm=20, relief_mm=9, gauge_mm=1.0)
LONG = mg.drawing(shape="anchor", width_mm=300, title="Long")


def compared(pool=None):
    """Rows and files of a comparison, one of its molds formed, of another none can be made."""
    told = mg.compare(
        mg.sign("I", letter_height_mm=20), gauge="1, 2", forming="preview", executor=pool
    )
    refused = mg.compare(
        LONG, machine="bench-250x250, workshop-600x600", forming="off", executor=pool
    )
    return told.records, told.png_bytes(), told.csv_bytes(), refused.table()


def mended(pool=None):
    """All that mending gives back of a job with a relief too deep."""
    return mend(SLIP, folder=Path(), shop=SHOP, pool=pool, stock={})


def drawn(pool=None):
    """The outlines of the library sheet as bytes."""
    return [(info.name, region.wkb) for info, region in shape_sheet(pool)]


def test_a_piece_of_work_is_what_this_process_does():
    """Words and bytes, though they never leave the process, change nothing."""
    with SameContextThread() as pool:
        assert compared(pool) == compared()
        assert mended(pool) == mended()
        assert drawn(pool) == drawn()


def test_processes_make_what_one_makes():
    """Comparison, mending and library sheet, from two processes of this machine."""
    with local_processes(2) as pool:
        assert compared(pool) == compared()
        assert mended(pool) == mended()
        assert drawn(pool) == drawn()
