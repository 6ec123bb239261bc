"""Where a cluster is, and that nobody else reaches it."""

import stat

import pytest

from moldgen.errors import FileError, SpecError
from moldgen.pool.address import KEY_FILES, check_keys, cluster_address
from moldgen.pool.serve import make_keys


@pytest.mark.parametrize(
    ("words", "url"),
    [
        ("127.0.0.1:8799", "tcp://127.0.0.1:8799"),
        ("localhost", "tcp://localhost:8786"),
        ("tcp://127.0.0.1:1024", "tcp://127.0.0.1:1024"),
        ("[::1]:9000", "tcp://[::1]:9000"),
        ("[::1]", "tcp://[::1]:8786"),
    ],
)
def test_an_address_of_this_machine_needs_no_keys(words, url):
    """With or without scheme and port, by name or number."""
    assert cluster_address(words).url == url


def test_another_machine_needs_keys():
    """Whoever reaches a cluster without keys can do anything on its machines."""
    for words in ("shed:8786", "10.0.0.4:8786", "tcp://shed", "0.0.0.0:8786"):
        with pytest.raises(SpecError, match=r"cluster_keys must be given.*--new-keys FOLDER"):
            cluster_address(words)
    assert cluster_address("shed:9000", "keys").url == "tls://shed:9000"


@pytest.mark.parametrize("words", ["", "shed:harbor", ":8786", "shed:0", "shed:70000", "ftp://a:1"])
def test_what_is_no_address_is_told(words):
    """One sentence, with an example."""
    with pytest.raises(SpecError, match=r"an address such as shed:8786"):
        cluster_address(words, "keys")


def test_tls_without_keys_is_told():
    """Also on this machine."""
    with pytest.raises(SpecError, match="given for tls"):
        cluster_address("tls://127.0.0.1:8786")


def test_new_keys_are_for_their_owner_alone(tmp_path):
    """Three files, readable by nobody else, never written over."""
    make_keys(tmp_path / "keys")

    check_keys(tmp_path / "keys")
    modes = [stat.S_IMODE((tmp_path / "keys" / name).stat().st_mode) for name in KEY_FILES]
    assert modes == [0o600] * 3
    with pytest.raises(FileError, match=r"ca.pem is there: name an empty folder"):
        make_keys(tmp_path / "keys")
    (tmp_path / "keys" / "key.pem").unlink()
    with pytest.raises(FileError, match=r"key.pem is missing"):
        check_keys(tmp_path / "keys")
