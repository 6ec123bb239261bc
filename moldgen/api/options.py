"""The types of keyword arguments; written by ``python -m tests.support.option_types``."""

# Every field stands with its unit in its name and without it.

from __future__ import annotations

from collections.abc import Sequence
from os import PathLike
from typing import Literal, TypedDict

from moldgen.job.outline import Grid

Number = float | str
"""A number in the unit of the field, or a written measure such as ``"1/8 in"``."""
Numbers = str | Sequence[float | str]
"""Numbers with commas between them, or a list."""
FileName = str | PathLike[str]


class ShopArguments(TypedDict, total=False):
    """Sheet and machines: what everything with a sheet can say."""

    # plastic of the sheet: moldgen stock sheet lists them
    plastic: str
    # mm, thickness of the sheet before forming
    gauge: Number
    gauge_mm: Number
    # forming table: moldgen stock machine lists them
    machine: str
    # printer: moldgen stock printer lists them
    printer: str
    # filament: moldgen stock filament lists them
    filament: str
    # mm or inch, for what people read; a number typed without unit stays in millimeters
    units: Literal["mm", "inch"]


class PlanArguments(ShopArguments, total=False):
    """What everything with a plan at 1:1 can say."""

    # files to write: stl, 3mf, glb, svg, dxf, pdf, png, html, json
    formats: str | Sequence[str]
    # A4 or Letter, for the plan at 1:1
    paper: Literal["A4", "Letter"]


class MoldArguments(PlanArguments, total=False):
    """What everything that makes a mold can say."""

    # what the job is called; made up if left out
    title: str
    # date for the label, as you write it
    date: str
    # °, draft of the walls; by the rules if left out
    draft: Number | None
    draft_deg: Number | None
    # mm, radius of top edges; by the rules if left out
    top_radius: Number | None
    top_radius_mm: Number | None
    # mm, radius at the base of walls; by the rules if left out
    base_radius: Number | None
    base_radius_mm: Number | None
    # mm, radius of corners seen from above; by the rules if left out
    plan_radius: Number | None
    plan_radius_mm: Number | None
    # mm, sheet left round the part; by its use if left out
    flange: Number | None
    flange_mm: Number | None
    # offset (follows the mold), convex (straight across hollows), rounded (a rectangle with rou
    trim_shape: Literal["offset", "convex", "rounded", "straight"] | None
    # make the mold larger by what the plastic shrinks
    shrinkage: bool
    # slits, drilled or printed: how vents are opened; a hole where no slit has room
    vents: Literal["slits", "drilled", "printed"]
    # off, preview or fine: how closely the hot sheet is followed; auto tells what is thin in a
    forming: Literal["auto", "off", "preview", "fine"]
    # run the sheet again at half the pace and tell how far thickness may be off by it
    check_pace: bool
    # mm, thickness wanted everywhere on the formed part
    least: Number | None
    least_mm: Number | None


class SignArguments(MoldArguments, total=False):
    """What can be said to the function of that name."""

    # file with your own stock entries
    stock: FileName
    # printed, or wood: sawn from boards, layer by layer
    build: Literal["printed", "wood"]
    # plaque (letters raised on it), word (straight on the table) or letters (one each)
    as_: Literal["plaque", "word", "letters"]
    # mm, height of the capital H; 30, or as there is room, if left out
    letter_height: Number | None
    letter_height_mm: Number | None
    # mm, how far letters stand out; 4 on a plaque, else 12, or as their gaps allow, if left out
    relief: Number | None
    relief_mm: Number | None
    # mm, height of the plaque
    plaque_height: Number
    plaque_height_mm: Number
    # mm, plaque round the letters; 12, or what a border takes, if left out
    margin: Number | None
    margin_mm: Number | None
    # mm, radius of the plaque's corners
    corner: Number
    corner_mm: Number
    # font by name or file: moldgen fonts lists them
    font: FileName
    # left, center or right: where lines meet
    align: Literal["left", "center", "right"]
    # added between letters, such as "1 mm", or "10 %" of their height
    letter_spacing: str
    # whether a rim is raised along the plaque's edge
    border: bool
    # none, one or two: marks above the words, to drill the formed part by
    hanging_hole: Literal["none", "one", "two"]
    # whether letters are to be read by touch: height, strokes and spacing are checked
    tactile: bool


