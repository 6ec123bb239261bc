"""Pictures are told by their first bytes, reduced while they are read, and never run."""

import io
import struct
import subprocess
import sys
import tracemalloc

import numpy as np
import pytest
from PIL import Image

from moldgen.errors import FileError
from moldgen.limits import Limits
from moldgen.solid.reading.picture import gray_from_bytes, load_gray


def saved(array, kind, **options):
    """Return an array as the content of a picture file."""
    stream = io.BytesIO()
    Image.fromarray(array).save(stream, kind, **options)
    return stream.getvalue()


def slope(height, width):
    """Return gray that grows from left to right."""
    return np.tile(np.linspace(0, 255, width).astype(np.uint8), (height, 1))


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "TIFF", "BMP", "WEBP"])
def test_the_kinds_that_are_read(kind):
    """Each is read whatever its name says."""
    gray = gray_from_bytes(saved(slope(40, 60), kind), name="a.png")

    assert gray.shape == (40, 60)
    assert gray[20, 5] < 0.2 < 0.8 < gray[20, 55]


POSTSCRIPT = (
    b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 100 100\n%%EndComments\nshowpage\n%%EOF\n"
)


def test_no_other_program_is_ever_started(monkeypatch):
    """A picture that is a program is refused by its first bytes, before anybody could run it."""
    started = []
    monkeypatch.setattr(subprocess, "Popen", lambda *words, **_: started.append(words))
    monkeypatch.setattr(subprocess, "check_call", lambda *words, **_: started.append(words))

    with pytest.raises(FileError, match="none of PNG, JPEG, TIFF, BMP or WEBP"):
        gray_from_bytes(POSTSCRIPT, name="a.png")

    assert started == []


def test_other_kinds_are_not_even_opened():
    """What the library knows besides is refused: GIF and plain pixel maps."""
    for kind in ("GIF", "PPM"):
        with pytest.raises(FileError, match="is not a picture, whatever its name says"):
            gray_from_bytes(saved(slope(40, 60), kind), name="a.png")


def test_a_large_picture_is_reduced_while_it_is_read():
    """Three megapixels are kept of twelve, and brightness stays where it was."""
    for kind in ("PNG", "JPEG"):
        gray = gray_from_bytes(saved(slope(3000, 4000), kind), name="a.png")

        assert gray.shape == (1500, 2000)
        assert np.abs(gray[700] - np.linspace(0, 1, 2000)).max() < 0.02


def test_sixteen_bits_survive_the_reduction():
    """A height map of sixteen bits keeps steps finer than eight bits know."""
    fine = (np.arange(200 * 200).reshape(200, 200) + 20_000).astype(np.uint16)

    gray = gray_from_bytes(saved(fine, "PNG"), name="a.png", limits=Limits(kept_pixels=10_000))

    assert gray.shape == (100, 100)
    assert len(np.unique(np.round(gray * 65535))) > 5000
    assert gray[-1, 0] == pytest.approx((20_000 + 100.5) / 65535, abs=2e-5)


def test_a_palette_is_averaged_by_its_colors():
    """Black and white of a palette become gray, not the color whose number lies between."""
    image = Image.fromarray(((np.indices((100, 100)).sum(axis=0) % 2) * 9).astype(np.uint8), "P")
    image.putpalette([0, 0, 0] + [255, 0, 0] * 8 + [255, 255, 255])
    stream = io.BytesIO()
    image.save(stream, "PNG")

    gray = gray_from_bytes(stream.getvalue(), name="a.png", limits=Limits(kept_pixels=2500))

    assert gray.shape == (50, 50)
    assert gray == pytest.approx(0.5, abs=0.01)


def test_a_reduced_photograph_is_turned_as_the_camera_says():
    """The note of how the camera was held outlives the reduction, in JPEG and in TIFF."""
    note = Image.Exif()
    note[0x0112] = 6
    for kind in ("JPEG", "TIFF"):
        data = saved(slope(100, 200), kind, exif=note)

        gray = gray_from_bytes(data, name="a.jpg", limits=Limits(kept_pixels=5000))

        assert gray.shape == (100, 50)
        assert gray[-5, 25] < 0.2 < 0.8 < gray[5, 25]


def test_pixels_are_counted_before_they_are_read():
    """74 kB of blank picture hold more pixels than are handled; the library never unpacks them."""
    data = saved(np.full((3000, 3000), 255, np.uint8), "PNG")
    tracemalloc.start()

    with pytest.raises(FileError, match="9,000,000 pixels, more than the 8,999,999"):
        gray_from_bytes(data, name="a.png", limits=Limits(pixels=8_999_999))

    assert tracemalloc.get_traced_memory()[1] < 2_000_000
    tracemalloc.stop()
    assert gray_from_bytes(data, name="a.png", limits=Limits(pixels=9_000_000)).min() == 1.0


def test_a_picture_too_large_for_the_library_is_told_as_large():
    """400 million pixels are no damage."""
    data = bytearray(saved(slope(30, 30), "BMP"))
    data[18:26] = (20_000).to_bytes(4, "little") * 2

    with pytest.raises(FileError, match="has more pixels than the 60,000,000"):
        gray_from_bytes(bytes(data), name="a.bmp")


MEMORY = """
import sys
from pathlib import Path
from moldgen.solid.reading.picture import load_gray
from moldgen.outline.trace import TraceSpec, outline_from_gray
assert outline_from_gray(load_gray(sys.argv[1]), TraceSpec()).region.area > 0
(peak,) = [x for x in Path("/proc/self/status").read_text().splitlines() if "VmHWM" in x]
print(int(peak.split()[1]) / 1000)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells the peak of a process")
def test_twelve_megapixels_are_traced_in_400_MB(tmp_path):
    """A photograph of a usual camera is traced in the memory of a small computer."""
    photo = np.full((3000, 4000, 3), 250, np.uint8)
    photo[800:2200, 1000:3000] = 20
    (tmp_path / "a.jpg").write_bytes(saved(photo, "JPEG"))

    run = subprocess.run(
        [sys.executable, "-c", MEMORY, str(tmp_path / "a.jpg")],
        capture_output=True, text=True, check=True,
    )  # fmt: skip

    assert 50 < float(run.stdout) < 400


def test_what_may_not_be_read_is_not_told_as_damaged(tmp_path):
    """The sentence says what the system said."""
    with pytest.raises(FileError, match="is a folder"):
        load_gray(tmp_path)
    with pytest.raises(FileError, match="does not exist"):
        load_gray(tmp_path / "a.png")
    with pytest.raises(FileError, match="cannot be read: not a regular file"):
        load_gray("/dev/zero")


def test_a_picture_with_a_damaged_note_is_read_without_a_remark():
    """The library's own remarks on notes in a file are for nobody; the pixels are whole."""
    stream = io.BytesIO()
    Image.new("L", (40, 30), 90).save(stream, "TIFF", tiffinfo={270: "drawn on the pier"})
    data = bytearray(stream.getvalue())
    at = data.index(struct.pack("<HH", 270, 2)) + 4
    data[at : at + 4] = struct.pack("<I", 10**6)

    np.testing.assert_allclose(gray_from_bytes(bytes(data), name="a.tif"), 90 / 255)
