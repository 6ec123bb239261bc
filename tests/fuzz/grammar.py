"""Drawings and jobs written at random by their grammar, beyond what is sensible."""

from __future__ import annotations

from hypothesis import strategies as st

_NUMBER = st.one_of(
    st.integers(-200, 200).map(str),
    st.floats(-1e3, 1e3).map(lambda number: f"{number:.4g}"),
    st.sampled_from(["1e9", "1e-9", "-0", "1e30", "nan", "1.5.5", "1e999", ".5", "50%", "3mm"]),
)
_NUMBERS = st.lists(_NUMBER, max_size=12).map(" ".join)
_PATH = st.lists(
    st.builds(lambda letter, numbers: letter + numbers, st.sampled_from("MmLlHhVvCcSsQqTtAaZz"),
              _NUMBERS),
    min_size=1, max_size=10,
).map(lambda steps: "M0 0 " + " ".join(steps))  # fmt: skip
_TRANSFORM = st.builds(
    lambda name, numbers: f"{name}({numbers})",
    st.sampled_from(["translate", "scale", "rotate", "matrix", "skewX"]), _NUMBERS,
)  # fmt: skip
_STYLE = st.sampled_from(
    ["", "fill:none;stroke:#000;stroke-width:4", "fill:inherit", "display:none",
     "fill:red!important", "stroke-dasharray:1 2", "clip-path:url(#i1)", "stroke:#111",
     "fill-rule:evenodd;opacity:0"]
)  # fmt: skip
_ID = st.integers(0, 4).map(lambda number: f"i{number}")


def _attributes(**named: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    """Return some of the attributes, written."""
    return st.fixed_dictionaries({}, optional=named).map(
        lambda given: "".join(f' {name.replace("_", "-")}="{text}"' for name, text in given.items())
    )


_COMMON = {"id": _ID, "transform": _TRANSFORM, "style": _STYLE, "class_": st.just("b")}
_PLACES = {name: _NUMBER for name in ("x", "y", "width", "height", "rx", "cx", "cy", "r", "ry")}
_LEAF = st.one_of(
    st.builds("<path d='{}'{}/>".format, _PATH, _attributes(**_COMMON)),
    st.builds(
        "<{}{}/>".format, st.sampled_from(["rect", "circle", "ellipse", "line"]),
        _attributes(**_COMMON, **_PLACES),
    ),
    st.builds("<polygon points='{}'{}/>".format, _NUMBERS, _attributes(**_COMMON)),
    st.builds("<use href='#{}'{}/>".format, _ID, _attributes(**_COMMON, **_PLACES)),
    st.just("<text>AHOY</text>"),
)  # fmt: skip
_GROUPS = ["g", "symbol", "clipPath", "defs", "svg", "switch", "mask", "a", "marker"]


def svg_drawings() -> st.SearchStrategy[bytes]:
    """Return drawings of shapes, groups, uses and clips, many of them senseless."""
    inside = st.recursive(
        _LEAF,
        lambda inner: st.builds(
            lambda tag, attributes, parts: f"<{tag}{attributes}>{''.join(parts)}</{tag}>",
            st.sampled_from(_GROUPS),
            _attributes(**_COMMON, viewBox=_NUMBERS, clip_path=_ID.map("url(#{})".format)),
            st.lists(inner, max_size=4),
        ),
        max_leaves=12,
    )
    return st.builds(
        lambda page, parts: (
            f'<svg xmlns="http://www.w3.org/2000/svg" {page}>{"".join(parts)}</svg>'.encode()
        ),
        st.sampled_from(
            ['width="90mm" height="90mm" viewBox="0 0 90 90"', "", 'viewBox="0 0 0 1"']
        ),
        st.lists(inside, min_size=1, max_size=5),
    )


_CODES = st.sampled_from([8, 10, 20, 30, 11, 21, 40, 41, 42, 43, 50, 51, 62, 70, 71, 90, 210, 230])
_ENTITY = st.builds(
    lambda name, pairs: f"0\n{name}\n" + "".join(f"{code}\n{text}\n" for code, text in pairs),
    st.sampled_from(["LINE", "ARC", "CIRCLE", "LWPOLYLINE", "SPLINE", "ELLIPSE", "INSERT", "HATCH",
                     "POLYLINE", "VERTEX", "SEQEND", "SOLID", "TEXT", "3DFACE"]),
    st.lists(st.tuples(_CODES, _NUMBER), max_size=14),
)  # fmt: skip


def dxf_drawings() -> st.SearchStrategy[bytes]:
    """Return drawings of entities whose values are any numbers."""
    from support.hostile import block, dxf

    return st.builds(
        lambda drawn, inner: dxf("".join(drawn), block("0", "".join(inner))).encode(),
        st.lists(_ENTITY, min_size=1, max_size=8), st.lists(_ENTITY, max_size=3),
    )  # fmt: skip


_KEY = st.sampled_from(
    ["title", "machine", "body", "height", "outline", "text", "points", "svg", "grid", "sheet", "x",
     "gauge", "plastic", "vents", "underside", "raised", "sunk", "name", "printer", "based_on"]
)  # fmt: skip
_VALUE = st.recursive(
    st.sampled_from(["1", "-3.5", "1e400", "nan", '"A"', '"12mm"', "true", "1979-05-27", "07:32:00",
                     '"../a.svg"', '"\\u001b[2J"', "0x10", "''", '"""x"""']),
    lambda inner: st.lists(inner, max_size=4).map(lambda items: f"[{', '.join(items)}]")
    | st.dictionaries(_KEY, inner, max_size=4).map(
        lambda table: "{" + ", ".join(f"{key} = {value}" for key, value in table.items()) + "}"
    ),
    max_leaves=8,
)  # fmt: skip


def toml_files() -> st.SearchStrategy[bytes]:
    """Return files of known keys with values of any kind."""
    line = st.one_of(
        st.builds("{} = {}".format, _KEY, _VALUE),
        st.builds("[[{}]]".format, st.lists(_KEY, min_size=1, max_size=3).map(".".join)),
        st.builds("[{}]".format, st.lists(_KEY, min_size=1, max_size=3).map(".".join)),
    )
    head = 'title = "A"\n[[body]]\nheight = 6\n'
    return st.lists(line, max_size=8).map(lambda lines: (head + "\n".join(lines)).encode())