class TrayArguments(MoldArguments, total=False):
    """What can be said to the function of that name."""

    # file with your own stock entries
    stock: FileName
    # printed, or wood: sawn from boards, layer by layer
    build: Literal["printed", "wood"]
    # compartments, such as "3 x 2"
    compartments: Grid | str
    # mm, between compartments; as the sheet needs if left out
    gap: Number | None
    gap_mm: Number | None
    # mm, radius of corners, seen from above; by the depth if left out
    corner: Number | None
    corner_mm: Number | None
    # male (sheet drawn over the mold) or female (drawn into it)
    side: Literal["male", "female"]


class NestArguments(MoldArguments, total=False):
    """What can be said to the function of that name."""

    # file with your own stock entries
    stock: FileName
    # mm, depth of every nest; half of its thing if left out
    depth: Number | None
    depth_mm: Number | None
    # mm, play round a thing on the floor
    play: Number
    play_mm: Number
    # mm, notches for the fingers; 22 where they fit, 0 for none
    grip: Number | None
    grip_mm: Number | None
    # mm, between nests; as the sheet needs if left out
    gap: Number | None
    gap_mm: Number | None


class DrawingArguments(MoldArguments, total=False):
    """What can be said to the function of that name."""

    # file with your own stock entries
    stock: FileName
    # printed, or wood: sawn from boards, layer by layer
    build: Literal["printed", "wood"]
    # shape of the library in place of a file
    shape: str
    # mm, height of the mold; 12, or as its gaps allow, if left out
    height: Number | None
    height_mm: Number | None
    # mm, width it is scaled to; as drawn if left out, a shape 120
    width: Number | None
    width_mm: Number | None
    # one part of an SVG, by id, label or number
    part: str
    # auto, ignore or outline: what becomes of drawn lines in an SVG
    strokes: Literal["auto", "ignore", "outline"]
    # word on its flat, as large as there is room; " / " starts a new line
    word: str
    # line, edge (the upper edge of the shape) or circle (inside it): what it follows
    along: Literal["line", "edge", "circle"]
    # mm, height of the capital H; the largest that fits, if left out
    letter_height: Number | None
    letter_height_mm: Number | None
    # mm, how far letters stand out; 4, or as their gaps allow, if left out
    relief: Number | None
    relief_mm: Number | None
    # whether letters are sunk into the shape
    sunk: bool
    # mm, from the word to the edge of the shape's flat
    margin: Number
    margin_mm: Number
    # font by name or file: moldgen fonts lists them
    font: FileName
    # layer of a DXF to read; may be repeated
    layer: str | Sequence[str]
    # unit of a DXF that does not say its own
    unit: str


class AdaptArguments(MoldArguments, total=False):
    """What can be said to the function of that name."""

    # what a picture is: relief (brightness is height) or outline (a drawing)
    as_: Literal["auto", "relief", "outline"]
    # draw direction of a mesh, the way the part comes off: z, -z, x, -x, y, -y, or best to sear
    draw_direction: Literal["best", "z", "-z", "x", "-x", "y", "-y"]
    # unit of a mesh that does not say its own; mm if left out
    unit: Literal["micron", "mm", "cm", "m", "in", "ft"] | None
    # mm, width it is scaled to; a picture 120, a mesh as it is
    width: Number | None
    width_mm: Number | None
    # mm, height of a relief (usual: 6) or outline (12)
    height: Number | None
    height_mm: Number | None
    # whether dark is high in a relief
    dark: bool
    # whether what drawn lines enclose is raised with them
    fill: bool
    # male (sheet drawn over the mold) or female (drawn into it)
    side: Literal["male", "female"]
    # mm, step at which the shape is read; by its size if left out
    cell: Number | None
    cell_mm: Number | None
    # mm, how far triangles may leave the shape
    deviation: Number
    deviation_mm: Number
    # mm, detail finer than this is smoothed away
    smooth: Number
    smooth_mm: Number
    # mm, plate under it; 4 under a relief or open mesh if left out
    base: Number | None
    base_mm: Number | None
    # mm, plate round it
    margin: Number
    margin_mm: Number
    # share that may be added to its volume before it is refused
    most_added: Number


