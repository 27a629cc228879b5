"""Writes the kernel's intermediate code for this kind of machine into the package: see ``reckon/readied.py``.

To be run after each change of ``section`` or ``physics``; a test says so. It compiles the kernel from nothing, half a
minute of a core, and keeps what goes into LLVM's last work.
"""

# mypy: disable-error-code="no-untyped-call"

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

ANY_PROCESSOR = {"NUMBA_CPU_NAME": "generic", "NUMBA_CPU_FEATURES": ""}
"""Nothing in it is to be of the one that it happens to be made on."""
COMPILE = """
import json, sys
from pathlib import Path
import numba.core.codegen as codegen
from pitreckon.section import compiler, machine, warm
bitcode, said = map(Path, sys.argv[1:])
usual, usual_way = codegen.CPUCodeLibrary._optimize_final_module, machine._by_numba
def kept(library):
    if not isinstance(library, compiler.Part) and "run_members" in library.name:
        bitcode.write_bytes(library._final_module.as_bitcode())
    usual(library)
def noted(file, arguments, *, may_keep):
    numbas = usual_way(file, arguments, may_keep=may_keep)
    (made,) = numbas.overloads.values()
    about = {"symbol": made.fndesc.llvm_func_name, "shape": machine.shape_of(arguments)}
    said.write_text(json.dumps(about), encoding="utf-8")
    return numbas
codegen.CPUCodeLibrary._optimize_final_module, machine._by_numba = kept, noted
assert warm.warm().compiled
"""


def compiled(folder: Path) -> tuple[dict[str, str], bytes]:
    """What is said of the machine code that the compiler makes, and the code that it makes it of."""
    bitcode, said = folder / "kernel.bc", folder / "said.json"
    own = {name: value for name, value in os.environ.items() if not name.startswith("NUMBA_")}
    own |= {"NUMBA_CACHE_DIR": str(folder), **ANY_PROCESSOR}
    subprocess.run([sys.executable, "-c", COMPILE, str(bitcode), str(said)], check=True, env=own)
    about: dict[str, str] = json.loads(said.read_text(encoding="utf-8"))
    return about, bitcode.read_bytes()


def main() -> None:
    """Compile it, and write the file of this kind of machine."""
    from llvmlite import binding as llvm  # noqa: PLC0415

    from pitreckon.reckon import readied  # noqa: PLC0415

    llvm.initialize_native_target()
    triple = llvm.get_process_triple()
    with tempfile.TemporaryDirectory() as folder:
        about, bitcode = compiled(Path(folder))
    layout = str(readied._processor(llvm, triple).target_data)
    file = readied.brought_for(triple)
    file.parent.mkdir(exist_ok=True)
    file.write_bytes(readied.packed({**about, "layout": layout}, bitcode))
    print(f"wrote {file.relative_to(Path.cwd())}, {file.stat().st_size // 1024} KB")


if __name__ == "__main__":
    main()
