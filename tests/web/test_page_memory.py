"""The process that serves the page holds none of the libraries that only its workers need."""

import subprocess
import sys

_ASK = """
import sys
import moldgen.cli.page, moldgen.web.serve, uvicorn
from moldgen.stock import shop_from_texts
from moldgen.web.controls import controls_of
from moldgen.web.wish import STARTS, Beginning, DesignWish
for one in Beginning:
    controls_of(one, shop_from_texts({}))
    one is Beginning.STRIP or DesignWish(beginning=one, values={**STARTS[one]}).job()
print(*sys.modules)
"""


def test_the_server_loads_no_numbers_and_no_geometry():
    """Not to list controls, nor to check what was typed; strips are checked by a worker."""
    told = subprocess.run([sys.executable, "-c", _ASK], capture_output=True, text=True, check=True)

    loaded = {name.partition(".")[0] for name in told.stdout.split()}
    assert {"starlette", "uvicorn", "moldgen"} <= loaded
    assert loaded.isdisjoint({"numpy", "shapely", "numba", "scipy", "PIL", "fontTools"})
