"""The house keeps its own rules: floors, style, types, names and sizes."""

from __future__ import annotations

import ast
import fnmatch
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
TOP_LEVEL = {"pyproject.toml", "README.md", "DEVELOPERS.md", "server", "webclient", "tests", "deploy"}
NAMELESS = {"utils", "util", "helpers", "helper", "common", "base", "manager", "misc"}
MODULE_LINES, FUNCTION_LINES = 300, 40
GENERATED = ("server/holdwatch/store/migrations/versions/*", "webclient/src/records/api.d.ts")


def modules(*folders: str, suffixes: tuple[str, ...] = (".py",)) -> list[Path]:
    """The sources that people write, below these folders."""
    found = (path for folder in folders for path in sorted((ROOT / folder).rglob("*")) if path.suffix in suffixes)
    names = ((path, path.relative_to(ROOT).as_posix()) for path in found)
    return [path for path, name in names if not any(fnmatch.fnmatch(name, pattern) for pattern in GENERATED)]


PYTHON = modules("server", "tests", "deploy")
CLIENT = modules("webclient/src", "webclient/tests", suffixes=(".ts", ".svelte"))


def run(*command: str) -> None:
    """Run a checker of this interpreter's environment over the house; its words where it finds fault."""
    environ = os.environ | {"PYTHONPATH": str(ROOT / "server")}
    done = subprocess.run(command, cwd=ROOT, env=environ, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr


def shown(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def test_the_floors_know_only_what_lies_below_them():
    run(str(Path(sys.executable).parent / "lint-imports"))


def test_the_style_is_ours():
    run(sys.executable, "-m", "ruff", "check", "server", "tests", "deploy")


def test_the_types_fit():
    # Not incremental: its cache forgets modules that were added since.
    run(sys.executable, "-m", "mypy", "--no-incremental")


def test_the_top_level_holds_what_it_should_and_nothing_else():
    ignored = [line.rstrip("/") for line in (ROOT / ".gitignore").read_text().split()]
    seen = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert {name for name in seen if not any(fnmatch.fnmatch(name, pattern) for pattern in ignored)} == TOP_LEVEL


def test_every_module_has_a_name_that_says_something():
    assert [shown(path) for path in PYTHON + CLIENT if path.stem.lower() in NAMELESS] == []


def test_every_python_module_opens_with_a_sentence():
    written = [path for path in PYTHON if path.read_text("utf-8").strip()]
    silent = [shown(path) for path in written if not ast.get_docstring(ast.parse(path.read_text("utf-8")))]
    assert silent == []


def test_no_module_is_too_long_to_read():
    lengths = {shown(path): len(path.read_text("utf-8").splitlines()) for path in PYTHON + CLIENT}
    assert {name: length for name, length in lengths.items() if length > MODULE_LINES} == {}


@pytest.mark.parametrize("folder", ["server", "tests", "deploy"])
def test_no_function_is_too_long_to_read(folder):
    long = [
        f"{shown(path)}:{node.lineno} {node.name} has {node.end_lineno - node.lineno + 1} lines"
        for path in modules(folder)
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and node.end_lineno is not None
        and node.end_lineno - node.lineno + 1 > FUNCTION_LINES
    ]
    assert long == []


def test_every_public_function_of_the_server_says_in_a_sentence_what_it_does():
    silent = [
        f"{shown(path)}:{node.lineno} {node.name}"
        for path in modules("server")
        for node in ast.parse(path.read_text("utf-8")).body
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
        and not node.name.startswith("_")
        and not ast.get_docstring(node)
        and not any(isinstance(base, ast.Name) and base.id == "MethodView" for base in getattr(node, "bases", []))
    ]
    assert silent == []
