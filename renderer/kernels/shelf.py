"""Compiled kernels on disk, where a folder that cannot be used is no reason to stop.

Left to itself, numba looks for another place where the folder cannot be written, beside the sources, whose
kernels it then takes for good when a callee has changed; and what a full disk says comes out of the first
call of a kernel. Here kernels lie in the one folder or nowhere: what keeps them from it is said once, and
they are compiled for this run alone.
"""

from __future__ import annotations

import hashlib
import inspect
import logging
import os
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Any

from numba.core.runtime import rtsys

LOG = logging.getLogger(__name__)


class Shelf:
    """Before a cache of numba's among its bases: what its kernels come from, for all kernels together.

    strict  whether a folder that cannot be written raises OSError, before anything is compiled
    found   names of kernels that lay on disk; `made`: of those that had to be compiled, with every type
    kept    False once the folder has failed
    """

    strict, kept = False, True
    found: list[str] = []  # noqa: RUF012  (one list for all)
    made: list[str] = []  # noqa: RUF012
    _py_func: Any
    _cache_path: str

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """The kernel from disk, if it lies there.

        What is loaded needs the runtime alone: numba's own way also imports all that it can compile, a
        second's work, which is left to the compiler.
        """
        there = None
        try:
            rtsys.initialize(target_context)
            with self._guard_against_spurious_io_errors():  # type: ignore[attr-defined]
                there = self._load_overload(sig, target_context)  # type: ignore[attr-defined]
        except OSError:
            pass  # said when the folder is tried
        except Exception:  # a file cut short fails in ways of its own: begin a new one
            with suppress(OSError):
                super().flush()  # type: ignore[misc]
        (Shelf.made if there is None else Shelf.found).append(self._py_func.__qualname__)
        if there is None and Shelf.kept:
            self._try(self._touch)
        return there

    def save_overload(self, sig: Any, data: Any) -> None:
        if Shelf.kept:
            self._try(lambda: super(Shelf, self).save_overload(sig, data))  # type: ignore[misc]

    def _try(self, work: Any) -> None:
        try:
            work()
        except OSError as error:
            if Shelf.strict:
                raise
            Shelf.kept = False
            LOG.warning(
                "halfstop: compiled kernels cannot be kept in %s (%s): every run compiles them anew, about a"
                " minute; HALFSTOP_CACHE names another folder",
                Path(self._cache_path),
                error.strerror or error,
            )

    def _touch(self) -> None:
        os.makedirs(self._cache_path, exist_ok=True)
        with tempfile.TemporaryFile(dir=self._cache_path) as file:
            file.write(b"\0" * 4096)


def shelf(base: type[Any], folder: Path) -> type[Any]:
    """A cache of numba's, its class `base`, that keeps to a folder."""

    class Here:
        """Where the kernels of a source file lie, in place of numba's locators. See numba.core.caching."""

        def __init__(self, function: Any, path: str) -> None:
            source = Path(path)
            self._line = function.__code__.co_firstlineno
            self._stamp = hashlib.sha256(source.read_bytes()).hexdigest()
            # the folder's name is a digest of this folder's sources, but of no others
            own = Path(__file__).parent in source.resolve().parents
            self._path = folder if own else folder / hashlib.sha256(str(source).encode()).hexdigest()[:16]

        def get_cache_path(self) -> str:
            return str(self._path)

        def ensure_cache_path(self) -> None:
            os.makedirs(self._path, exist_ok=True)

        def get_source_stamp(self) -> str:
            return self._stamp

        def get_disambiguator(self) -> str:
            return str(self._line)

        @classmethod
        def from_function(cls, function: Any, path: str) -> Here:
            return cls(function, path)

    class Place(base._impl_class):  # type: ignore[misc, name-defined]
        _locator_classes = (Here,)

    return type("Kept", (Shelf, base), {"_impl_class": Place})


def keep(dispatcher: Any, base: type[Any], folder: Path) -> Any:
    """The dispatcher of a kernel, which from now on is looked for and kept in a folder."""
    if not inspect.isfunction(dispatcher):  # a plain function where there is no compiler
        dispatcher._cache = shelf(base, folder)(dispatcher.py_func)
    return dispatcher
