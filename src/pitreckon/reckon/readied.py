"""The kernel made ready from what the package brings: LLVM's intermediate code, made machine code in a few seconds.

To come from the source to that code is three quarters of all compiling, and is the same for every processor of a kind.
So it lies in the package (``scripts/make_kernel_code.py`` writes it), for the kinds of machine that there is one for.
LLVM then works it over for the very processor as the compiler would, and what comes out lies where ``section.machine``
looks for it. In any doubt (other sources, another kind of machine, an LLVM that cannot read it) nothing is made, and
the kernel is compiled as before.
"""

from __future__ import annotations

import json
import lzma
import os
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from pitreckon.section import cache, machine

FORM: Final = 1
FOLDER: Final = Path(__file__).with_name("kernelcode")
READY: Final = "members-single.machine"
"""As ``section.machine`` names it."""
CHEAP, FULL = 0, 3
"""How hard LLVM works: before calls have become part of their callers, and then."""


def is_ready() -> bool:
    """Does machine code of the kernel lie where it is looked for?"""
    return _ready_at().exists()


def make_ready() -> bool:
    """Machine code where it is looked for, if it is not there yet and can be made of what was brought; was it made?"""
    if is_ready() or not machine._may_keep():
        return False
    try:
        about, code = _made()
        file = _ready_at()
        file.parent.mkdir(parents=True, exist_ok=True)
        own = file.with_suffix(f".{os.getpid()}.part")
        own.write_bytes(json.dumps(about).encode() + b"\n" + code)
        own.replace(file)
    except (OSError, ValueError, KeyError, TypeError, AttributeError, ImportError, RuntimeError, lzma.LZMAError):
        return False
    cache.tidy()
    return True


def brought_for(triple: str) -> Path:
    """Where the code for a kind of machine lies, if it was brought."""
    return FOLDER / f"{triple}.bin"


def sources() -> str:
    """Fingerprint of all that goes into the kernel, whatever compiles it."""
    section = os.path.dirname(cache.__file__)  # noqa: PTH120  as ``cache`` has its paths
    physics = os.path.join(os.path.dirname(section), "physics")  # noqa: PTH118, PTH120
    found = sha256()
    for room in (section, physics):
        for file in cache._sources(room):
            found.update(os.path.relpath(file, os.path.dirname(section)).replace(os.sep, "/").encode())  # noqa: PTH120
            found.update(b"\0" + Path(file).read_bytes().replace(b"\r\n", b"\n"))
    return found.hexdigest()


def packed(about: dict[str, Any], bitcode: bytes) -> bytes:
    """A file of ``brought_for``. about: symbol, shape and layout; its form and its sources are added"""
    head = json.dumps({"form": FORM, "sources": sources(), **about}, sort_keys=True)
    return lzma.compress(head.encode() + b"\n" + bitcode, preset=9 | lzma.PRESET_EXTREME)


def _ready_at() -> Path:
    return Path(os.environ.get(cache.VARIABLE) or ".") / READY


def _made() -> tuple[dict[str, Any], bytes]:
    """Machine code for this processor, and what ``section.machine`` wants to read of it."""
    from llvmlite import binding as llvm  # noqa: PLC0415  most processes find it made

    triple = llvm.get_process_triple()
    head, _, bitcode = lzma.decompress(brought_for(triple).read_bytes()).partition(b"\n")
    said = json.loads(head)
    if (said["form"], said["sources"]) != (FORM, sources()):
        raise ValueError("it was made of other sources")
    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    llvm.set_option("pitreckon", "-force-vector-interleave=2")  # as ``section.compiler`` has it
    module = llvm.parse_bitcode(bitcode)
    processor = _processor(llvm, triple)
    if str(processor.target_data) != said["layout"]:
        raise ValueError("it was made for another layout of memory")
    _work_over(llvm, module, processor)
    code = processor.emit_object(module)
    about = {"symbol": said["symbol"], "shape": said["shape"], "sha256": sha256(code).hexdigest()}
    return machine._here() | about, code


def _processor(llvm: Any, triple: str) -> Any:
    """This one, as the compiler has it."""
    return llvm.Target.from_triple(triple).create_target_machine(
        cpu=llvm.get_host_cpu_name(),
        features=llvm.get_host_cpu_features().flatten(),
        opt=FULL,
        reloc="static" if triple.startswith(("x86", "i386", "i686")) else "default",
        codemodel="jitdefault",
        jit=True,
    )


def _work_over(llvm: Any, module: Any, processor: Any) -> None:
    """The passes that the compiler has for the whole: cheap ones, so that calls become part of callers, then all."""
    for level in (CHEAP, FULL):
        tuning = llvm.create_pipeline_tuning_options()
        tuning.speed_level = level
        tuning.slp_vectorization = False
        tuning.loop_vectorization = level == FULL
        builder = llvm.create_pass_builder(processor, tuning)
        passes = builder.getModulePassManager()
        if level == CHEAP:
            passes.add_loop_rotate_pass()
            passes.add_instruction_combine_pass()
            passes.add_jump_threading_pass()
        passes.add_refprune_pass()
        passes.run(module, builder)