class CompareArguments(TypedDict, total=False):
    """What can be said to the function of that name."""

    # plastics of the sheet, "HIPS, PETG", with commas between them; as the job says if left out
    sheet: str | Sequence[str]
    # mm, thicknesses of the sheet, "1, 1.5"; as the job says if left out
    gauge: Numbers
    gauge_mm: Numbers
    # forming tables, with commas between them; as the job says if left out
    machine: str | Sequence[str]
    # filaments, with commas between them; as the job says if left out
    filament: str | Sequence[str]
    # off, preview or fine: how closely the hot sheet is followed; auto tells what is thin in a
    forming: Literal["auto", "off", "preview", "fine"]
    # molds built at a time on this machine; as many as pay if 0
    workers: Number
    # address of a cluster that builds them, as moldgen scheduler prints it
    cluster: str
    # folder of the cluster's keys, needed beyond this machine
    cluster_keys: str
    # mm or inch, for what people read; a number typed without unit stays in millimeters
    units: Literal["mm", "inch"]
    # files to write: csv, png, json
    formats: str | Sequence[str]


class ArrangeArguments(TypedDict, total=False):
    """What can be said to the function of that name."""

    # search for fewer sheets; takes seconds, not an instant
    tighter: bool
    # another number, another search
    seed: Number
    # how molds may be turned: none, quarter or any
    turns: Literal["none", "quarter", "any"]
    # one cut between two parts is enough; each keeps half of the sheet there
    share_flange: bool
    # mm, least distance of all molds, beside the rules
    gap: Number | None
    gap_mm: Number | None
    # where no mold may stand: "40 x 40 at 0 x 0", width and depth, and its lower left corner fr
    keep_out: str | Sequence[str]
    # stock that blanks are cut from, "1220 x 610"; no cut list if left out
    stock_sheet: str
    # mm, what a cut takes away; 0 for a knife
    kerf: Number
    kerf_mm: Number
    # no blank may lie across the grain of the film
    keep_grain: bool
    # forming table; as the jobs say if left out
    machine: str
    # printer; as the jobs say if left out
    printer: str
    # off, preview or fine: how closely the hot sheet is followed; auto tells what is thin in a
    forming: Literal["auto", "off", "preview", "fine"]
    # A4 or Letter, for the plan at 1:1
    paper: Literal["A4", "Letter"]
    # mm or inch, for what people read; a number typed without unit stays in millimeters
    units: Literal["mm", "inch"]
    # files to write: 3mf (plates; takes longer), svg, dxf, pdf, png, html, json
    formats: str | Sequence[str]


