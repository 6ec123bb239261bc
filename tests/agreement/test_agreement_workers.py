"""What many processes make is what one makes, to the last byte."""

from pathlib import Path

import pytest

import moldgen as mg
from moldgen.execution import SameContextThread
from moldgen.outline.library.sheet import shape_sheet
from moldgen.pipeline.mold.mend import mend
from moldgen.pool.processes import local_processes
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
SLIP = mg.sign("SLIP", letter_height_mm=20, relief_mm=9, gauge_mm=1.0)
KRAKEN = mg.drawing(shape="kraken", width_mm=60)


def compared(pool=None):
    """Rows and files of a comparison of formed sheets, and rows of a job that cannot be made."""
    told = mg.compare(
        mg.sign("I", letter_height_mm=20), gauge="1, 2", forming="preview", executor=pool
    )
    refused = mg.compare(KRAKEN, gauge="1, 2", executor=pool)
    return told.records, told.png_bytes(), told.csv_bytes(), refused.table()


def mended(pool=None):
    """All that mending gives back of a job with a relief too deep."""
    return mend(SLIP, folder=Path(), shop=SHOP, pool=pool, stock={})


def drawn(pool=None):
    """The outlines of the library sheet as bytes."""
    return [(info.name, region.wkb) for info, region in shape_sheet(pool)]


@pytest.fixture(scope="module")
def own():
    """What this process makes, with nobody's help."""
    return compared(), mended(), drawn()


def test_what_is_compared_here_says_something(own):
    """Sheets are formed, molds cannot be made, a job is changed: there is something to agree on."""
    (records, _, _, refused), found, sheet = own

    assert all(one["thinnest_mm"] > 0 for one in records)
    assert all("kraken" in problem for _, problem in refused[1:])
    assert len(refused) == 3
    assert found.changes
    assert len(sheet) > 30


def test_a_piece_of_work_is_what_this_process_does(own):
    """Words and bytes, though they never leave the process, change nothing."""
    with SameContextThread() as pool:
        assert (mended(pool), drawn(pool)) == own[1:]


def test_processes_make_what_one_makes(own):
    """Comparison, mending and library sheet, from two processes of this machine."""
    with local_processes(2) as pool:
        assert (compared(pool), mended(pool), drawn(pool)) == own
