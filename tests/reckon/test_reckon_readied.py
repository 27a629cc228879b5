"""The kernel made of the code that the package brings: of these sources, and the same as the compiler's to the bit."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from pitreckon.reckon import readied
from pitreckon.section import cache

FRESH = """
import sys
from benchmarks import cases
from pitreckon.reckon.readied import make_ready
from pitreckon.section.simulate import simulate_all
from hashlib import sha256
made = sys.argv[1] == "brought" and make_ready()
found = sha256()
for kind in cases.KINDS.values():
    trace = simulate_all([cases.job(kind, 3)], threads=1)[0]
    for values in (trace.values, trace.marks_s, trace.stage_end_s, trace.balance, trace.effort):
        found.update(values.tobytes())
print(made, "numba" in sys.modules, found.hexdigest())
"""
LINUX = sys.platform == "linux" and os.uname().machine == "x86_64"


def brought_here() -> Path:
    from llvmlite import binding as llvm

    return readied.brought_for(llvm.get_process_triple())


@pytest.mark.skipif(not LINUX, reason="code is brought for one kind of machine")
def test_what_is_brought_is_of_these_sources():
    import lzma

    about = json.loads(lzma.decompress(brought_here().read_bytes()).partition(b"\n")[0])
    assert about["sources"] == readied.sources(), "the kernel has changed: python -m scripts.make_kernel_code"


@pytest.mark.servers
@pytest.mark.kernel
@pytest.mark.skipif(not LINUX, reason="code is brought for one kind of machine")
def test_it_runs_without_the_compiler_and_gives_the_same_to_the_bit(tmp_path):
    def run(which: str, folder: str) -> list[str]:
        own = os.environ | {cache.VARIABLE: folder}
        done = subprocess.run([sys.executable, "-c", FRESH, which], check=True, capture_output=True, text=True, env=own)
        return done.stdout.split()

    brought = run("brought", str(tmp_path))
    assert brought[:2] == ["True", "False"]
    assert (tmp_path / readied.READY).exists()
    compiled = run("compiled", os.environ[cache.VARIABLE])
    assert brought[2] == compiled[2]


@pytest.mark.parametrize("fault", ["no file", "other sources", "not packed", "cut off", "no bitcode", "told otherwise"])
def test_in_any_doubt_nothing_is_made(tmp_path, monkeypatch, fault):
    monkeypatch.setenv(cache.VARIABLE, str(tmp_path / "kernels"))
    monkeypatch.setattr(readied, "FOLDER", tmp_path)
    here = tmp_path / brought_here().name
    monkeypatch.setattr(readied, "brought_for", lambda triple: here)
    real = Path(readied.__file__).with_name("kernelcode") / here.name
    about = {"symbol": "run", "shape": "tuple()", "layout": "e"}
    if fault == "other sources":
        here.write_bytes(readied.packed({**about}, b"BC"))
        monkeypatch.setattr(readied, "sources", lambda: "another")
    elif fault == "not packed":
        here.write_bytes(b"{}")
    elif fault == "cut off":
        here.write_bytes(readied.packed(about, b"BC" * 9000)[:-40])
    elif fault == "no bitcode":
        here.write_bytes(readied.packed(about, b"no code at all"))
    elif fault == "told otherwise":
        shutil.copy(real, here) if real.exists() else pytest.skip("nothing is brought for this machine")
        monkeypatch.setenv("NUMBA_DISABLE_JIT", "1")
    assert not readied.make_ready()
    assert not readied.is_ready()


def test_what_is_there_is_left(tmp_path, monkeypatch):
    monkeypatch.setenv(cache.VARIABLE, str(tmp_path))
    (tmp_path / readied.READY).write_bytes(b"somebody else's")
    assert readied.is_ready()
    assert not readied.make_ready()
    assert (tmp_path / readied.READY).read_bytes() == b"somebody else's"