class ClassArguments(TypedDict, total=False):
    """What can be said to the function of that name."""

    # one (plaques alike) or own (each as its word needs)
    sizes: Literal["one", "own"]
    # own (each group of the list has sheets of its own) or mixed (fewer sheets)
    groups: Literal["own", "mixed"]
    # form every mold on a sheet of its own; several on one if left out
    alone: bool
    # choose the size of all plaques and lay all molds out anew, also where those of an earlier
    rearrange: bool
    # change each job as little as clears its cautions; sheet and machines stay
    mend: bool
    # off, preview or fine: how closely the hot sheet is followed; auto tells what is thin in a
    forming: Literal["auto", "off", "preview", "fine"]
    # min, length of a lesson
    lesson_min: Number
    # places to trim at
    trim_places: Number
    # where else people work, "strip heater 1 x 6 min; drawing 10 x 15 min; drilling 2": places
    workstations: str | Sequence[str]
    # search for fewer sheets; takes seconds, not an instant
    tighter: bool
    # another number, another search
    seed: Number
    # how molds may be turned: none, quarter or any
    turns: Literal["none", "quarter", "any"]
    # one cut between two parts is enough; each keeps half of the sheet there
    share_flange: bool
    # where no mold may stand: "40 x 40 at 0 x 0", width and depth, and its lower left corner fr
    keep_out: str | Sequence[str]
    # stock that blanks are cut from, "1220 x 610"; no cut list if left out
    stock_sheet: str
    # mm, what a cut takes away; 0 for a knife
    kerf: Number
    kerf_mm: Number
    # no blank may lie across the grain of the film
    keep_grain: bool
    # molds built at a time on this machine; as many as pay if 0
    workers: Number
    # address of a cluster that builds them, as moldgen scheduler prints it
    cluster: str
    # folder of the cluster's keys, needed beyond this machine
    cluster_keys: str
    # printers that print side by side, "2 x medium; large"; may be repeated; the one of the job
    printers: str | Sequence[str]
    # sheet of labels, "3 x 8 of 70 x 37 mm", with ", 3 x 0 mm apart" if they are; a usual grid
    labels: str
    # A4 or Letter, for the plan at 1:1
    paper: Literal["A4", "Letter"]
    # files for each person: stl, 3mf, glb, svg, dxf, pdf, png
    formats: str | Sequence[str]


class CheckArguments(PlanArguments, total=False):
    """What can be said to the function of that name."""

    # draw direction, the way the part comes off: z, -z, x, -x, y or -y
    draw_direction: Literal["z", "-z", "x", "-x", "y", "-y"]
    # unit of a file that does not say its own; mm if left out
    unit: Literal["micron", "mm", "cm", "m", "in", "ft"] | None
    # off, preview or fine: how closely the hot sheet is followed; auto tells what is thin in a
    forming: Literal["auto", "off", "preview", "fine"]
    # run the sheet again at half the pace and tell how far thickness may be off by it
    check_pace: bool
    # mm, thickness wanted everywhere on the formed part
    least: Number | None
    least_mm: Number | None


class TrimArguments(PlanArguments, total=False):
    """What can be said to the function of that name."""

    # height (round the wall), straight, rounded, offset, oval or own; left out, that of the job
    line: Literal["height", "straight", "rounded", "offset", "convex", "oval", "own"] | None
    # mm, height of a line round the wall
    height: Number | None
    height_mm: Number | None
    # mm, sheet left round the part; by its use if left out
    flange: Number | None
    flange_mm: Number | None
    # glued or screwed: sets the flange where none is given
    fixing: Literal["glued", "screwed"] | None
    # mm, corners of a rounded line
    corner: Number
    corner_mm: Number
    # drawing (SVG, DXF) of your own trim line
    own: FileName
    # whether templates and cradles are made that are not worth their filament
    every: bool
    # unit of a mesh that does not say its own; mm if left out
    unit: Literal["micron", "mm", "cm", "m", "in", "ft"] | None


