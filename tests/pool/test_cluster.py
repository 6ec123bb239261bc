"""A real cluster on this machine gives what one process gives, and loses nothing."""

import os
import signal
import sys
import threading
import time

import pytest
from support.cluster import running_cluster

import moldgen as mg
from moldgen.outline.library.sheet import shape_sheet
from moldgen.pool import cluster as cluster_module
from moldgen.pool.address import cluster_address
from moldgen.pool.cluster import ClusterError, cluster_workers
from moldgen.pool.serve import make_keys

NAMES = ["A", "BO", "C", "DI"]
LINUX = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="processes by /proc")


@pytest.fixture(scope="module")
def cluster(tmp_path_factory):
    """Give two workers behind keys, which keep what they build."""
    folder = tmp_path_factory.mktemp("cluster")
    make_keys(folder / "keys")
    with running_cluster(n=2, keys=folder / "keys", results=folder / "results") as running:
        yield running


def build(out, names, executor=None):
    """Make a class of plates, and return the bytes of all its files by name."""
    like = mg.sign("OAR", letter_height=20)
    mg.make_class(names, like, out, executor=executor, alone=True, sizes="own", formats=["stl"])
    files = sorted(path for path in out.rglob("[!.]*") if path.is_file())
    return {str(path.relative_to(out)): path.read_bytes() for path in files}


@LINUX
def test_a_cluster_makes_the_same_bytes_and_survives_a_dead_worker(cluster, tmp_path):
    """One worker is killed in the midst of its work: another does it again."""
    here = build(tmp_path / "here", NAMES)
    first = cluster.workers()

    def kill():
        time.sleep(0.7)
        os.kill(first[0], signal.SIGKILL)

    killing = threading.Thread(target=kill)
    killing.start()
    with cluster_workers(cluster.address) as pool:
        there = build(tmp_path / "there", NAMES, pool)
    killing.join()

    assert len(first) == 2
    assert first != cluster.workers()
    assert sum(name.endswith(".stl") for name in here) == len(NAMES)
    assert there == here


def test_a_cluster_compares_mends_and_draws_alike(cluster):
    """What other commands ask it for is what this process does, to the last byte."""
    job = mg.sign("SLIP", letter_height=20, relief=9, gauge=1.0)

    def made(pool=None):
        told = mg.compare(mg.sign("I", letter_height=20), gauge="1, 2", executor=pool)
        sheet = [(info.name, region.wkb) for info, region in shape_sheet(pool)]
        return told.records, told.png_bytes(), mg.mend(job, executor=pool), sheet

    with cluster_workers(cluster.address) as pool:
        there = made(pool)

    assert there == made()
    assert there[2].changes


def test_a_cluster_without_workers_of_this_version_is_refused(cluster, monkeypatch):
    """At once, and it says which worker runs what."""
    monkeypatch.setattr(cluster_module, "__version__", "9.9.9")

    with (
        pytest.raises(ClusterError, match=r"The worker tls://.* runs moldgen 0.*is moldgen 9.9.9"),
        cluster_workers(cluster.address),
    ):
        raise AssertionError("it must not begin")


def test_keys_of_others_do_not_open_it(cluster, tmp_path, monkeypatch):
    """Nor does somebody without keys get in."""
    monkeypatch.setattr(cluster_module, "_CONNECT_S", 2.0)
    make_keys(tmp_path / "other")
    strange = f"{cluster.address.host}:{cluster.address.port}"

    for keys in (str(tmp_path / "other"), ""):
        with (
            pytest.raises(ClusterError, match="No cluster answers at"),
            cluster_workers(cluster_address(strange, keys)),
        ):
            raise AssertionError("it must not begin")
