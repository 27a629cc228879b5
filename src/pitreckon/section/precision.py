"""Compiler settings of the kernel: arrays that never overlap, and literals that follow the arguments' precision.

Numba types a literal ``0.5`` as double precision, and one double makes a whole expression double. A function
compiled here whose arguments hold single-precision numbers has its literals, and the numbers it takes from
its module, turned to single precision as well, so that one source serves both.
"""

# mypy: disable-error-code="no-untyped-call,untyped-decorator"

from collections.abc import Callable
from typing import Any, TypeVar

import llvmlite.binding as llvm
import numpy as np
from numba.core import ir, types
from numba.core.compiler import CompilerBase, DefaultPassBuilder
from numba.core.compiler_machinery import FunctionPass, register_pass
from numba.core.untyped_passes import IRProcessing
from numba.extending import overload, register_jitable

F = TypeVar("F", bound=Callable[..., Any])

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


class Apart(CompilerBase):
    """The usual compiler, told that array arguments never overlap; without it no lane loop vectorises."""

    def define_pipelines(self) -> Any:
        """The usual passes and ours."""
        self.state.flags.noalias = True
        passes = DefaultPassBuilder.define_nopython_pipeline(self.state)
        passes.add_pass_after(FollowPrecision, IRProcessing)
        passes.finalize()
        return [passes]


OUTER: dict[str, Any] = {
    "cache": True,
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract"},  # multiply-add in one; nothing else of fast maths, nan stays nan
    "pipeline_class": Apart,
}
"""Settings of the functions that allocate."""

INNER: dict[str, Any] = OUTER | {"_nrt": False, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}
"""Settings of the rest: counting references to their arrays would cost more than their arithmetic. Compiled code alone
calls them: the ways in from Python and C would take half of all the time that compiling takes."""

_LAW = {key: value for key, value in INNER.items() if key != "cache"}


def law(function: Any) -> Any:
    """A function that Python calls as it is and compiled code as its own."""
    return register_jitable(**_LAW)(function)


def compiled_as(function: Any) -> Callable[[F], F]:
    """Makes the decorated function what compiled code gets where it calls ``function``."""

    def given(body: F) -> F:
        @overload(function, jit_options=_LAW, strict=False)  # type: ignore[arg-type]
        def _body(*_args: Any) -> Any:
            return body

        return body

    return given
