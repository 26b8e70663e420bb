"""Every library that the sources import is declared by name, and every lock holds what is declared."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
DECLARED = PROJECT["project"]["dependencies"]
EXTRAS = PROJECT["project"]["optional-dependencies"]
# Types for a checker, drivers that are loaded by their name, programs, and plugins: nobody writes an import of these.
NEVER_IMPORTED = {
    *("types-waitress", "psycopg", "tzdata", "ruff", "mypy", "import-linter"),
    *("pytest-timeout", "pytest-benchmark", "pytest-xdist"),
}


def names(requirements: list[str]) -> set[str]:
    """The distributions that requirements name, in their one normal form (PyPA, "Names and normalization")."""
    return {normal(re.match(r"[A-Za-z0-9._-]+", requirement)[0]) for requirement in requirements}


def normal(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def imported(folder: str) -> dict[str, str]:
    """Top-level names that the sources below a folder import from elsewhere, each with a file that does."""
    found = {}
    for path in sorted((ROOT / folder).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Import):
                modules = [alias.name for alias in node.names]
            else:
                modules = [node.module] if isinstance(node, ast.ImportFrom) and node.module and not node.level else []
            found |= {module.partition(".")[0]: path.relative_to(ROOT).as_posix() for module in modules}
    ours = {path.stem for top in ("server", "tests", "deploy") for path in (ROOT / top).iterdir()}
    return {name: path for name, path in found.items() if name not in ours | set(sys.stdlib_module_names)}


def undeclared(folder: str, declared: set[str]) -> dict[str, str]:
    """What is imported below the folder and not declared, with a file that does."""
    belongs = packages_distributions()
    return {
        name: path
        for name, path in imported(folder).items()
        if not {normal(distribution) for distribution in belongs.get(name, [])} & declared
    }


def test_the_server_imports_only_what_is_declared():
    assert undeclared("server", names(DECLARED)) == {}


def test_what_builds_us_is_named_once_for_pip_and_once_for_the_locks():
    assert PROJECT["dependency-groups"]["build"] == PROJECT["build-system"]["requires"]


def test_the_tests_import_only_what_is_declared_for_them():
    assert undeclared("tests", names(DECLARED) | names(EXTRAS["test"])) == {}


def test_nothing_is_declared_that_nobody_imports():
    belongs = packages_distributions()
    used = {normal(one) for folder in ("server", "tests") for name in imported(folder) for one in belongs.get(name, [])}
    assert (names(DECLARED) | names(EXTRAS["test"])) - used - NEVER_IMPORTED == set()


@pytest.mark.parametrize("lock, extras", [("requirements.lock", []), ("requirements-test.lock", ["test"])])
def test_a_lock_holds_all_that_is_declared_and_all_that_builds_us_each_with_its_hashes(lock: str, extras: list[str]):
    text = (ROOT / "deploy" / lock).read_text("utf-8")
    blocks = re.split(r"\n(?=\S)", text.strip())
    pinned = {block.partition("==")[0]: block for block in blocks}
    wanted = DECLARED + [one for extra in extras for one in EXTRAS[extra]] + PROJECT["build-system"]["requires"]
    assert names(wanted) - {normal(name) for name in pinned} == set()
    assert [name for name, rest in pinned.items() if "--hash=sha256:" not in rest] == []
