"""Prepares a checkout: virtual environments from the hashed locks, the built client; each step only when needed."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PLACE = ROOT / ".holdwatch"
CLIENT = ROOT / "webclient"
LEAST_PYTHON = (3, 11)
LEAST_NODE = 20


class CannotGoOn(Exception):
    """What is missing, and what to do about it."""


def say(text: str) -> None:
    """One line of progress, at once."""
    print(text, flush=True)


def check_python() -> None:
    """CannotGoOn with an older Python."""
    if sys.version_info < LEAST_PYTHON:
        wanted = ".".join(map(str, LEAST_PYTHON))
        raise CannotGoOn(f"Python {wanted} or newer is needed; this is {sys.version.split()[0]}.")


def environment(name: str, lock: str) -> Path:
    """The folder of executables of the virtual environment `name`, installed from `lock`."""
    folder = PLACE / name
    binaries = folder / ("Scripts" if os.name == "nt" else "bin")
    sources = [ROOT / "deploy" / lock, ROOT / "pyproject.toml"]
    wanted = _digest(sources) + sys.version + str(ROOT)
    if _done(folder, wanted):
        return binaries
    say(f"Python packages into {folder.relative_to(ROOT)} (once; a minute or two) …")
    with _timed():
        shutil.rmtree(folder, ignore_errors=True)
        run_quietly([sys.executable, "-m", "venv", str(folder)])
        pip = [str(binaries / "python"), "-m", "pip", "--disable-pip-version-check", "install"]
        run_quietly([*pip, "--require-hashes", "--requirement", str(ROOT / "deploy" / lock)])
        # The lock holds what builds us too, so nothing is fetched that has no hash.
        run_quietly([*pip, "--no-index", "--no-deps", "--no-build-isolation", "--editable", str(ROOT)])
    _mark_done(folder, wanted)
    return binaries


def client() -> None:
    """The built client in `webclient/dist`."""
    wanted = _digest(_client_sources())
    if _done(CLIENT / "dist", wanted):
        return
    node_modules()
    say("Building the client …")
    with _timed():
        run_quietly(["npm", "run", "build"], cwd=CLIENT)
    _mark_done(CLIENT / "dist", wanted)


def node_modules() -> None:
    """The client's packages from its lock."""
    check_node()
    folder = CLIENT / "node_modules"
    wanted = _digest([CLIENT / "package-lock.json"])
    if _done(folder, wanted):
        return
    say("Client packages into webclient/node_modules (once) …")
    with _timed():
        run_quietly(["npm", "ci", "--no-audit", "--no-fund"], cwd=CLIENT)
    _mark_done(folder, wanted)


def check_node() -> None:
    """CannotGoOn without Node, or with an older one."""
    if not shutil.which("node") or not shutil.which("npm"):
        raise CannotGoOn(f"Node {LEAST_NODE} or newer with npm is needed to build the client; it was not found.")
    version = subprocess.run(["node", "--version"], capture_output=True, text=True, check=True).stdout.strip()
    if int(version.lstrip("v").split(".")[0]) < LEAST_NODE:
        raise CannotGoOn(f"Node {LEAST_NODE} or newer is needed to build the client; this is {version}.")


def run(command: list[str], cwd: Path = ROOT, **environ: str) -> None:
    """Run to the end, its output seen as it comes; CannotGoOn if it fails."""
    done = subprocess.run(command, cwd=cwd, env={**os.environ, **environ})
    if done.returncode:
        raise CannotGoOn(f"This failed with exit code {done.returncode}: {' '.join(command)}")


def run_quietly(command: list[str], cwd: Path = ROOT) -> None:
    """Run to the end; what it says is shown only if it fails."""
    done = subprocess.run(command, cwd=cwd, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    if done.returncode:
        raise CannotGoOn(f"{done.stdout}\nThis failed with exit code {done.returncode}: {' '.join(command)}")


def _client_sources() -> list[Path]:
    tops = [f for f in CLIENT.iterdir() if f.is_file()]
    return sorted([*tops, *_files(CLIENT / "src", "*"), *_files(CLIENT / "public", "*")])


def _files(folder: Path, pattern: str) -> list[Path]:
    made = "api.d.ts"
    return sorted(f for f in folder.rglob(pattern) if f.is_file() and f.name != made)


def _digest(files: Iterable[Path]) -> str:
    digest = hashlib.sha256()
    for file in files:
        digest.update(str(file.relative_to(ROOT)).encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()


def _stamp(folder: Path) -> Path:
    return PLACE / "made" / f"{folder.relative_to(ROOT)}".replace(os.sep, "-")


def _done(folder: Path, wanted: str) -> bool:
    stamp = _stamp(folder)
    return folder.is_dir() and stamp.is_file() and stamp.read_text("utf-8") == wanted


def _mark_done(folder: Path, wanted: str) -> None:
    _stamp(folder).parent.mkdir(parents=True, exist_ok=True)
    _stamp(folder).write_text(wanted, "utf-8")


class _timed:
    """Says how long the block took."""

    def __enter__(self) -> None:
        self.began = time.monotonic()

    def __exit__(self, kind: object, *_: object) -> None:
        if kind is None:
            say(f"  done in {time.monotonic() - self.began:.0f} s")
