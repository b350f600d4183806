"""How kernels that only kernels call are compiled: as parts of those that Python calls, not for themselves.

Left to itself, numba optimizes every function together with all that it calls, and makes machine code of it,
before its caller takes it in and does all that again. What only kernels call is here translated and
simplified alone; the entry, which holds all of it, is optimized as a whole and turned into machine code once.
"""

from __future__ import annotations

from typing import Any

from numba import _dynfunc
from numba.core import compiler
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler_machinery import register_pass
from numba.core.typed_passes import NativeLowering


class Part(JITCodeLibrary):  # type: ignore[misc]
    """Code that is never called as it stands."""

    def _optimize_final_module(self) -> None:
        """Left to the entry."""

    def _finalize_final_module(self) -> None:
        self._finalize_dynamic_globals()
        self._verify_declare_only_symbols()
        self._finalized = True

    def get_pointer_to_function(self, name: str) -> int:
        return 0


@register_pass(mutates_CFG=True, analysis_only=False)
class PartLowering(NativeLowering):  # type: ignore[misc]
    """As numba's, into a `Part`."""

    _name = "part_lowering"

    def run_pass(self, state: Any) -> bool:
        state.library = Part(state.targetctx.codegen(), state.func_id.func_qualname)
        state.flags.no_compile = True
        super().run_pass(state)
        made = state["cr"]
        name = made.fndesc.qualname.split(".")[-1]
        # what callers know it by: there is nothing at its address
        stand_in = _dynfunc.make_function(
            made.fndesc.lookup_module(), name, "", 0, made.env, (state.library,)
        )
        state.targetctx.insert_user_function(stand_in, made.fndesc, [state.library])
        state["cr"] = made._replace(cfunc=stand_in)
        return True


class PartCompiler(compiler.CompilerBase):  # type: ignore[misc]
    """Numba's passes, the last of them ours."""

    def define_pipelines(self) -> list[Any]:
        passes = compiler.DefaultPassBuilder.define_nopython_pipeline(self.state)
        passes.passes = [
            (PartLowering, "native lowering") if step is NativeLowering else (step, said)
            for step, said in passes.passes
        ]
        passes.finalize()
        return [passes]
