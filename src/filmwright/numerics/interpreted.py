"""Loops over the points of curves: run by the interpreter for a few curves, compiled where there are many.

To compile the loops takes longer than to interpret them for hundreds of curves, and even compiled code that is kept on disk takes a while
to load. Both run the same arithmetic in the same order.
"""

from __future__ import annotations

import functools
import threading
from collections import Counter
from collections.abc import Callable
from types import FunctionType
from typing import Any, TypeVar

import numpy as np

Loop = TypeVar("Loop", bound=Callable[..., Any])

FEW = 128
"""Curves that one loop is interpreted for in a process before it is compiled."""

_LOOPS: dict[Any, Any] = {}
"""Function that the interpreter runs → function that is compiled in its place."""
_SPENT: Counter[Any] = Counter()
_LOCK = threading.RLock()


def loop(function: Loop) -> Loop:
    """Mark a function as one of the loops; it may call others, and runs as it is where it is called by name."""
    _LOOPS[function] = function
    return function


def arrays_instead(written_out: Callable[..., Any]) -> Callable[[Loop], Loop]:
    """Mark a function of whole arrays as what the interpreter runs in the place of a loop that is written out."""

    def mark(function: Loop) -> Loop:
        _LOOPS[function] = written_out
        return function

    return mark


def run(function: Callable[..., None], curves: int, *arguments: Any) -> None:
    """Call a loop for so many curves, in the way that is the quicker one for them."""
    with _LOCK:
        few = _SPENT[function] + curves <= FEW
        _SPENT[function] += curves if few else 0
    if few:
        # Compiled arithmetic is silent about a division by zero as well.
        with np.errstate(all="ignore"):
            function(*arguments)
    else:
        compiled(function)(*arguments)


def compiled(function: Callable[..., Any]) -> Callable[..., Any]:
    """The compiled twin of a loop, with the twins of the loops that it calls; kept on disk where that can be written to."""
    with _LOCK:
        twin: Callable[..., Any] = _twin(function, True)
        return twin


@functools.cache
def _twin(function: Any, called_from_outside: bool) -> Any:
    import numba

    meant = _LOOPS[function]
    scope = dict(meant.__globals__)
    for name in meant.__code__.co_names:
        if isinstance(scope.get(name), FunctionType) and scope[name] in _LOOPS:
            scope[name] = _twin(scope[name], False)
    twin = FunctionType(meant.__code__, scope, meant.__name__, meant.__defaults__)
    twin.__module__, twin.__qualname__ = meant.__module__, meant.__qualname__
    more: dict[str, Any] = (
        {} if called_from_outside else {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
    )
    return numba.njit(cache=True, nogil=True, error_model="numpy", **more)(twin)
