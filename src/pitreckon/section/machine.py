"""The kernel's machine code, kept from run to run and called without the compiler that made it.

Numba keeps machine code, too, but wants all of itself imported before it runs it: half a second, and 70 MB. So what it
made is kept once more by itself, with the names of what it needs and the shapes of the arguments that it was made for.
Where sources, versions, processor and arguments are the same as then, LLVM alone loads it. It is the very same code:
when it is first kept, one member is run both ways and has to agree to the bit. In every other case, and on any doubt,
numba does it as before.
"""

# mypy: disable-error-code="no-untyped-call"

from __future__ import annotations

import ctypes
import gc
import json
import os
import struct
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from threading import Lock
from typing import Any, Final

import numpy as np

from pitreckon.section import cache

FORM: Final = 1
"""Of the file."""
PLAIN: Final = {cache.VARIABLE, "NUMBA_NUM_THREADS", "NUMBA_THREADING_LAYER", "NUMBA_CACHE_LOCATOR_CLASSES"}
"""Numba's settings that change nothing of the code; with any other one it is numba that runs it."""
WHILE_COMPILING: Final = (100_000, 20, 1000)
"""How seldom Python looks for garbage then: there is little of it, and a tenth of the time went into that."""
DONE, NONE_RETURNED = 0, -2
"""What a function of numba's returns where it went well."""

ROOM_FOR_ARRAYS = """
declare ptr @malloc(i64)
declare void @free(ptr)
declare void @abort()
%block = type { i64, ptr, ptr, ptr, i64, ptr }
define ptr @NRT_MemInfo_alloc_aligned(i64 %size, i32 %align) {
  %wide = zext i32 %align to i64
  %more = add i64 %size, %wide
  %whole = add i64 %more, 48
  %block = call ptr @malloc(i64 %whole)
  %none = icmp eq ptr %block, null
  br i1 %none, label %full, label %got
full:
  ret ptr null
got:
  %behind = ptrtoint ptr %block to i64
  %less = sub i64 %wide, 1
  %first = add i64 %behind, 48
  %past = add i64 %first, %less
  %keep = sub i64 0, %wide
  %even = and i64 %past, %keep
  %data = inttoptr i64 %even to ptr
  store %block { i64 1, ptr null, ptr null, ptr null, i64 0, ptr null }, ptr %block
  %at_data = getelementptr %block, ptr %block, i32 0, i32 3
  store ptr %data, ptr %at_data
  %at_size = getelementptr %block, ptr %block, i32 0, i32 4
  store i64 %size, ptr %at_size
  ret ptr %block
}
define void @NRT_MemInfo_call_dtor(ptr %block) {
  call void @free(ptr %block)
  ret void
}
"""
"""What numba's code takes memory by, and gives it back: a count of references, and where the data are."""
UNREACHED = "define void @{name}() {{\n  call void @abort()\n  unreachable\n}}\n"
"""What only the ways in from Python would call, which nobody takes here."""


def run_members(*arguments: Any) -> None:
    """``compiled.kernel.run_members`` in machine code."""
    single = arguments[-1].dtype == np.float32
    entry = _ENTRIES.get(single)
    if entry is None:
        with _ONE_AT_A_TIME:
            entry = _ENTRIES.get(single) or _ENTRIES.setdefault(single, _entry(single, arguments))
    entry(*arguments)


_ENTRIES: dict[bool, Callable[..., None]] = {}
_ONE_AT_A_TIME = Lock()


def compiled_now() -> bool:
    """Has anything been compiled in this process, rather than found?"""
    return _Compiled.now


class _Compiled:
    now = False


def _entry(single: bool, arguments: tuple[Any, ...]) -> Callable[..., None]:
    """What runs members in a precision from now on, and these arguments next."""
    file = Path(os.environ.get(cache.VARIABLE) or ".") / f"members-{'single' if single else 'double'}.machine"
    may_keep = _may_keep()
    kept = _loaded(file) if may_keep else None
    if kept is not None and kept.fits(arguments):
        cache.used(str(file))
        return kept
    return _by_numba(file, arguments, may_keep=may_keep)


def _may_keep() -> bool:
    """Whether nobody has told numba how to compile."""
    told = any(name.startswith("NUMBA_") and name not in PLAIN for name in os.environ)
    return not told and not Path(".numba_config.yaml").exists()


