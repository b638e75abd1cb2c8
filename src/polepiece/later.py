"""Libraries that take long to load, loaded when something of them is first asked for.

A plan says its first words before it needs an equation solver or a compiler: the pieces of scipy here and numba take
half of a command's start. A module has them from here by the same names and uses them as if they were loaded::

    from polepiece.later import linalg, njit

A name of theirs in an annotation is quoted, or it would be asked for at once.
"""

import threading
from collections.abc import Callable
from types import ModuleType
from typing import TYPE_CHECKING, Any

from polepiece.threads import settle

if TYPE_CHECKING:
    from numba import njit, prange
    from scipy import fft, interpolate, linalg, optimize, sparse, spatial, special

__all__ = ["fft", "interpolate", "linalg", "njit", "optimize", "prange", "sparse", "spatial", "special"]
_LOCK = threading.RLock()  # two threads that load parts of one library wait for each other's without end


class Later:
    """A library that is loaded when an attribute of it is asked for."""

    def __init__(self, load: Callable[[], ModuleType]) -> None:
        self._load = load

    def __getattr__(self, name: str) -> Any:
        if name.startswith("__"):  # somebody looks what this is; nothing of the library is asked for
            raise AttributeError(name)
        with _LOCK:
            library = self._load()
            settle()  # it may have brought a linear algebra library of its own
        value = getattr(library, name)
        self.__dict__[name] = value  # from now on it is found without asking
        return value


class Compiled:
    """A function that numba compiles, or finds compiled on disk, when it is first called.

    What such a function calls must be compiled functions when it is: these and the loop of threads take the places of
    what stands for them here in the function's module.
    """

    def __init__(self, function: Callable[..., Any], options: dict[str, Any]) -> None:
        self.function, self.options = function, options
        self.__doc__, self.__name__, self.__wrapped__ = function.__doc__, function.__name__, function
        self._made: Any = None

    @property
    def made(self) -> Any:
        """The compiled function itself."""
        if self._made is None:
            with _LOCK:
                self._make()
        return self._made

    def _make(self) -> None:
        import numba

        if self._made is not None:
            return
        around = self.function.__globals__
        self._made = numba.njit(**self.options)(self.function)
        for name, value in list(around.items()):
            if isinstance(value, Compiled):
                around[name] = value.made
            elif value is _EACH:
                around[name] = numba.prange

    def __call__(self, *arguments: Any) -> Any:
        return self.made(*arguments)

    @property
    def signatures(self) -> list[Any]:
        """Types of arguments that it was compiled for."""
        return list(self.made.signatures)


def routine_of(module: str, name: str) -> int:
    """Return the address of a routine that a compiled module of scipy hands out to compiled code."""
    with _LOCK:
        from numba.extending import get_cython_function_address

        return int(get_cython_function_address(module, name))


def is_compiled(function: object) -> bool:
    """Tell whether the compiler is loaded and has this function."""
    return not isinstance(function, Compiled) or function._made is not None


_EACH: Any = range  # stands for numba's loop over threads, which is this outside of compiled code


def _compiled(**options: Any) -> Callable[[Callable[..., Any]], Compiled]:
    return lambda function: Compiled(function, options)


def _fft() -> ModuleType:
    import scipy.fft

    return scipy.fft


def _interpolate() -> ModuleType:
    import scipy.interpolate

    return scipy.interpolate


def _linalg() -> ModuleType:
    import scipy.linalg

    return scipy.linalg


def _optimize() -> ModuleType:
    import scipy.optimize

    return scipy.optimize


def _sparse() -> ModuleType:
    import scipy.sparse

    return scipy.sparse


def _spatial() -> ModuleType:
    import scipy.spatial

    return scipy.spatial


def _special() -> ModuleType:
    import scipy.special

    return scipy.special


def load_all() -> None:
    """Load all of it, for a process that others are forked from: each of them then begins with it.

    The compiler has its tables from the first function on (0.25 s of processor, the libraries as much again). This one
    has no loop over threads: threads do not outlive a fork.
    """
    import scipy.signal  # noqa: F401

    for load in (_fft, _interpolate, _linalg, _optimize, _sparse, _spatial, _special):
        load()
    _half(1.0)
    settle()


@_compiled(cache=True)
def _half(x):  # type: ignore[no-untyped-def]
    """Half of a number: the least that a compiler can be asked for."""
    return 0.5 * x


if not TYPE_CHECKING:
    fft, interpolate, linalg = Later(_fft), Later(_interpolate), Later(_linalg)
    optimize, sparse, spatial, special = Later(_optimize), Later(_sparse), Later(_spatial), Later(_special)
    njit, prange = _compiled, _EACH
