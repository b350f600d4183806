"""Where the files that come with the program are: in the installed package, or in a clone of the project."""

from __future__ import annotations

from pathlib import Path

PACKAGE = Path(__file__).parent


def folder(name: str) -> Path:
    """Folder `meshes` or `scenes`: inside the installed package, else beside it in a clone."""
    installed = PACKAGE / "assets_" / name
    return installed if installed.is_dir() else PACKAGE.parent / name


def default_scene() -> Path:
    """The scene that is shown when none is named."""
    return folder("scenes") / "default.toml"
