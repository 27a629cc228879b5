"""Which functions are compiled, and how: noted here, done by ``compiler`` once somebody asks for it.

Machine code that an earlier run has kept (``machine``) needs no compiler, and to import one takes longer than a small
cook does. So the decorators here only note what they decorate.
"""

from collections.abc import Callable
from typing import Any, NamedTuple, TypeVar

F = TypeVar("F", bound=Callable[..., Any])


class Noted(NamedTuple):
    """A function with its settings; of: where it stands in for another one in compiled code, that one."""

    function: Callable[..., Any]
    settings: dict[str, Any]
    of: Callable[..., Any] | None = None


FUNCTIONS: list[Noted] = []
"""Compiled as they are."""
LAWS: list[Noted] = []
"""Called by Python as they are and by compiled code as its own."""

OUTER: dict[str, Any] = {
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract"},  # multiply-add in one; nothing else of fast maths, nan stays nan
}
"""Settings of the functions that allocate."""

INNER: dict[str, Any] = OUTER | {"_nrt": False, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}
"""Settings of the rest: counting references to their arrays would cost more than their arithmetic. Compiled code alone
calls them, as it does all but one of the others: ways in from Python and C would take half of all the time that
compiling takes."""


def njit(**settings: Any) -> Callable[[F], F]:
    """Have a function compiled by these settings."""

    def given(function: F) -> F:
        FUNCTIONS.append(Noted(function, settings))
        return function

    return given


def law(function: F) -> F:
    """A function that Python calls as it is and compiled code as its own."""
    LAWS.append(Noted(function, INNER))
    return function


def compiled_as(function: Callable[..., Any]) -> Callable[[F], F]:
    """Makes the decorated function what compiled code gets where it calls ``function``."""

    def given(body: F) -> F:
        LAWS.append(Noted(body, INNER, function))
        return body

    return given
