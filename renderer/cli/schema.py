"""Print the JSON Schema of scene files, for editors that complete and check TOML.

Every key has its meaning, unit and valid range. What has to go together (one place, one level, what
fits in the room) is beyond a schema: `halfstop check` tells.
"""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def add(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    text = __doc__ or ""
    parser = subparsers.add_parser("schema", help=text.splitlines()[0], description=text)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the schema as JSON."""
    import json

    print(json.dumps(scene_schema(), indent=2))
    return 0


def scene_schema() -> dict[str, Any]:
    """The JSON Schema of a scene file, from the models that read it."""
    from renderer.scene.models import Scene

    schema = _without_null(Scene.model_json_schema())
    schema["required"] = [key for key in schema.get("required", []) if key != "camera"]  # it has defaults
    return {"$schema": DIALECT, **schema}


def _without_null(node: Any) -> Any:
    """TOML has no null: a key that may be None is one that may be left out."""
    if isinstance(node, list):
        return [_without_null(item) for item in node]
    if not isinstance(node, dict):
        return node
    node = {
        key: _without_null(value) for key, value in node.items() if not (key == "default" and value is None)
    }
    choices = node.get("anyOf")
    if isinstance(choices, list) and {"type": "null"} in choices:
        kept = [choice for choice in choices if choice != {"type": "null"}]
        rest = {key: value for key, value in node.items() if key != "anyOf"}
        return {**kept[0], **rest} if len(kept) == 1 else {**rest, "anyOf": kept}
    return node
