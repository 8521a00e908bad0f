"""What is imported is declared, what is declared is used, and who uses private names of a library has bounded it."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from importlib.metadata import packages_distributions
from importlib.util import find_spec
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PRODUCT = tuple(sorted([*ROOT.glob("tiling/**/*.py"), *ROOT.glob("calibrate/**/*.py")]))
TRIALS = tuple(sorted([*ROOT.glob("tests/**/*.py"), *ROOT.glob("samples/**/*.py")]))
OWN = {"tiling", "calibrate", "tests", *(path.stem for path in ROOT.glob("samples/*.py"))}
LOWEST = ROOT / ".ci" / "lowest-tests"

# Bindings that follow PDFium's own interface, about which the library's version number promises nothing.
AS_GOOD_AS_PRIVATE = {"pypdfium2.raw"}


def plain(name: str) -> str:
    """A distribution's name as indexes compare it (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


@dataclass(frozen=True, slots=True)
class Declared:
    """A requirement of pyproject.toml."""

    name: str
    bounds: str

    @classmethod
    def of(cls, requirement: str) -> Declared:
        """From the text of a requirement (PEP 508)."""
        found = re.match(r"([\w.-]+)\s*(?:\[[^]]*])?\s*([^;]*)", requirement)
        assert found, requirement
        return cls(plain(found[1]), found[2].strip())

    @property
    def has_ceiling(self) -> bool:
        """Whether later releases are kept out."""
        return any(part.strip().startswith(("<", "~=", "==")) for part in self.bounds.split(","))


PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
PROJECT = PYPROJECT["project"]
PLUGINS = {"pytest-xdist": "-n auto"}
"""Plugins of pytest that no test imports, and the option by which they are used."""

RUNTIME = [Declared.of(each) for each in PROJECT["dependencies"]]
EXTRA = {key: [Declared.of(each) for each in listed] for key, listed in PROJECT["optional-dependencies"].items()}
PROVIDERS = packages_distributions()


def imported(tree: ast.AST) -> Iterator[str]:
    """Dotted names of all imports of other people's libraries, for types only as well."""
    for node in ast.walk(tree):
        names: Iterable[str] = ()
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        for name in names:
            if (top := name.split(".")[0]) not in OWN and top not in sys.stdlib_module_names:
                yield name


def makers(name: str) -> set[str]:
    """The distributions that an imported name may come from."""
    top = name.split(".", maxsplit=1)[0]
    return {plain(each) for each in PROVIDERS.get(top, [top])}


@lru_cache
def imports_in(paths: tuple[Path, ...]) -> dict[str, Path]:
    """Dotted names of libraries imported in these files, with one file each."""
    return {name: path for path in paths for name in imported(ast.parse(path.read_text(encoding="utf-8")))}


def private(name: str) -> bool:
    return name.startswith("_") and not name.endswith("__") and name.strip("_") != ""


def private_names(tree: ast.AST) -> Iterator[tuple[str, int]]:
    """Private attributes read or written that the module doesn't define itself, with their line."""
    defined = {
        node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
    }
    defined |= {node.id for node in ast.walk(tree) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)}
    attributes = [node for node in ast.walk(tree) if isinstance(node, ast.Attribute)]
    for node in attributes:
        if isinstance(node.ctx, ast.Store) and isinstance(node.value, ast.Name) and node.value.id in {"self", "cls"}:
            defined.add(node.attr)
    for node in attributes:
        # What Python's own modules write so is documented all the same, as `os._exit`.
        if private(node.attr) and node.attr not in defined and ast.unparse(node.value) not in sys.stdlib_module_names:
            yield node.attr, node.lineno
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and ast.unparse(node.func) in {"getattr", "setattr", "hasattr", "delattr"}:
            named = node.args[1] if len(node.args) > 1 else None
            if isinstance(named, ast.Constant) and private(str(named.value)):
                yield str(named.value), node.lineno


@lru_cache
def has_name(library: str, name: str) -> bool:
    """Whether the library's own sources, Python or Cython, have the name."""
    spec = find_spec(library)
    word = re.compile(rf"\b{name}\b")
    folders = [Path(each) for each in (spec.submodule_search_locations or ())] if spec else []
    sources = (path for each in folders for kind in ("*.py", "*.pyx", "*.pxi") for path in each.rglob(kind))
    return any(word.search(path.read_text(encoding="utf-8", errors="replace")) for path in sources)


