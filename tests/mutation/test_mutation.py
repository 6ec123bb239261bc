"""The list of planted faults fits the program as it is."""

import pytest
from support.some import some

from mutation.fault import ROOT, load_faults

FAULTS = load_faults()


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: f"{fault.module}: {fault.after[:30]}")
def test_every_fault_can_be_planted(fault):
    """Its line stands in the program once, and the tests that should see it are there."""
    assert fault.count_in(ROOT) == 1
    assert fault.before != fault.after
    for name in some(fault.tests):
        path, _, test = name.partition("::")
        assert test.partition("[")[0] in (ROOT / "tests" / path).read_text(encoding="utf-8")


def test_faults_are_planted_in_every_room():
    """Sixty at the least, and each folder that computes something has one."""
    rooms = {fault.module.partition("/")[0] for fault in FAULTS}

    assert len(FAULTS) >= 60
    assert rooms >= {
        "bend", "cli", "export", "fixture", "job", "mold", "outline", "physics", "pipeline",
        "printing", "sandbox", "solid", "stock", "table", "web",
    }  # fmt: skip


def test_a_fault_is_planted_and_mended(tmp_path):
    """A copy has the fault, and then has it no more."""
    fault = FAULTS[0]
    path = tmp_path / "moldgen" / fault.module
    path.parent.mkdir(parents=True)
    whole = (ROOT / "moldgen" / fault.module).read_text(encoding="utf-8")
    path.write_text(whole, encoding="utf-8")

    fault.plant(tmp_path)
    planted = path.read_text(encoding="utf-8")
    fault.mend(tmp_path)

    assert planted == whole.replace(fault.before, fault.after) != whole
    assert path.read_text(encoding="utf-8") == whole
