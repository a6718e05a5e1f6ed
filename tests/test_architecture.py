"""The shape of the house: layers, sizes, types and style are checked like behaviour."""

import ast
import statistics
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
MODULES = sorted((ROOT / "coach").rglob("*.py"))
SOURCES = [*MODULES, *sorted((ROOT / "tests").rglob("*.py"))]
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "coach", "exercises", "tests", "assets"}
MOST_LINES = 400
MEDIAN_LINES = 120
MOST_STATEMENTS = 30
BIN = Path(sys.executable).parent


def run(*words: str) -> None:
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def lines_of(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


def statements_in(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    inner = [n for n in ast.walk(function) if isinstance(n, ast.stmt) and n is not function]
    docstring = ast.get_docstring(function) is not None
    return len(inner) - docstring


def test_layers_and_packages_are_kept_apart() -> None:
    run(str(BIN / "lint-imports"), "--no-cache")


def test_types_hold() -> None:
    run(str(BIN / "mypy"))


def test_style_holds() -> None:
    run(str(BIN / "ruff"), "check", "--no-cache", ".")
    run(str(BIN / "ruff"), "format", "--no-cache", "--check", ".")


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_module_is_long(path: Path) -> None:
    assert lines_of(path) <= MOST_LINES


def test_the_median_module_is_short() -> None:
    assert statistics.median(lines_of(path) for path in MODULES if path.name != "__init__.py") <= MEDIAN_LINES


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_functions_are_short(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    long = {
        node.name: statements_in(node)
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and statements_in(node) > MOST_STATEMENTS
    }
    assert not long


def test_every_public_name_is_documented_and_every_file_has_its_place() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    top = {name.split("/")[0] for name in listed.splitlines()}
    assert {name for name in top if not name.startswith(".")} <= TOP_LEVEL


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_nothing_is_muffled(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ExceptHandler):
            caught = ast.unparse(node.type) if node.type else ""
            broad = caught in {"", "Exception", "BaseException"}
            passed_on = isinstance(node.body[-1], ast.Raise)
            assert not broad or passed_on or path.name == "bootstrap.py", (
                f"line {node.lineno} catches everything"
            )
