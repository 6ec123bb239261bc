"""Messages between processes: whole, bounded, and never believed."""

import io
import json
import struct

import pytest

from moldgen.sandbox.frames import Frame, FrameError, read_frame, write_frame


def sent(frame):
    stream = io.BytesIO()
    write_frame(stream, frame)
    return stream.getvalue()


def test_a_message_arrives_as_it_was_sent():
    """Words and blocks, one message after another, and None at the end."""
    stream = io.BytesIO(sent(Frame({"a": [1, "é"]}, [b"x" * 1000, b""])) + sent(Frame({})))

    assert read_frame(stream) == Frame({"a": [1, "é"]}, [b"x" * 1000, b""])
    assert read_frame(stream) == Frame({}, [])
    assert read_frame(stream) is None


@pytest.mark.parametrize("length", range(1, 29))
def test_a_message_cut_short_is_refused(length):
    """Wherever it ends."""
    data = sent(Frame({"a": 1}, [b"12345"]))
    assert length < len(data)

    with pytest.raises(FrameError):
        read_frame(io.BytesIO(data[:length]))


@pytest.mark.parametrize(
    "data",
    [
        struct.pack("<II", 2**31, 0),
        struct.pack("<II", 2, 2**20) + b"{}",
        struct.pack("<II", 2, 1) + b"{}" + struct.pack("<Q", 2**60),
        struct.pack("<II", 2, 0) + b"[]",
        struct.pack("<II", 2, 0) + b"{x",
        struct.pack("<II", 100_000, 0) + b"[" * 100_000,
    ],
)
def test_what_is_no_message_is_refused_before_it_is_read(data):
    """Sizes beyond the limit take no memory; what is not JSON is no message."""
    with pytest.raises(FrameError):
        read_frame(io.BytesIO(data))


def test_numbers_that_json_does_not_know_are_not_sent():
    """An answer that a browser could not read is a fault of who sends it."""
    with pytest.raises(ValueError, match="JSON"):
        sent(Frame({"a": float("nan")}))
    assert json.loads(b"1") == 1
