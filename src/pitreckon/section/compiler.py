"""The compiler: arrays that never overlap, and literals that follow the arguments' precision.

Numba types a literal ``0.5`` as double precision, and one double makes a whole expression double. A function
compiled here whose arguments hold single-precision numbers has its literals, and the numbers it takes from
its module, turned to single precision as well, so that one source serves both.
"""

# mypy: disable-error-code="no-untyped-call,untyped-decorator"

import sys
from threading import Lock
from typing import Any

import llvmlite.binding as llvm
import numpy as np
from numba import njit
from numba.core import cgutils, ir, types
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import CompilerBase, DefaultPassBuilder
from numba.core.compiler_machinery import FunctionPass, register_pass
from numba.core.untyped_passes import IRProcessing
from numba.extending import intrinsic, overload, register_jitable

from pitreckon.section.compiled import lanes
from pitreckon.section.precision import FUNCTIONS, INNER, LAWS, Noted
from pitreckon.section.tally import LANES

ROOM = "pitreckon.section.compiled"
ENTRY = "run_members"
"""What alone is kept: all that it calls is in it, and to make code of that by itself is a third of all the work."""
_ONE_AT_A_TIME = Lock()

# A row of lanes is two of the widest vectors long: both in one turn of the loop, so that there is none to count.
llvm.set_option("pitreckon", "-force-vector-interleave=2")


def is_single(kind: Any) -> bool:
    """Whether a numba type is, or holds, single-precision numbers."""
    if isinstance(kind, types.BaseTuple):
        return any(is_single(part) for part in kind.types)  # type: ignore[attr-defined]
    return bool(getattr(kind, "dtype", kind) == types.float32)


@register_pass(mutates_CFG=False, analysis_only=False)
class FollowPrecision(FunctionPass):
    """Turns the literals of a function with single-precision arguments to single precision."""

    _name = "pitreckon_follow_precision"

    def __init__(self) -> None:
        FunctionPass.__init__(self)

    def run_pass(self, state: Any) -> bool:
        """Change the constants in place; whether there was anything to do."""
        if not any(is_single(kind) for kind in state.args):
            return False
        for block in state.func_ir.blocks.values():
            for statement in block.body:
                source = getattr(statement, "value", None)
                if isinstance(source, ir.Const | ir.Global | ir.FreeVar) and type(source.value) is float:
                    source.value = np.float32(source.value)
        return True


class _Nowhere:
    """Where what only the interpreter would ask for is put."""

    def set_env(self, _name: str, _environment: Any) -> None:
        """Nothing."""


class Part(JITCodeLibrary):
    """Code that only other code of ours calls: it becomes part of that, and is never made machine code by itself."""

    def get_pointer_to_function(self, _name: str) -> int:
        """There is none, as for any function without a way in from Python."""
        return 0

    @property
    def codegen(self) -> Any:
        """Where the environment of a function is put: nowhere, for it has no place of its own."""
        return _Nowhere()

    def _optimize_functions(self, ll_module: Any) -> None:
        """The usual passes, on what has a body."""
        ll_module.data_layout = self._codegen._data_layout
        for function in ll_module.functions:
            if not function.is_declaration:
                passes, builder = self._codegen._function_pass_manager()
                passes.run(function, builder)

    def _optimize_final_module(self) -> None:
        """Not here: what it becomes part of is worked over as a whole, once, and comes out the quicker for it."""

    def _finalize_final_module(self) -> None:
        self._finalize_dynamic_globals()
        self._verify_declare_only_symbols()
        self._finalized = True


class Apart(CompilerBase):
    """The usual compiler, told that array arguments never overlap; without it no lane loop vectorises."""

    def define_pipelines(self) -> Any:
        """The usual passes and ours."""
        self.state.flags.noalias = True
        if self.state.library is None and self.state.flags.no_cpython_wrapper:
            self.state.library = Part(self.state.targetctx.codegen(), self.state.func_id.func_qualname)
        passes = DefaultPassBuilder.define_nopython_pipeline(self.state)
        passes.add_pass_after(FollowPrecision, IRProcessing)
        passes.finalize()
        return [passes]


@intrinsic
def _rows_told(_typing: Any, arrays: Any) -> Any:
    def told(context: Any, builder: Any, kind: Any, value: Any) -> Any:
        if not isinstance(kind, types.Array) or kind.ndim != 2:
            return value
        array = context.make_array(kind)(context, builder, value)
        cells, _ = cgutils.unpack_tuple(builder, array.shape)
        width = context.get_abi_sizeof(context.get_data_type(kind.dtype))
        many, long, wide = (context.get_constant(types.intp, n) for n in (LANES, LANES * width, width))
        array.shape = cgutils.pack_array(builder, [cells, many])
        array.strides = cgutils.pack_array(builder, [long, wide])
        return array._getvalue()

    def codegen(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        kinds = signature.args[0].types
        parts = cgutils.unpack_tuple(builder, args[0], len(kinds))
        parts = [told(context, builder, *each) for each in zip(kinds, parts, strict=True)]
        return context.make_tuple(builder, signature.return_type, parts)

    return arrays(arrays), codegen


@overload(lanes.in_rows, jit_options=INNER | {"pipeline_class": Apart}, strict=False)  # type: ignore[arg-type]
def _in_rows(_arrays: Any) -> Any:
    def told(arrays):  # type: ignore[no-untyped-def]
        return _rows_told(arrays)  # type: ignore[call-arg]

    return told


def set_up() -> None:
    """Give everything that ``precision`` has noted to the compiler; each function once.

    The modules of the compiled room then hold what numba made of their functions. Nothing is compiled before its call.
    """
    with _ONE_AT_A_TIME:
        while LAWS:
            _register(LAWS.pop(0))
        made = {}
        while FUNCTIONS:
            function, settings, _ = FUNCTIONS.pop(0)
            way_in = function.__name__ == ENTRY
            ways = {"cache": way_in, "no_cpython_wrapper": not way_in, "no_cfunc_wrapper": True}
            made[function] = njit(**settings | ways, pipeline_class=Apart)(function)
        rooms = [module for name, module in list(sys.modules.items()) if name.startswith(ROOM)]
        for names in [vars(room) for room in rooms if made]:
            for name, value in list(names.items()):
                if callable(value) and value in made:
                    names[name] = made[value]


def _register(noted: Noted) -> None:
    settings = noted.settings | {"pipeline_class": Apart}
    if noted.of is None:
        register_jitable(**settings)(noted.function)
        return

    @overload(noted.of, jit_options=settings, strict=False)  # type: ignore[arg-type]
    def _body(*_args: Any) -> Any:
        return noted.function
