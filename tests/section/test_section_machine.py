"""Machine code that is kept: numba's own to the bit, and never run where it was not made for."""

from __future__ import annotations

import ctypes
import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trial
from test_section_batch import cook

from pitreckon.section import cache, machine, shapes
from pitreckon.section.simulate import simulate_all


@pytest.fixture(scope="module")
def kept_at(tmp_path_factory) -> Path:
    """A directory with a compiled kernel that was kept."""
    simulate_all([cook(n=4)], threads=1)
    here = Path(os.environ[cache.VARIABLE])
    file = here / "members-single.machine"
    if sys.platform == "linux":
        assert file.exists()
    return file


def ran(job, entry, threads=2):
    """A job by this way into the kernel alone."""
    before = dict(machine._ENTRIES)
    machine._ENTRIES[True] = entry
    try:
        return simulate_all([job], threads=threads)[0]
    finally:
        machine._ENTRIES.update(before)


def by_numba():
    """Numba's own way in."""
    from pitreckon.section import compiler
    from pitreckon.section.compiled import kernel

    compiler.set_up()
    return kernel.run_members


@pytest.mark.kernel
@pytest.mark.parametrize("shape", sorted(trial.SMALL))
def test_what_is_kept_does_the_same_as_numbas_to_the_bit(kept_at, shape):
    kept = machine._loaded(kept_at)
    assert kept is not None
    job = replace(cook(shape=shape), snapshot_s=1500.0)
    mine, its = ran(job, kept), ran(job, by_numba())
    trial.assert_same(mine, its)
    assert mine.effort.tobytes() == its.effort.tobytes()
    assert mine.snapshot.columns.tobytes() == its.snapshot.columns.tobytes()
    onwards = replace(job, snapshot_s=None, start=its.snapshot)
    trial.assert_same(ran(onwards, kept), ran(onwards, by_numba(), threads=1))


@pytest.mark.kernel
def test_what_is_not_as_it_was_kept_is_not_run(kept_at, tmp_path):
    about, _, code = kept_at.read_bytes().partition(b"\n")
    said = json.loads(about)

    def loads(head: dict, body: bytes) -> bool:
        file = tmp_path / "members-single.machine"
        file.write_bytes(json.dumps(head).encode() + b"\n" + body)
        return machine._loaded(file) is not None

    assert loads(said, code)
    for name in ("form", "sources", "llvmlite", "machine", "processor", "features", "sha256"):
        assert not loads(said | {name: "another"}, code), name
        assert not loads({key: value for key, value in said.items() if key != name}, code), name
    assert not loads(said, code[:-1]), "cut short"
    assert not loads(said, code[:5000] + bytes([code[5000] ^ 1]) + code[5001:]), "a bit turned over"
    assert not loads(said | {"symbol": "another"}, code)
    assert machine._loaded(tmp_path / "nothing") is None
    (tmp_path / "members-single.machine").write_bytes(b"")
    assert machine._loaded(tmp_path / "members-single.machine") is None


def test_code_that_needs_what_is_not_here_is_not_run():
    """LLVM would end the process."""
    from llvmlite import binding as llvm

    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    target = llvm.Target.from_triple(llvm.get_process_triple()).create_target_machine()
    text = "declare void @{0}()\ndefine void @f() {{\n  call void @{0}()\n  ret void\n}}\n"
    for name, runs in (("nowhere_to_be_found", False), ("PyErr_Clear", True), ("numba_unpickle", True)):
        code = target.emit_object(llvm.parse_assembly(text.format(name)))
        assert machine._undefined(code) == {name}
        assert (machine._linked("f", "", code) is not None) is runs
    with pytest.raises(ValueError, match="not an ELF object"):
        machine._undefined(b"MZ" + code[2:])


@pytest.mark.kernel
def test_arguments_of_other_kinds_are_numbas(kept_at, monkeypatch):
    """What numba tells apart is told apart here: an array that may not be written to is compiled for by itself."""
    asked = []
    monkeypatch.setattr(machine, "_of_numba", lambda arguments: asked.append(arguments) or by_numba())
    job = cook(n=4)
    usual = ran(job, machine._loaded(kept_at))
    assert not asked
    for array in (job.drive.air_c, job.members.values):
        array.flags.writeable = False
        shape = machine.shape_of((array,))
        array.flags.writeable = True
        assert shape != machine.shape_of((array,))
    across = np.asfortranarray(job.drive.air_c)
    assert machine.shape_of(across) != machine.shape_of(job.drive.air_c)
    assert machine.shape_of(np.float32(1.0)) != machine.shape_of(1.0) != machine.shape_of(1)
    assert machine.shape_of(True) not in {machine.shape_of(1), machine.shape_of(1.0)}
    again = ran(replace(job, drive=replace(job.drive, air_c=across)), machine._loaded(kept_at))
    assert asked
    trial.assert_same(again, usual)


@pytest.mark.kernel
@pytest.mark.servers
def test_a_run_from_what_is_kept_does_without_the_compiler(kept_at):
    code = (
        "import sys\n"
        "from pitreckon.section.warm import warm\n"
        "assert not warm().compiled\n"
        "import pitreckon.reckon\n"
        "print(sorted(name for name in ('numba', 'scipy.stats', 'scipy.ndimage') if name in sys.modules))\n"
    )
    environment = os.environ | {cache.VARIABLE: str(kept_at.parent)}
    done = subprocess.run([sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
    told = environment | {"NUMBA_OPT": "2"}  # who sets the compiler gets the compiler
    wanted = "from pitreckon.section import machine\nprint(machine._may_keep())\n"
    done = subprocess.run([sys.executable, "-c", wanted], env=told, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_an_array_is_passed_as_numba_lays_it_out():
    section = shapes.slab(0.03, n=5)
    flat = list(machine._flat((3, 0.5, np.float32(0.5), section.volume)))
    whole, place = ctypes.c_int64, ctypes.c_void_p
    kinds = [whole, ctypes.c_double, ctypes.c_float, place, place, whole, whole, place, whole, whole]
    assert [type(each) for each in flat] == kinds
    assert [each.value for each in flat[5:7]] == [section.volume.size, 8]
    assert flat[7].value == section.volume.ctypes.data
