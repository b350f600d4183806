"""The command line: one small file a command. Only here is anything printed or the program left.

Every fault in the input ends in one line on standard error and exit code 2. Commands import what they
need when they run, so help and faults answer at once.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from difflib import get_close_matches
from importlib import import_module
from typing import Any, NoReturn

from renderer.cli.tracing import STOPPED
from renderer.errors import InputError

COMMANDS = (
    "preview",
    "live",
    "prepare",
    "check",
    "meter",
    "mix",
    "compare",
    "walk",
    "balance",
    "tolerance",
    "match",
    "rig",
    "brief",
    "schema",
)


class Parser(argparse.ArgumentParser):
    """A parser whose faults are one line with the nearest valid choice."""

    def error(self, message: str) -> NoReturn:
        for word in sys.argv[1:]:
            if message.startswith("unrecognized arguments") and word.split("=")[0] in message:
                options = self._chosen()._options()
                near = get_close_matches(word.split("=")[0], options, 1)
                if near:
                    message += f"; did you mean {options[near[0]]}?"
                break
        self.exit(2, f"{self.prog}: {message} (see {self.prog} --help)\n")

    def _chosen(self) -> Parser:
        """The parser of the command that was named; this one where none was."""
        for action in self._actions:
            if isinstance(action, argparse._SubParsersAction):
                return next((action.choices[word] for word in sys.argv[1:] if word in action.choices), self)
        return self

    def _options(self) -> dict[str, str]:
        """Every option by its own names, and by that of its value: who writes --seconds may mean --time."""
        found: dict[str, str] = {}
        for action in self._actions:
            if action.option_strings and isinstance(action.metavar, str):
                found[f"--{action.metavar.lower()}"] = action.option_strings[-1]
        for action in self._actions:
            found |= {option: option for option in action.option_strings}
        return found

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        choices = list(action.choices or ())
        if choices and value not in choices:
            near = get_close_matches(str(value), [str(choice) for choice in choices], 1)
            hint = (
                f'; did you mean "{near[0]}"?' if near else f" (choose from {', '.join(map(str, choices))})"
            )
            raise argparse.ArgumentError(action, f'there is no "{value}"{hint}')


def parser() -> argparse.ArgumentParser:
    """The parser of all commands."""
    top = Parser(prog="halfstop", description="See the light before you rig it.")
    top.add_argument("--version", action="store_true", help="print the version and stop")
    subparsers = top.add_subparsers(metavar="COMMAND", parser_class=Parser)
    for command in COMMANDS:
        import_module(f"renderer.cli.{command}").add(subparsers)
    return top


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    top = parser()
    chosen = top.parse_args(arguments)
    if chosen.version:
        from renderer import __version__

        print(f"halfstop {__version__}")
        return 0
    if not hasattr(chosen, "run"):
        top.print_help()
        return 0
    try:
        return int(chosen.run(chosen))
    except InputError as error:
        print("\n".join(error.lines), file=sys.stderr)
        return 2
    except BrokenPipeError:
        sys.stderr.close()
        return 1
    except KeyboardInterrupt:
        print("halfstop: stopped; nothing was written", file=sys.stderr)
        return STOPPED
