"""What `import tiling` gives to another program."""

from __future__ import annotations

import ast
import inspect
import pkgutil
import subprocess
import sys
from pathlib import Path

import pytest

import tiling

ROOT = Path(__file__).resolve().parent.parent
OPERATIONS = (
    "look", "read_lines", "make_pages", "make_test_page", "measure_printer", "alter", "reprint", "plan_cloth",
    "write_guide",
)  # fmt: skip


def test_importing_it_loads_nothing() -> None:
    """No library and no room of the house, until a name is asked for; then only what that needs."""
    code = (
        "import sys; before = set(sys.modules); import tiling; new = set(sys.modules) - before; print(*sorted(new));"
        "tiling.InputFile; print(*{m.split('.')[0] for m in sys.modules})"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    first, second = ran.stdout.splitlines()
    assert [name for name in first.split() if name.startswith(("tiling", "calibrate"))] == ["tiling"]
    assert not {"click", "numpy", "pypdf", "lxml", "shapely", "reportlab"} & set(second.split())


@pytest.mark.parametrize("name", tiling.__all__)
def test_every_name_is_there(name: str) -> None:
    """And hides no room of the house: asking for a room by the same name would give something else."""
    assert getattr(tiling, name) is not None
    assert name not in {module.name for module in pkgutil.iter_modules(tiling.__path__)}


def test_what_a_type_checker_sees_is_what_is_loaded() -> None:
    """The imports for checking, the homes for loading and the list of names say the same."""
    tree = ast.parse((ROOT / "tiling" / "__init__.py").read_text(encoding="utf-8"))
    checked = {
        (node.module, alias.name)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module not in {"__future__", "importlib", "typing"}
        for alias in node.names
    }
    assert checked == {(home, name) for name, home in tiling._HOME_OF.items()}
    assert sorted(tiling.__all__) == sorted(tiling._HOME_OF)
    assert set(tiling.__all__) <= set(dir(tiling))


@pytest.mark.parametrize("name", OPERATIONS)
def test_every_job_has_a_module_of_its_own_and_its_request_and_result(name: str) -> None:
    """One request in, one result out, both public; one at a time in a process."""
    operation = getattr(tiling, name)
    assert operation.__module__ == f"tiling.operations.{name}"
    assert hasattr(operation, "__wrapped__")
    signature = inspect.signature(operation)
    assert list(signature.parameters) == ["request", "run"]
    for annotation in (signature.parameters["request"].annotation, signature.return_annotation):
        assert annotation in tiling.__all__


def test_an_unknown_name_is_an_attribute_error() -> None:
    """As of any module."""
    with pytest.raises(AttributeError, match="make_coffee"):
        _ = tiling.make_coffee
