"""The shape of the code itself: imports run one way, files stay short, only the command line prints."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "renderer"
FILES = sorted(PACKAGE.rglob("*.py"))
# Every module may import only from its own level and those before it.
LEVELS = (
    ("errors", "units", "assets", "regular_file", "__init__"),
    ("colour",),
    ("enclosure", "photometry"),
    ("scene",),
    ("rigging",),
    ("kernels",),
    ("world",),
    ("film",),
    ("meter",),
    ("picture",),
    ("preview",),
    ("live",),
    ("record",),
    ("compare",),
    ("solve",),
    ("brief",),
    ("cli", "__main__"),
)
LEVEL = {name: i for i, names in enumerate(LEVELS) for name in names}
# Kernels know nothing of the program around them.
KERNELS_MAY_IMPORT = {
    *("math", "operator", "typing", "collections", "functools", "hashlib", "inspect", "os"),
    *("pathlib", "sys", "__future__", "contextlib", "logging", "tempfile"),
    *("numpy", "numba", "llvmlite", "renderer.kernels"),
}


def top_of(path: Path) -> str:
    """The name under `renderer` that a file belongs to."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports_of(path: Path) -> Iterator[str]:
    """Modules that a file imports, also inside functions; those only for type checking left out."""
    tree = ast.parse(path.read_text())
    typing_only = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if id(node) in typing_only:
            continue
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            if node.module == "renderer":
                yield from (f"renderer.{alias.name}" for alias in node.names)


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_run_one_way(path: Path) -> None:
    own = LEVEL[top_of(path)]
    for module in imports_of(path):
        parts = module.split(".")
        if parts[0] == "renderer" and len(parts) > 1 and parts[1] in LEVEL:
            assert LEVEL[parts[1]] <= own, f"{path.name} imports {module}"


@pytest.mark.parametrize("path", sorted((PACKAGE / "kernels").rglob("*.py")), ids=lambda path: path.name)
def test_kernels_know_nothing_around_them(path: Path) -> None:
    for module in imports_of(path):
        parts = module.split(".")
        name = ".".join(parts[:2]) if parts[0] == "renderer" else parts[0]
        assert name in KERNELS_MAY_IMPORT, module


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_file_is_short(path: Path) -> None:
    assert len(path.read_text().splitlines()) <= 300


def test_only_the_command_line_prints() -> None:
    for path in FILES:
        if top_of(path) in ("cli", "__main__"):
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            called = isinstance(node, ast.Call) and ast.unparse(node.func)
            assert called not in ("print", "sys.exit", "exit"), path


def answer(*arguments: str) -> subprocess.CompletedProcess[str]:
    """What the command line answers, and as its last line the heavy libraries that it loaded for it."""
    script = (
        "import sys; from renderer.cli import main\n"
        "code = 0\n"
        "try: code = main(sys.argv[1:])\n"
        "except SystemExit as end: code = end.code\n"
        "heavy = [m for m in ('numba', 'numpy', 'trimesh') if m in sys.modules]\n"
        "print('HEAVY', *heavy, file=sys.stderr)\n"
        "sys.exit(code)"
    )
    return subprocess.run([sys.executable, "-c", script, *arguments], capture_output=True, text=True)


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (("--help",), 0),
        (("preview", "--help"), 0),
        (("prepare", "--help"), 0),
        (("prepare", "--on", "gpo"), 2),
        (("previw",), 2),
        (("preview", "nowhere.toml"), 2),
        (("preview", "--within", "x"), 2),
        (("preview", "--dim", "nobody=1"), 2),
        (("check", "nowhere.toml"), 2),
        (("rig", "nowhere.toml"), 2),
        (("balance", "nowhere.toml"), 2),
        (("balance", "--want", "lighting_ratio"), 2),
        (("balance", "--want", "lighting_ratoi=4:1"), 2),
        (("balance", "--want", "lighting_ratio=4:1", "--hold", "kye"), 2),
        (("balance", "--want", "lighting_ratio=4:1", "--limit", "key=0.2"), 2),
        (("balance",), 2),
        (("walk", "--help"), 0),
        (("walk", "--vary", "light.key.dmi=0..1 in 3"), 2),
        (("walk", "--vary", "light.key.dim=0..1 in 3", "--measure", "eye_shed"), 2),
        (("tolerance", "nowhere.toml"), 2),
        (("tolerance", "--rigging", "5"), 2),
        (("match", "nowhere.toml"), 2),
        (("match", str(PACKAGE.parent / "scenes" / "default.toml"), "nowhere.csv"), 2),
        (("match", str(PACKAGE.parent / "scenes" / "default.toml"), "--free", "walls"), 2),
        (("compare", "--help"), 0),
        (("compare", "nowhere.toml", "nowhere.toml"), 2),
        (("rig", str(PACKAGE.parent / "scenes" / "default.toml"), "--eye-lux", "300"), 0),
    ],
)
def test_help_and_faults_load_nothing_heavy(arguments: tuple[str, ...], code: int) -> None:
    """They must answer in under 0.4 s of CPU, which no import of numpy or numba would leave room for."""
    done = answer(*arguments)
    assert done.returncode == code, done.stderr
    assert "HEAVY\n" in done.stderr, done.stderr
    assert "Traceback" not in done.stderr
    if code == 2:
        assert len(done.stderr.strip().splitlines()) == 2, done.stderr  # one line, and HEAVY


def test_the_package_alone_loads_nothing_heavy() -> None:
    script = "import sys, renderer; print(*[m for m in ('numba', 'numpy', 'trimesh') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""