def _by_numba(file: Path, arguments: tuple[Any, ...], *, may_keep: bool) -> Callable[..., None]:
    from pitreckon.section import compiler  # noqa: PLC0415  imports numba
    from pitreckon.section.compiled import kernel  # noqa: PLC0415  a circle

    compiler.set_up()
    numbas: Any = kernel.run_members
    if not hasattr(numbas, "compile"):  # numba is told to compile nothing
        return numbas  # type: ignore[no-any-return]
    from numba import typeof  # noqa: PLC0415

    kinds = tuple(typeof(each) for each in arguments)
    usual = gc.get_threshold()
    gc.set_threshold(*WHILE_COMPILING)
    try:
        numbas.compile(kinds)
    finally:
        gc.set_threshold(*usual)
    if numbas.stats.cache_misses:
        _Compiled.now = True
        cache.tidy()
    if may_keep:
        with suppress(Exception):  # what cannot be kept is compiled, or found by numba, the next time
            _keep(file, numbas, kinds, arguments)
    return numbas  # type: ignore[no-any-return]


# --- what is kept


@dataclass(frozen=True)
class Kept:
    """Machine code at its place in memory. shape: of the arguments that it takes; engine: which holds it"""

    address: int
    shape: str
    engine: Any

    def fits(self, arguments: tuple[Any, ...]) -> bool:
        """Are they of the kinds that it was made for?"""
        return shape_of(arguments) == self.shape

    def __call__(self, *arguments: Any) -> None:
        """Run it, without the interpreter's lock. Arguments that it was not made for are numba's."""
        if not self.fits(arguments):
            _of_numba(arguments)(*arguments)
            return
        flat = list(_flat(arguments))
        nothing, fault = ctypes.c_void_p(), ctypes.c_void_p()
        kinds = [ctypes.c_void_p, ctypes.c_void_p, *map(type, flat)]
        run = ctypes.CFUNCTYPE(ctypes.c_int32, *kinds)(self.address)
        status = run(ctypes.addressof(nothing), ctypes.addressof(fault), *flat)
        if status not in {DONE, NONE_RETURNED}:
            raise MemoryError("the kernel did not get the memory for its lanes")


def _of_numba(arguments: tuple[Any, ...]) -> Callable[..., None]:
    with _ONE_AT_A_TIME:
        from pitreckon.section import compiler  # noqa: PLC0415  imports numba
        from pitreckon.section.compiled import kernel  # noqa: PLC0415  a circle

        compiler.set_up()
        return kernel.run_members


def shape_of(value: Any) -> str:
    """The kinds of all numbers and arrays in arguments, as finely as numba tells them apart."""
    if isinstance(value, np.ndarray):
        flags = value.flags
        order = "C" if flags.c_contiguous else "F" if flags.f_contiguous else "A"
        return f"{value.dtype.str}{value.ndim}{order}{flags.writeable:d}{flags.aligned:d}"
    if isinstance(value, tuple):
        return f"{type(value).__name__}({','.join(shape_of(each) for each in value)})"
    kinds = {int: "int", float: "float", np.int64: "int", np.float64: "float", np.float32: "single"}
    return kinds.get(type(value), f"?{type(value).__name__}")


def _flat(value: Any) -> Iterator[Any]:
    """Arguments as numba's code takes them: an array is two owners (nobody), sizes, its place, shape and strides."""
    if isinstance(value, np.ndarray):
        yield ctypes.c_void_p()
        yield ctypes.c_void_p()
        yield ctypes.c_int64(value.size)
        yield ctypes.c_int64(value.itemsize)
        yield ctypes.c_void_p(value.ctypes.data)
        yield from map(ctypes.c_int64, (*value.shape, *value.strides))
    elif isinstance(value, tuple):
        for each in value:
            yield from _flat(each)
    elif isinstance(value, np.float32):
        yield ctypes.c_float(float(value))
    elif isinstance(value, float):
        yield ctypes.c_double(value)
    else:
        yield ctypes.c_int64(value)


def _here() -> dict[str, Any]:
    """What code must have been made by and for, to be run here."""
    import llvmlite  # noqa: PLC0415
    from llvmlite import binding as llvm  # noqa: PLC0415

    return {
        "form": FORM,
        "sources": cache.mark(),
        "llvmlite": llvmlite.__version__,
        "machine": llvm.get_process_triple(),
        "processor": llvm.get_host_cpu_name(),
        "features": llvm.get_host_cpu_features().flatten(),
    }


