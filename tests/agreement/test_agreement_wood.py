"""A mold of wood is the printed mold in all but its matter, and says nothing of printing."""

import io
import re
from typing import Any, cast

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf import units
from support.some import some

import moldgen as mg
from moldgen.errors import SpecError
from moldgen.job import Format, load_job
from moldgen.mold.wood.wood import build_wood
from moldgen.pipeline.mold.make import work_out
from moldgen.pipeline.stage import quiet
from moldgen.stock import load_shop
from moldgen.stock.board import BoardSystem

SHOP = load_shop(user_file=None)
JOBS = {
    "sign": lambda **said: mg.sign("PIER 4", **said),
    "tray": lambda **said: mg.tray(120, 80, 25, compartments="2 x 1", **said),
    "raise": lambda **said: mg.drawing(shape="anchor", width_mm=180, height_mm=20, **said),
}
PRINTING = re.compile(
    r"\b(printer|nozzle|infill|filament|slicer|softens|before printing|ready to print|"
    r"do not print|the bed|first layer)\b",
    re.IGNORECASE,
)


@pytest.fixture(scope="module", params=JOBS)
def pair(request, tmp_path_factory):
    """Work out a mold that is printed with drilled vents, and the same one of wood."""
    make, folder = JOBS[request.param], tmp_path_factory.mktemp("shed")
    jobs = (make(vents="drilled"), make(build="wood"))
    return [work_out(job, folder=folder, shop=SHOP, progress=quiet) for job in jobs]


def test_sheet_vents_and_trim_are_those_of_the_printed_mold(pair):
    """The walls are the same, so the sheet, every vent and the trim line are too."""
    printed, wood = pair
    assert wood.design.setting.sheet == printed.design.setting.sheet
    places = [[(v.x_mm, v.y_mm, v.z_mm) for v in one.mold.vents.vents] for one in pair]
    assert len(places[0]) == len(places[1])
    assert all(vent.slit is None for vent in wood.mold.vents.vents)
    assert shapely.equals_exact(wood.design.trim_line, printed.design.trim_line, 1e-9)
    assert wood.design.raw.height_mm == printed.design.raw.height_mm


def test_layers_add_up_to_the_mold(pair):
    """The stack is as tall as the mold, and the lowest layer is as large as its foot."""
    wood = pair[1]
    built = build_wood(wood.design.features.bodies, wood.mold.vents.vents, BoardSystem.METRIC)
    assert built.height_mm == pytest.approx(wood.mold.height_mm, abs=1e-3)
    foot = np.array(wood.mold.foot.bounds)
    assert np.array(built.layers[0].lower.bounds) == pytest.approx(foot, abs=0.05)
    assert wood.output.told.numbers["layers"] == len(built.layers)


def test_nothing_is_said_of_printing(pair):
    """No row, finding, figure or word of the report is about a printer or what it lays down."""
    made = pair[1].output.render([Format.HTML, Format.JSON])
    told = [*(f"{label} {value}" for label, value in made.summary)]
    told += [f"{one.says} {one.advice} {one.basis}" for one in made.findings]
    page = re.sub(r"(?s)<style>.*?</style>|data:image[^\"]*|<pre.*?</pre>", "", made.files[
        "report.html"].decode())  # fmt: skip
    for words in some([*told, page]):
        assert not PRINTING.search(words), PRINTING.search(words)
    assert not {"print_h", "filament_m", "cycles_in_a_row", "load_used"} & set(made.numbers)
    assert "Local rules come first" in page
    assert page.index("Saws:") < page.index("Hot sheet and heater")


def test_templates_are_true_to_size(pair):
    """Another library reads each layer's lower and upper edges in millimeters, as computed."""
    wood = pair[1]
    built = build_wood(wood.design.features.bodies, wood.mold.vents.vents, BoardSystem.METRIC)
    made = wood.output.render([Format.DXF, Format.PDF])
    for layer in some(built.layers):
        (name,) = [n for n in made.files if n.endswith(f"-layer-{layer.number}.dxf")]
        drawing = ezdxf.read(io.StringIO(made.files[name].decode("cp1252")))
        assert drawing.units == units.MM
        for kind, region in (("below", layer.wood_below), ("saw", layer.wood_above)):
            if kind == "saw" and any(not cut.through for cut in layer.cuts):
                continue
            lines = drawing.modelspace().query(f'LWPOLYLINE[layer=="{kind}"]')
            corners = np.concatenate([np.array(cast(Any, line).get_points("xy")) for line in lines])
            box = (*corners.min(axis=0), *corners.max(axis=0))
            assert box == pytest.approx(region.bounds, abs=1e-3)
        assert f"{name[:-4]}.pdf" in made.files
        circles = drawing.modelspace().query('CIRCLE[layer=="dowel"]')
        wanted = [one for one in built.dowels.dowels if layer.number in one.layers]
        assert len(circles) == len(wanted)


def test_every_layer_has_three_files_and_the_stack_a_picture():
    """SVG, DXF and PDF of each layer, and the layers pulled apart as a PNG."""
    made = mg.make(mg.sign("PIER", build="wood", formats=("svg", "dxf", "pdf", "png")))
    files = made.files()
    names = set(files)
    for number in (1, 2):
        assert {f"pier-layer-{number}.{kind}" for kind in ("svg", "dxf", "pdf")} <= names
    assert files["pier-layers.png"].startswith(b"\x89PNG")


def test_letter_paper_takes_boards_in_inches():
    """Who prints on Letter has boards in inches: 1/4 in is planed to the plaque's 6 mm."""
    made = mg.make(mg.sign("PIER", build="wood", paper="Letter", formats=("json",)))
    assert "1/4 in" in dict(made.summary)["Layers"]
    assert made.numbers["planed_mm"] == pytest.approx(2 * 6.35 - 10, abs=1e-6)


def test_no_printer_limits_the_size():
    """A mold of wood as wide as a large table is not scaled down to a printer."""
    said: Any = {"shape": "anchor", "width_mm": 700, "height_mm": 30}
    made = mg.design(mg.drawing(**said, build="wood"))
    assert not [one for one in made.mold.findings if one.code.startswith("print-")]
    printed = mg.design(mg.drawing(**said))
    assert [one for one in printed.mold.findings if one.code.startswith("print-")]


def test_a_job_file_says_wood(tmp_path):
    """What the command stands for reads back as the same job."""
    job = mg.sign("PIER", build="wood")
    path = tmp_path / "pier.toml"
    path.write_text(mg.job_toml(job))
    assert 'build = "wood"' in path.read_text()
    assert load_job(path).build == "wood"


def test_vents_cannot_be_printed_in_wood():
    """One sentence says what to change."""
    with pytest.raises(SpecError, match=r"vents must be drilled in a mold of wood \(got printed\)"):
        mg.sign("PIER", build="wood", vents="printed")
