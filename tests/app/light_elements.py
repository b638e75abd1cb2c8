"""NiceGUI asks of each element, three times, whether the method that hears of its changes wants an argument.

It reads the signature of the same method each time: a sixth of what building a page takes. Of a method the answer is
the method's, whatever it is bound to, so that here it is read once.
"""

from collections.abc import Callable
from functools import cache
from types import MethodType
from typing import Any

from nicegui import helpers

_of_any = helpers.expects_arguments


@cache
def _of_a_method(function: Callable[..., Any]) -> bool:
    return bool(_of_any(MethodType(function, object)))


def expects_arguments(function: Callable[..., Any]) -> bool:
    """Tell whether a function wants arguments, as NiceGUI's own does."""
    if isinstance(function, MethodType):
        return _of_a_method(function.__func__)
    return bool(_of_any(function))


helpers.expects_arguments = expects_arguments
