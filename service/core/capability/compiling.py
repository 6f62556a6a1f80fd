"""Compiling the scalar loops: the same functions run as plain Python where the compiler is switched off."""

from collections.abc import Callable
from typing import ParamSpec, TypeVar, cast

from numba import njit

P = ParamSpec("P")
R = TypeVar("R")


def compiled(function: Callable[P, R]) -> Callable[P, R]:
    """Return a function compiled on its first call and kept on disk; its results are those of plain Python.

    No fast-math: results must not depend on the machine's word width. With ``NUMBA_DISABLE_JIT=1`` in the
    environment the plain function itself is returned.
    """
    return cast(Callable[P, R], njit(cache=True, error_model="numpy")(function))
