"""The one kind of error that a person is meant to read.

Every fault in what a person gave (a scene file, a mesh, an option) is raised as `InputError`.
The command line prints its lines and leaves with exit code 2; nothing else is caught there.
"""

from __future__ import annotations


class InputError(Exception):
    """One or more faults in the input, each a complete line: where, what was found, what is valid."""

    def __init__(self, *lines: str) -> None:
        super().__init__("\n".join(lines))
        self.lines = lines
