"""What a person sees while the light is traced: passes, the error now, the time left."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from renderer.film.tracing import Progress


class Meter:
    """A progress bar on a terminal; elsewhere one line a pass. On standard error: output stays clean."""

    def __init__(self) -> None:
        self._bar: Any = None
        self._task: Any = None

    def __enter__(self) -> Meter:
        if sys.stderr.isatty():
            from rich.console import Console
            from rich.progress import BarColumn, TextColumn
            from rich.progress import Progress as Bar

            self._bar = Bar(
                TextColumn("{task.description}"),
                BarColumn(bar_width=28),
                TextColumn("{task.fields[state]}"),
                console=Console(stderr=True),
            )
            self._bar.start()
            self._task = self._bar.add_task(
                "Tracing", total=1.0, state="first pass (Ctrl-C keeps what is there)"
            )
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trail: TracebackType | None
    ) -> None:
        if self._bar:
            self._bar.stop()

    def say(self, line: str) -> None:
        """A line of its own, above the bar."""
        if self._bar:
            self._bar.console.print(line, markup=False, highlight=False)
        else:
            print(line, file=sys.stderr)

    def __call__(self, now: Progress) -> None:
        """Take news from the tracer."""
        passes = "1 pass" if now.passes == 1 else f"{now.passes} passes"
        samples = f", up to {now.samples} samples a pixel" if now.samples else ""  # none by meters alone
        state = f"{passes}{samples}, ±{now.error:.3f} stop (wanted ±{now.within:g}), {now.left:.0f} s left"
        if self._bar:
            done = now.elapsed / (now.elapsed + now.left) if now.elapsed else 0.0
            self._bar.update(self._task, completed=done, state=state)
        else:
            self.say(f"halfstop: {state}")