def unbounded(source: str, declared: Iterable[Declared]) -> list[str]:
    """Private names in a module that no library with an upper bound answers for."""
    tree = ast.parse(source)
    libraries = set(imported(tree))
    ceilings = {each.name for each in declared if each.has_ceiling}
    wrong = [
        name
        for name in sorted(libraries)
        if (any(map(private, name.split("."))) or name in AS_GOOD_AS_PRIVATE) and not makers(name) & ceilings
    ]
    bounded = {name.split(".")[0] for name in libraries if makers(name) & ceilings}
    for name, line in private_names(tree):
        if not any(has_name(library, name) for library in bounded):
            wrong.append(f"{name} (line {line})")
    return wrong


def test_every_library_of_the_product_is_declared() -> None:
    """What `tiling` and `calibrate` import comes with the installed package."""
    known = {each.name for each in RUNTIME}
    for name, path in imports_in(PRODUCT).items():
        assert makers(name) & known, f"{path} imports {name}"


def test_every_library_of_the_tests_is_declared() -> None:
    """What tests and samples import is a dependency or in one of the extras."""
    known = {each.name for each in (*RUNTIME, *(one for listed in EXTRA.values() for one in listed))}
    for name, path in imports_in(TRIALS).items():
        assert makers(name) & known, f"{path} imports {name}"


@pytest.mark.parametrize("declared", RUNTIME, ids=lambda each: each.name)
def test_every_dependency_is_used(declared: Declared) -> None:
    """No library is installed with the product for nothing."""
    assert any(declared.name in makers(name) for name in imports_in(PRODUCT))


@pytest.mark.parametrize("declared", [one for listed in EXTRA.values() for one in listed], ids=lambda each: each.name)
def test_every_extra_is_used(declared: Declared) -> None:
    """By an import of the tests, as a command of what a checkout must pass, or by an option that pytest is given."""
    commands = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    options = PYPROJECT["tool"]["pytest"]["ini_options"]["addopts"]
    assert (
        f"/bin/{declared.name}" in commands
        or PLUGINS.get(declared.name, "no option") in options
        or any(declared.name in makers(name) for name in imports_in(TRIALS))
    )


@pytest.mark.parametrize("declared", [*RUNTIME, *EXTRA["test"]], ids=lambda each: each.name)
def test_every_dependency_has_a_lowest_version(declared: Declared) -> None:
    """The one `.ci/lowest` tries; without it the resolver would take the oldest there is."""
    assert ">=" in declared.bounds


@pytest.mark.parametrize("path", PRODUCT, ids=lambda p: str(p.relative_to(ROOT)))
def test_private_names_are_those_of_libraries_with_an_upper_bound(path: Path) -> None:
    """A private name may go with any release; who needs one is held to releases that are known to have it."""
    assert unbounded(path.read_text(encoding="utf-8"), RUNTIME) == []


@pytest.mark.parametrize(
    "source",
    [
        "from pypdf import PdfWriter\nPdfWriter()._add_object(None)",
        "import pypdf\nsetattr(pypdf.PdfWriter(), '_data', b'')",
        "from pypdf._page import PageObject",
        "from pypdf.generic import StreamObject\nclass Own(StreamObject):\n    def get(self): return self._data",
        "import pypdf\ndef f(x):\n    x._data = b''",
    ],
)
def test_a_private_name_without_an_upper_bound_is_seen(source: str) -> None:
    """The check above fails on each way to reach one, and is content once there is a bound."""
    assert unbounded(source, [Declared("pypdf", ">=6.0")])
    assert not unbounded(source, [Declared("pypdf", ">=6.0,<8")])


def test_names_of_python_itself_need_no_bound() -> None:
    """`os._exit` is documented."""
    assert not unbounded("import os\nos._exit(0)", RUNTIME)


def test_a_private_name_that_the_bounded_library_does_not_have_is_seen() -> None:
    """A bound on one library excuses nothing of another."""
    source = "import pypdf\nfrom x import y\ny._spline"
    assert unbounded(source, [Declared("pypdf", ">=6.0,<8")]) == ["_spline (line 3)"]


def test_the_tests_for_the_lowest_versions_are_there() -> None:
    """`.ci/lowest-tests` names files and functions that exist."""
    lines = [line for line in LOWEST.read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")]
    assert lines
    for line in lines:
        file, _, case = line.partition("::")
        function = case.partition("[")[0]
        assert (ROOT / file).exists(), line
        assert not function or f"def {function}(" in (ROOT / file).read_text(encoding="utf-8"), line
