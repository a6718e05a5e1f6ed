"""The shape of the house: layers, sizes, types and style are checked like behaviour."""

import ast
import re
import statistics
import subprocess
import sys
from functools import cache
from pathlib import Path

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


@cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def catches_all(handler: ast.ExceptHandler) -> bool:
    return handler.type is None or ast.unparse(handler.type) in {"Exception", "BaseException"}


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


def test_no_module_is_long() -> None:
    long = {str(path): lines for path in SOURCES if (lines := lines_of(path)) > MOST_LINES}
    assert not long


def test_the_median_module_is_short() -> None:
    assert statistics.median(lines_of(path) for path in MODULES if path.name != "__init__.py") <= MEDIAN_LINES


def test_functions_are_short() -> None:
    long = {
        f"{path}:{node.lineno} {node.name}": statements_in(node)
        for path in MODULES
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and statements_in(node) > MOST_STATEMENTS
    }
    assert not long


def test_every_file_has_its_place() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    top = {name.split("/")[0] for name in listed.splitlines()}
    assert {name for name in top if not name.startswith(".")} <= TOP_LEVEL


def test_nothing_is_muffled() -> None:
    """Whoever catches everything passes it on; only the start-up may tell it to the user instead."""
    muffled = [
        f"{path}:{node.lineno}"
        for path in MODULES
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.ExceptHandler) and catches_all(node) and path.name != "bootstrap.py"
        if not isinstance(node.body[-1], ast.Raise)
    ]
    assert not muffled


def test_every_name_that_is_referred_to_is_there() -> None:
    notes = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    packages = "|".join(path.name for path in (ROOT / "coach").iterdir() if path.is_dir())
    named = [("DEVELOPERS.md", f"coach.{name}") for name in re.findall(rf"`((?:{packages})\.[\w.]+)`", notes)]
    for path in MODULES:
        named += [(str(path), name) for name in re.findall(r"`(coach\.[\w.]+)`", path.read_text("utf-8"))]
    assert [each for each in named if not is_there(each[1].split("."))] == []


def is_there(parts: list[str], inner: tuple[str, ...] = ()) -> bool:
    """Whether a dotted name is a module, or something that is defined, imported or nested in one."""
    if not parts:
        return False
    place = ROOT.joinpath(*parts)
    path = place.with_suffix(".py") if place.with_suffix(".py").is_file() else place / "__init__.py"
    if not path.is_file():
        return is_there(parts[:-1], (parts[-1], *inner))
    words = set(re.findall(r"\w+", path.read_text(encoding="utf-8")))
    return words.issuperset(inner)