class FixtureArguments(PlanArguments, total=False):
    """What can be said to the function of that name."""

    # job file of the mold whose vents a drill guide is for
    file: FileName
    # plug, standoff, spacer: how many (usual: 12, 4, 4)
    count: Number | None
    # mm, plug, standoff, spacer, handle: length: of the shaft, the pad, the grip (usual: 6, 12,
    length: Number | None
    length_mm: Number | None
    # mm, plug, spacer, frame, sheet-gauge, drill-guide, roller: thickness of the plate (usual:
    thickness: Number | None
    thickness_mm: Number | None
    # mm, plug, standoff, drill-guide, rail: play on every side of what it fits (usual: 0.15, 0.
    clearance: Number | None
    clearance_mm: Number | None
    # mm, standoff, ejector, scribe: height: of the scribed line, the pad, the legs (usual: 10,
    height: Number | None
    height_mm: Number | None
    # mm, frame: small sheet, left to right; 0.6 of the usual if left out
    sheet_width: Number | None
    sheet_width_mm: Number | None
    # mm, frame: small sheet, front to back; 0.6 of the usual if left out
    sheet_depth: Number | None
    sheet_depth_mm: Number | None
    # drill-guide: vents by x, y and diameter from the middle: "20,10,1; -20,10,1"
    places: str | None
    # mm, drill-guide: foot of the mold, left to right (usual: 100)
    mold_width: Number | None
    mold_width_mm: Number | None
    # mm, drill-guide: foot of the mold, front to back (usual: 60)
    mold_depth: Number | None
    mold_depth_mm: Number | None
    # mm, drill-guide: outside of a metal tube that guides the drill; 0 for none
    bushing: Number | None
    bushing_mm: Number | None
    # handle, ejector: thread of the insert, such as M4 (usual: M4)
    thread: str | None
    # mm, ejector: clear width between the legs, over the mold (usual: 120)
    span: Number | None
    span_mm: Number | None
    # rail: word the letter rail is for (usual: PIER)
    word: str | None
    # mm, rail: height of the capital H (usual: 40)
    letter_height: Number | None
    letter_height_mm: Number | None
    # rail: the part is read from its other side: letters run backward
    mirrored: bool
    # rail: font of the letters: moldgen fonts lists them
    font: FileName | None
    # mm, scribe, roller: bore for the pencil (usual: 7.6)
    pencil: Number | None
    pencil_mm: Number | None
    # mm, roller: from the part's wall to the drawn line (usual: 12)
    offset: Number | None
    offset_mm: Number | None


class LettersArguments(ShopArguments, total=False):
    """What can be said to the function of that name."""

    # how many of each common letter, E T A O I N S R H L
    common: Number
    # how many of some letters: "E=4, S=3"
    counts: str
    # feet without a letter, for the gaps between words
    blanks: Number
    # mm, height of the capital H
    letter_height: Number
    letter_height_mm: Number
    # font by name or file: moldgen fonts lists them
    font: FileName
    # letters that read from the other side of the part
    mirrored: bool
    # also make the rail for this word
    word: str
    # printed (a tray, a place for each letter), formed (job files of molds for such trays) or n
    storage: Literal["printed", "formed", "none"]
    # files to write: stl, 3mf, glb, png, html, json
    formats: str | Sequence[str]


class MeasureArguments(ShopArguments, total=False):
    """What can be said to the function of that name."""

    # unit of a file that does not say its own; mm if left out
    unit: Literal["micron", "mm", "cm", "m", "in", "ft"] | None
    # draw direction, the way a part comes off: z, -z, x, -x, y or -y
    draw_direction: Literal["z", "-z", "x", "-x", "y", "-y"]
    # infill, such as 20 %
    infill: Number
    # files to write: html, png, json
    formats: str | Sequence[str]


class RefitArguments(ShopArguments, total=False):
    """What can be said to the function of that name."""

    # unit of a file that does not say its own; mm if left out
    unit: Literal["micron", "mm", "cm", "m", "in", "ft"] | None
    # lay it so that this of its directions points up
    up: Literal["z", "-z", "x", "-x", "y", "-y"]
    # mm, scale it: what a length must be
    length: Number | None
    length_mm: Number | None
    # mm, what that length is in the file; its longest side
    measured: Number | None
    measured_mm: Number | None
    # mirror it left to right (x), y or z
    mirror: Literal["x", "y", "z"] | None
    # mm, cut it flat at this height and keep the rest
    cut: Number | None
    cut_mm: Number | None
    # mm, plastic added under its base
    thicken: Number | None
    thicken_mm: Number | None
    # hollow it from below, with ribs
    hollow: bool
    # mm, least thickness left by hollowing
    skin: Number
    skin_mm: Number
    # mm, width of the hollows between ribs
    cell: Number
    cell_mm: Number
    # drill vents at its low spots
    vents: bool
    # mm, diameter of the vents; by the plastic if left out
    vent: Number | None
    vent_mm: Number | None
    # cut channels under it that lead vents to the table
    grooves: bool
    # files to write: stl, 3mf, glb, png, html, json
    formats: str | Sequence[str]


