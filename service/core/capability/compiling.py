"""Compiling the scalar loops: the same functions run as plain Python where the compiler is switched off."""

from collections.abc import Callable
from functools import partial
from typing import Any, Final, ParamSpec, TypeVar, cast

from numba import njit

P = ParamSpec("P")
R = TypeVar("R")
#: The option that leaves out the counting of holders is none of those that the compiler tells types of.
_compile: Final[Any] = partial(njit, cache=True, error_model="numpy")


def compiled(function: Callable[P, R]) -> Callable[P, R]:
    """Return a function compiled on its first call and kept on disk; its results are those of plain Python.

    No fast-math: results must not depend on the machine's word width. With ``NUMBA_DISABLE_JIT=1`` in the
    environment the plain function itself is returned. Nothing that is compiled so can make an array: views are then
    borrowed from the caller, where counting who holds them would cost a sixth of the kernel's time.
    """
    return cast(Callable[P, R], _compile(_nrt=False)(function))


def compiled_to_allocate(function: Callable[P, R]) -> Callable[P, R]:
    """Return a function compiled as `compiled` does it that may make arrays: it counts who holds each view of one."""
    return cast(Callable[P, R], _compile(_nrt=True)(function))
