"""The plan of the house, kept by test: who imports whom, how long things may grow, what lies at the top."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
MODULES = sorted([*ROOT.glob("tiling/**/*.py"), *ROOT.glob("calibrate/**/*.py")])

# From the ground up; a room may import what stands before it. Plain modules of `tiling` are named as they are.
ROOMS = [
    {"failures", "lengths", "shapes", "style", "files"},
    {"content"},
    {"notes", "pattern", "marks"},
    {"reading"},
    {"altering"},
    {"planning"},
    {"record"},
    {"proof", "drawing"},
    {"cloth"},
    {"manual"},
    {"operations"},
    {"workroom"},
    {"commands"},
]
RANK = {room: rank for rank, rooms in enumerate(ROOMS) for room in rooms}
HEAVY = {"cv2", "numpy", "pypdf", "pypdfium2", "reportlab", "scipy", "shapely", "spyrrow", "svglib", "PIL"}


def imports_of(path: Path) -> Iterator[tuple[str, int]]:
    """Dotted names imported at run time anywhere in the file, with their line."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    only_types: set[ast.AST] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING"):
            only_types.update(child for part in node.body for child in ast.walk(part))
    for node in ast.walk(tree):
        if node in only_types:
            continue
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module, node.lineno
            yield from ((f"{node.module}.{alias.name}", node.lineno) for alias in node.names)


def room_of(dotted: str) -> str:
    """The room of a dotted name below `tiling`, or '' for the package itself."""
    parts = dotted.split(".")
    return parts[1] if len(parts) > 1 else ""


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_a_room_imports_only_rooms_below_it(path: Path) -> None:
    """Tiling may import calibrate, never the other way; lower rooms never import higher ones."""
    own = path.relative_to(ROOT).with_suffix("").parts
    for name, line in imports_of(path):
        top = name.split(".")[0]
        if own[0] == "calibrate":
            assert top != "tiling", f"{path}:{line} imports {name}"
        elif top == "tiling" and room_of(name) in RANK and len(own) > 1 and own[1] in RANK:
            assert RANK[room_of(name)] <= RANK[own[1]], f"{path}:{line} imports {name}, a higher room"


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_modules_and_functions_stay_readable(path: Path) -> None:
    """A module has at most 400 lines; a function body at most 50; at most 6 parameters outside commands."""
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") <= 400, "look for the seam in this module"
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            body = node.body[1:] if ast.get_docstring(node) else node.body
            lines = node.end_lineno - body[0].lineno + 1 if body and node.end_lineno else 0
            assert lines <= 50, f"{node.name} has {lines} lines"
            if "commands" not in path.parts:
                names = [a.arg for a in (*node.args.args, *node.args.kwonlyargs) if a.arg not in {"self", "cls"}]
                assert len(names) <= 6, f"{node.name} takes {len(names)} parameters"


def test_only_commands_import_click() -> None:
    """The command line is one room; nothing below knows of it."""
    for path in MODULES:
        if "commands" not in path.parts:
            assert not any(name.split(".")[0] == "click" for name, _ in imports_of(path)), path


def test_the_command_starts_without_the_heavy_libraries() -> None:
    """`pageseam --help` loads click and little else."""
    code = "import sys, tiling.commands.main; print(*{m.split('.')[0] for m in sys.modules})"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert not HEAVY & set(out.stdout.split())


def test_the_top_level_holds_what_the_readme_says() -> None:
    """README, DEVELOPERS, LICENSE, pyproject, two packages, tests, samples, and dot-files; nothing else."""
    listed = subprocess.run(["git", "ls-files"], capture_output=True, text=True, check=False, cwd=ROOT).stdout.split()
    if not listed:
        pytest.skip("not a git checkout")
    tops = {name.split("/")[0] for name in listed if not name.startswith(".")}
    allowed = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "tiling", "calibrate", "tests", "samples"}
    assert tops <= allowed