class SplitArguments(TypedDict, total=False):
    """What can be said to the function of that name."""

    # unit of a file that does not say its own; mm if left out
    unit: Literal["micron", "mm", "cm", "m", "in", "ft"] | None
    # dowel (bought pins), printed (printed pins) or none
    keys: Literal["dowel", "printed", "none"]
    # pin, such as steel 5; the thickest that fits if left out
    dowel: str
    # mm, play of a pin in its hole, on the diameter
    play: Number
    play_mm: Number
    # infill, such as 20 %
    infill: Number
    # printer: moldgen stock printer lists them
    printer: str
    # filament: moldgen stock filament lists them
    filament: str
    # mm or inch, for what people read; a number typed without unit stays in millimeters
    units: Literal["mm", "inch"]
    # files to write: stl, 3mf, glb, png, html, json
    formats: str | Sequence[str]


class TestPieceArguments(TypedDict, total=False):
    """What can be said to the function of that name."""

    # pin to try, such as steel 5 or wood 6
    dowel: str
    # mm, plays to try, on the diameter
    plays: Numbers
    plays_mm: Numbers
    # mm, vent holes to try
    vents: Numbers
    vents_mm: Numbers
    # mm, vent slits to try
    slits: Numbers
    slits_mm: Numbers
    # printer: moldgen stock printer lists them
    printer: str
    # filament: moldgen stock filament lists them
    filament: str
    # mm or inch, for what people read; a number typed without unit stays in millimeters
    units: Literal["mm", "inch"]
    # files to write: stl, 3mf, glb, png, html, json
    formats: str | Sequence[str]


class HeatArguments(TypedDict, total=False):
    """What can be said to the function of that name."""

    # mm, thickness of the sheet before forming
    gauge: Number
    gauge_mm: Number
    # forming table: moldgen stock machine lists them
    machine: str
    # filament: moldgen stock filament lists them
    filament: str
    # cycles that are wanted of the mold
    cycles: Number
    # a sheet and how long it took, "HIPS 0.75mm 30s", for this answer alone; may be repeated; l
    seen: str | Sequence[str]
    # a light fan blows over the sheet while it is heated
    fan: bool
    # mm, depth in which a clear sheet takes up 63 % of the heat
    clear_depth: Number
    clear_depth_mm: Number
    # formed part where it is thinnest, over the gauge
    thinnest: Number
    # mm, height of the mold under the sheet
    height: Number
    height_mm: Number
    # mm, solid skin of the printed mold
    skin: Number
    skin_mm: Number
    # share of the filling that is plastic
    infill: Number
    # mm or inch, for what people read; a number typed without unit stays in millimeters
    units: Literal["mm", "inch"]
    # files to write: html, png, json
    formats: str | Sequence[str]


