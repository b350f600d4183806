"""Work on one of many things, pixels or the like, written once: threads and a card do it for all of them.

A function that is decorated `each` has the number of the thing as its first argument. It must write nothing
that it reads of another one.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable
from typing import Any

from renderer.kernels.compiler import entry, inlined


class Each:
    """A step, done for one thing after the other.

    body     kernel (number, ...): one of them
    between  entry (first, last, ...): those from first to last - 1
    """

    def __init__(self, body: Callable[..., Any]) -> None:
        self.body = inlined(body)
        self.between = entry(self.within(BETWEEN))

    def within(self, frame: str, **known: Any) -> Any:
        """A function of the step's name; in its text, `frame`, {body} stands for one call of the body.

        It stands where the body stands, so that what keeps compiled kernels by their place in a source file
        knows it again; a closure would have no such place.
        """
        step = self.body if inspect.isfunction(self.body) else self.body.py_func
        code, (number, *others) = step.__code__, inspect.signature(step).parameters
        given = ", ".join(others)
        text = frame.format(name=step.__name__, number=number, given=given, body=f"body({number}, {given})")
        scope = {"body": self.body, "__name__": step.__module__} | known
        exec(compile("\n" * (code.co_firstlineno - 1) + text, code.co_filename, "exec"), scope)
        return scope[step.__name__]


BETWEEN = "def {name}(first, last, {given}):\n    for {number} in range(first, last):\n        {body}\n"
ONE_A_THREAD = """def {name}(count, {given}):
    {number} = cuda.grid(1)
    if {number} < count:
        {body}
"""
each = Each
