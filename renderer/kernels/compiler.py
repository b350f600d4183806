"""The two decorators of this package, and a compile cache that cannot go stale.

numba checks only the file of the function it caches, not the files of the functions called from it,
so an edited callee would leave its caller running old code in silence. The cache therefore lies in a
folder named by a digest of every source file that is compiled, of numba's version and of the
processor: another source means another folder.
"""

from __future__ import annotations

import hashlib
import inspect
import os
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numba
from llvmlite import binding
from numba.core import config
from numba.core.caching import FunctionCache
from numba.core.registry import CPUDispatcher
from numba.extending import overload

from renderer.kernels.parts import PartCompiler
from renderer.kernels.shelf import keep

CHECKED = bool(os.environ.get("NUMBA_BOUNDSCHECK"))
"""Whether every index is to be checked: addresses cannot be, so the plain bodies run."""


def source_digest() -> str:
    """Digest of all sources that take part in compilation, of numba, of the processor and of checking."""
    digest = hashlib.sha256()
    kernels = Path(__file__).parent
    for path in sorted(kernels.rglob("*.py")):
        digest.update(path.relative_to(kernels).as_posix().encode())
        digest.update(path.read_bytes())
    how = f"{numba.__version__} {binding.get_host_cpu_name()} {sys.version} checked: {CHECKED}"
    digest.update(how.encode())
    return digest.hexdigest()[:16]


@cache
def cache_folder() -> Path:
    """Folder of the compile cache: HALFSTOP_CACHE if set, else the user's cache folder."""
    chosen = os.environ.get("HALFSTOP_CACHE") or os.environ.get("XDG_CACHE_HOME")
    if chosen:
        base = Path(chosen)
    elif sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", Path.home()))
    else:
        base = Path.home() / ".cache"
    return base / "halfstop" / source_digest()


INSIDE = {
    "error_model": "numpy",  # division by zero gives inf or nan, as on a GPU
    "_nrt": False,  # kernels own no memory: no counting of references (atomic, in every call)
    "no_cpython_wrapper": True,  # only kernels call them: no ways in from Python and C
    "no_cfunc_wrapper": True,
}


class Inside(CPUDispatcher):  # type: ignore[misc]
    """What kernels call. Called from Python, as a test may, it is compiled once more, with a way in."""

    def __call__(self, *arguments: Any) -> Any:
        return _with_way_in(self.py_func)(*arguments)


@cache
def _with_way_in(function: Callable[..., Any]) -> Any:
    return numba.njit(error_model="numpy")(function)


def _inside(function: Callable[..., Any], **options: bool) -> Any:
    dispatcher = numba.njit(pipeline_class=PartCompiler, **INSIDE, **options)(function)
    if not config.DISABLE_JIT:
        dispatcher.__class__ = Inside
    return dispatcher


def kernel(function: Callable[..., Any]) -> Any:
    """A function called from other kernels only."""
    return _inside(function)


def inlined(function: Callable[..., Any]) -> Any:
    """A kernel so small, or so hot, that a call would cost more than its body."""
    return _inside(function, forceinline=True)


TWO_BODIES: list[Callable[..., Any]] = []
"""Plain bodies of the functions that have another for the processor: what a device compiles instead."""


def two_bodies(plain: Callable[..., Any], own: Callable[..., Any]) -> Any:
    """A kernel with two bodies of one meaning and one signature.

    plain  defines it; runs on another device, where indices are checked, and where there is no compiler
    own    what the processor runs: by addresses and with its vector unit
    """
    if config.DISABLE_JIT or CHECKED:
        return kernel(plain)
    overload(plain, target="cpu", jit_options=INSIDE | {"forceinline": True})(with_signature_of(plain, own))
    TWO_BODIES.append(plain)
    return plain


def with_signature_of(plain: Callable[..., Any], body: Callable[..., Any]) -> Any:
    """What `overload` asks for: a function of the types, its arguments called the same, giving the body."""
    names = ", ".join(inspect.signature(plain).parameters)
    return eval(f"lambda {names}: body", {"body": body})


def entry(function: Callable[..., Any]) -> Any:
    """A kernel called from Python: compiled once, kept on disk, and run without the interpreter lock."""
    dispatcher = numba.njit(error_model="numpy", nogil=True)(function)
    return keep(dispatcher, FunctionCache, cache_folder())