class NoteArguments(TypedDict, total=False):
    """What can be said to the function of that name."""

    # s, heated until it was right
    heated: Number | None
    heated_s: Number | None
    # s, vacuum held
    formed: Number | None
    formed_s: Number | None
    # s, cooled on the mold
    cooled: Number | None
    cooled_s: Number | None
    # what the part was like: good, web, hole, thin, lumps, marks, stuck, soft-mold; may be repe
    seen: str | Sequence[str]
    # thickness at a place, by caliper, "corner 0.62 mm"; may be repeated
    measured: str | Sequence[str]
    # shot on this mold, from 1
    cycle: Number | None
    # whether the mold was given up after it
    mold_ended: bool
    # h, printing of the mold, really
    printed: Number | None
    printed_h: Number | None
    # picture of the part, a file; a small copy of it is kept
    photo: FileName
    # who noted it
    who: str
    # in own words
    remark: str
    # day of the shot, "2026-03-04" or "2026-03-04 10:20"; now if left out
    on: str
    # name of the job, in place of a file: one that the log knows, or with machine, plastic and
    job: str
    # which of several molds of that job, such as a name
    mold: str
    # forming machine, if not that of the job
    machine: str
    # plastic of the sheet, if not that of the job
    plastic: str
    # mm, gauge of the sheet, if not that of the job
    gauge: Number | None
    gauge_mm: Number | None


class ChartArguments(TypedDict, total=False):
    """What can be said to the function of that name."""

    # sheets on the chart, "HIPS 1; HIPS 1.5; PETG 1 mm"; may be repeated; the usual plastics an
    sheets: str | Sequence[str]
    # forming table: moldgen stock machine lists them
    machine: str
    # filament: moldgen stock filament lists them
    filament: str
    # A4 or Letter, for the plan at 1:1
    paper: Literal["A4", "Letter"]
    # mm or inch, for what people read; a number typed without unit stays in millimeters
    units: Literal["mm", "inch"]
    # files to write: pdf, html, json
    formats: str | Sequence[str]


class StripArguments(TypedDict, total=False):
    """What can be said to the function of that name."""

    # a ready-made strip, its legs and angles by what it holds
    make: (
        Literal["card-stand", "leaflet-holder", "phone-stand", "book-rest", "book-end", "wall-hook"]
        | None
    )
    # what it holds, with --make: A5, phone, "148 x 105", "phone 80 x 170 x 14"
    holds: str
    # g, mass of what it holds, with --make; by its size
    mass: Number | None
    mass_g: Number | None
    # °, its back from upright, with --make; chosen
    lean: Number | None
    lean_deg: Number | None
    # mm, legs, left to right, one more than bends
    legs: Numbers
    legs_mm: Numbers
    # mm, bend lines from the left end, in place of legs
    marks: Numbers
    marks_mm: Numbers
    # mm, length of the flat strip, with marks
    length: Number | None
    length_mm: Number | None
    # outside, inside (to the corner of those faces) or flat (to the bend lines)
    legs_by: Literal["outside", "inside", "flat"]
    # bends, left to right, from flat: "90,110"; down is -90 or "90 down", a fold 180
    angles: Numbers
    # mm, width of the strip; 60, or by what it holds
    width: Number | None
    width_mm: Number | None
    # mm, inside radius of all bends; chosen if left out
    radius: Number | None
    radius_mm: Number | None
    # mm, what closed folds must hold
    gap: Number | None
    gap_mm: Number | None
    # check how it stands on a table
    stand: bool
    # what the job is called; made up if left out
    title: str
    # date for the label, as you write it
    date: str
    # plastic of the strip: moldgen stock sheet lists them
    plastic: str
    # mm, thickness of the sheet; 3, or by what it holds
    thickness: Number | None
    thickness_mm: Number | None
    # strip heater: moldgen stock strip-heater lists them
    strip_heater: str
    # printer: moldgen stock printer lists them
    printer: str
    # filament: moldgen stock filament lists them
    filament: str
    # what is made: block, press, marking-gauge, angle-gauge
    jigs: str | Sequence[str]
    # mm, wood or metal facing that is glued on the jigs; chosen if left out
    facing: Number | None
    facing_mm: Number | None
    # file with your own stock entries
    stock: FileName
    # files to write: stl, 3mf, glb, svg, dxf, pdf, png, html, json
    formats: str | Sequence[str]
    # A4 or Letter, for the plan at 1:1
    paper: Literal["A4", "Letter"]
    # mm or inch, for what people read; a number typed without unit stays in millimeters
    units: Literal["mm", "inch"]