def _loaded(file: Path) -> Kept | None:
    """Machine code of an earlier run, if it is as it was kept and was made for this machine."""
    try:
        about, _, code = file.read_bytes().partition(b"\n")
        said = json.loads(about)
        here = _here()
        if {name: said.get(name) for name in here} != here or sha256(code).hexdigest() != said["sha256"]:
            return None
        return _linked(said["symbol"], said["shape"], code)
    except (OSError, ValueError, KeyError, TypeError, ImportError, RuntimeError):
        return None


def _linked(symbol: str, shape: str, code: bytes) -> Kept | None:
    """Code at its place in memory; None: it needs what is not here."""
    from llvmlite import binding as llvm  # noqa: PLC0415

    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    needed = _undefined(code)
    given = {"NRT_MemInfo_alloc_aligned", "NRT_MemInfo_call_dtor"}
    unreached = sorted(name for name in needed - given if name.startswith(("numba_", "NRT_", "Py", "_Py")))
    helpers = ROOM_FOR_ARRAYS + "".join(UNREACHED.format(name=name) for name in unreached)
    module = llvm.parse_assembly(helpers)
    machine = llvm.Target.from_triple(llvm.get_process_triple()).create_target_machine()
    engine = llvm.create_mcjit_compiler(module, machine)
    # LLVM ends the process where a name is missing; the engine has made those of the C library known.
    if any(llvm.address_of_symbol(name) is None for name in needed - given - set(unreached)):
        return None
    engine.add_object_file(llvm.ObjectFileRef.from_data(code))
    engine.finalize_object()
    address = engine.get_function_address(symbol)
    return Kept(address, shape, engine) if address else None


def _undefined(code: bytes) -> set[str]:
    """Names that a 64-bit ELF object needs from elsewhere. Raises ValueError: it is another kind of file"""
    if code[:6] != b"\x7fELF\x02\x01":
        raise ValueError("not an ELF object of 64 bits, lowest byte first")
    at, *_ = struct.unpack_from("<Q", code, 0x28)
    size, many = struct.unpack_from("<HH", code, 0x3A)
    sections = [struct.unpack_from("<IIQQQQIIQQ", code, at + i * size) for i in range(many)]
    found = set()
    for _, kind, _, _, begin, length, link, *_ in sections:
        if kind != 2:  # a table of symbols
            continue
        names = sections[link][4]
        for i in range(begin, begin + length, 24):
            name, _, _, section, _, _ = struct.unpack_from("<IBBHQQ", code, i)
            if section == 0 and name:
                found.add(code[names + name : code.index(b"\0", names + name)].decode())
    return found


# --- keeping it


def _keep(file: Path, numbas: Any, kinds: tuple[Any, ...], arguments: tuple[Any, ...]) -> None:
    """Write down what numba has made for these arguments, if called from here it does the same to the bit."""
    made = numbas.overloads[kinds]
    saved = numbas._cache._cache_file.load(numbas._cache._index_key(kinds, numbas.targetctx.codegen()))
    name, how, (code, *_) = saved[0]
    if how != "object" or not isinstance(code, bytes):
        raise ValueError(f"{name} is kept as {how}")
    symbol, shape = made.fndesc.llvm_func_name, shape_of(arguments)
    kept = _linked(symbol, shape, code)
    if kept is None or not _alike(numbas, kept, arguments):
        raise ValueError("it does not run from here")
    about = _here() | {"symbol": symbol, "shape": shape, "sha256": sha256(code).hexdigest()}
    own = file.with_suffix(f".{os.getpid()}.part")
    own.write_bytes(json.dumps(about).encode() + b"\n" + code)
    own.replace(file)


def _alike(one: Callable[..., None], other: Callable[..., None], arguments: tuple[Any, ...]) -> bool:
    """Do both make the same of the first member, to the bit? What they fill is put back as it was."""
    first, _, grid, plan, results, snapshot, like = arguments
    filled = [array[..., first : first + 1] for array in (*results, snapshot) if array.size]
    before = [array.copy() for array in filled]
    found = []
    for run in (one, other):
        run(first, first + 1, grid, plan, results, snapshot, like)
        found.append([array.tobytes() for array in filled])
        for array, was in zip(filled, before, strict=True):
            array[...] = was
    return found[0] == found[1]
