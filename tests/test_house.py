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
    {"failures", "lengths", "recent", "shapes", "style", "typefaces", "fonts", "files"},
    {"content"},
    {"notes", "guesses", "words", "cutting_words", "pattern", "outlines", "marks", "helper_lines"},
    {"recognition"},
    {"reading"},
    {"altering"},
    {"planning"},
    {"record"},
    {"proof"},
    {"drawing"},
    {"cloth"},
    {"manual"},
    {"operations"},
    {"workroom"},
    {"commands"},
]
RANK = {room: rank for rank, rooms in enumerate(ROOMS) for room in rooms}
WEB = {"starlette", "uvicorn", "jinja2", "segno"}
HEAVY = {
    "cv2",
    "numpy",
    "pypdf",
    "pypdfium2",
    "reportlab",
    "scipy",
    "shapely",
    "spyrrow",
    "svglib",
    "PIL",
    "uharfbuzz",
    "bidi",
    *WEB,
}


def imports_of(path: Path) -> Iterator[tuple[str, int]]:
    """Dotted names imported anywhere in the file, also late or for type checking only, with their line."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield from ((f"{node.module}.{alias.name}", node.lineno) for alias in node.names)


def module_name(path: Path) -> str:
    """The dotted name by which the file is imported."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def circles_in(imported: dict[str, set[str]]) -> set[str]:
    """The modules from which the imports, followed on, lead back to themselves."""
    found = set()
    for start, first in imported.items():
        ahead, seen = list(first), set()
        while ahead:
            name = ahead.pop()
            if name not in seen:
                seen.add(name)
                ahead += imported[name]
        if start in seen:
            found.add(start)
    return found


def room_of(dotted: str) -> str:
    """The room of a dotted name below `tiling`, or '' for the package itself."""
    parts = dotted.split(".")
    return parts[1] if len(parts) > 1 else ""


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_a_room_imports_only_rooms_below_it(path: Path) -> None:
    """Tiling may import calibrate, never the other way; lower rooms never import higher ones, not even for types."""
    own = path.relative_to(ROOT).with_suffix("").parts
    for name, line in imports_of(path):
        top = name.split(".")[0]
        if own[0] == "calibrate":
            assert top != "tiling", f"{path}:{line} imports {name}"
        elif top == "tiling" and room_of(name) in RANK and len(own) > 1 and own[1] in RANK:
            assert RANK[room_of(name)] <= RANK[own[1]], f"{path}:{line} imports {name}, a higher room"


def test_no_module_lies_in_a_circle_of_imports() -> None:
    """Within a room as well, and with what is imported late or for type checking only."""
    known = {module_name(path) for path in MODULES}
    imported = {
        module_name(path): {name if name in known else name.rpartition(".")[0] for name, _ in imports_of(path)} & known
        for path in MODULES
    }
    assert circles_in(imported) == set()


def test_a_circle_is_seen() -> None:
    """One of two modules, one by way of a third, and none where the ways only meet."""
    assert circles_in({"a": {"b"}, "b": {"a"}, "c": {"a"}}) == {"a", "b"}
    assert circles_in({"a": {"b"}, "b": {"c"}, "c": {"a"}}) == {"a", "b", "c"}
    assert circles_in({"a": {"b", "c"}, "b": {"c"}, "c": set()}) == set()


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


@pytest.mark.parametrize("path", [*MODULES, *sorted(ROOT.glob("samples/*.py"))], ids=lambda p: str(p.relative_to(ROOT)))
def test_comparisons_of_floats_have_no_hidden_relative_part(path: Path) -> None:
    """`allclose` and `isclose` take 1 part in 100,000 (numpy) of the value itself unless told otherwise."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] in {"allclose", "isclose"}:
            named = {word.arg for word in node.keywords}
            assert named & {"rtol", "rel_tol"}, f"{path}:{node.lineno}: name the tolerance in mm, with rtol=0"


def test_only_commands_import_click() -> None:
    """The command line is one room; nothing below knows of it."""
    for path in MODULES:
        if "commands" not in path.parts:
            assert not any(name.split(".")[0] == "click" for name, _ in imports_of(path)), path


def test_only_the_workroom_imports_the_web_framework() -> None:
    """A job that a page asks for knows nothing of pages."""
    for path in MODULES:
        if "workroom" not in path.relative_to(ROOT).parts[:2]:
            assert not WEB & {name.split(".")[0] for name, _ in imports_of(path)}, path


def test_the_page_is_plain_and_short() -> None:
    """At most 2,750 lines of our own script, checked from its comments; nothing fetched from elsewhere."""
    scripts = sorted((ROOT / "tiling" / "workroom" / "page").glob("*.js"))
    assert sum(len(path.read_text(encoding="utf-8").splitlines()) for path in scripts) <= 2750
    for path in scripts:
        text = path.read_text(encoding="utf-8")
        assert "// @ts-check" in text, path
        assert "http" not in text.replace("http://www.w3.org/2000/svg", ""), path


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
