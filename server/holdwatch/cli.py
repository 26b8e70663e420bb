"""The commands of `holdwatch`, each a few lines."""

from __future__ import annotations

import argparse
import json
import logging
import os
import re
import sys
from collections.abc import Sequence
from pathlib import Path

from .config import DEFAULT_PORT, BadSetting, Settings, load_settings, photos_beside

PORT = re.compile("[0-9]{1,5}")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; the exit code is 0 if it did what was asked, 2 for bad input."""
    asked = _parser().parse_args(arguments)
    logging.basicConfig(level=logging.INFO, format="%(levelname)s %(name)s: %(message)s")
    logging.getLogger("alembic").setLevel(logging.WARNING)
    try:
        return asked.run(asked)
    except BadSetting as problem:
        print(f"holdwatch: {problem}", file=sys.stderr)
        return 2


def _serve(asked: argparse.Namespace) -> int:
    from .serving import serve

    port = _port(asked.port)
    if asked.example and (failed := _example(asked)):
        return failed
    return serve(_settings(port), port)


def _work(_asked: argparse.Namespace) -> int:
    from .serving import work_alone

    return work_alone(_settings())


def _migrate(_asked: argparse.Namespace) -> int:
    from .services.identity import new_identity
    from .store.database import open_database
    from .store.migrate import migrate

    identity = migrate(open_database(_settings().database_url), new_identity)
    print(f"The database {identity.database_id} has the newest shape.")
    return 0


def _example(_asked: argparse.Namespace) -> int:
    from .app import utc_now
    from .example import Settled, load_example

    try:
        print(load_example(_settings(), utc_now()))
    except Settled as problem:
        print(f"holdwatch example: {problem}", file=sys.stderr)
        return 2
    return 0


def _owner_link(asked: argparse.Namespace) -> int:
    from .app import utc_now
    from .owner_link import NoSuchOwner, owner_link

    port = _port(asked.port)
    try:
        print(owner_link(_settings(port), port, asked.household, utc_now()))
    except NoSuchOwner as problem:
        print(f"holdwatch owner-link: {problem}", file=sys.stderr)
        return 2
    return 0


def _backup(asked: argparse.Namespace) -> int:
    from .services.backup import CannotBackUp, back_up

    settings = _settings()
    try:
        size = back_up(settings.database_url, asked.file)
    except CannotBackUp as problem:
        print(f"holdwatch backup: {problem}", file=sys.stderr)
        return 2
    print(f"{asked.file}: {size:,} bytes, checked.")
    return _copy_photos("backup", _photos(settings), photos_beside(asked.file))


def _photos(settings: Settings) -> Path:
    from .config import photos_folder
    from .store.database import checked_address

    return photos_folder(settings.photos_folder, checked_address(settings.database_url).database)


def _copy_photos(command: str, source: Path, target: Path) -> int:
    """Copy the photos that belong to a database along with it."""
    from .services.photos import copy_photos

    try:
        copied = copy_photos(source, target)
    except OSError as problem:
        words = f"The database was copied, but not all of its photos: {problem}. Copy {source} to {target} by hand."
        print(f"holdwatch {command}: {words}", file=sys.stderr)
        return 2
    if source.is_dir():
        print(f"Photos copied to {target}: {copied:,}.")
    return 0


def _restore(asked: argparse.Namespace) -> int:
    from .after_restore import told_of
    from .app import utc_now
    from .services.restoring import CannotRestore, restore

    settings = _settings()
    try:
        done = restore(settings.database_url, asked.file, utc_now())
    except CannotRestore as problem:
        print(f"holdwatch restore: {problem}", file=sys.stderr)
        return 2
    print(*told_of(done), sep="\n")
    return _copy_photos("restore", photos_beside(asked.file), _photos(settings))


def _new_epoch(_asked: argparse.Namespace) -> int:
    from .after_restore import told_of
    from .app import utc_now
    from .services.restoring import CannotRestore, new_epoch

    try:
        done = new_epoch(_settings().database_url, utc_now())
    except CannotRestore as problem:
        print(f"holdwatch new-epoch: {problem}", file=sys.stderr)
        return 2
    print(*told_of(done), sep="\n")
    return 0


def _forecast(asked: argparse.Namespace) -> int:
    from .forecast_file import run

    return run(asked.file, asked.json, sys.stdout, sys.stderr)


def _openapi(_asked: argparse.Namespace) -> int:
    from .app import openapi_document

    print(json.dumps(openapi_document(), indent=1, sort_keys=True))
    return 0


def _port(text: str) -> int:
    if not PORT.fullmatch(text) or not 1 <= int(text) <= 65535:
        raise BadSetting(f"--port must be a number from 1 to 65535, not {text!r}")
    return int(text)


def _settings(port: int = DEFAULT_PORT) -> Settings:
    return load_settings(os.environ, port)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="holdwatch", description="Which night to catch the male, and who does what.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    for name, run, text in (
        ("serve", _serve, "serve the app on this machine, and send what is due"),
        ("work", _work, "only make forecasts and send what is due, beside a server"),
        ("migrate", _migrate, "bring the database to the newest shape"),
        ("example", _example, "load a household of our own invention into an empty database"),
        ("owner-link", _owner_link, "print a one-time address at which an owner sets a new password"),
        ("backup", _backup, "write a copy of the database, and of its photos, while they are in use"),
        ("restore", _restore, "set the database back to such a copy; what stood there is kept"),
        ("new-epoch", _new_epoch, "after a restore by other means: let phones bring back what the database lacks"),
        ("forecast", _forecast, "forecast one brood described in a file"),
        ("openapi", _openapi, "print the description of the programming interface"),
    ):
        command = commands.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".")
        command.set_defaults(run=run)
        _add_arguments(command, name)
    return parser


def _add_arguments(command: argparse.ArgumentParser, name: str) -> None:
    if name in ("serve", "owner-link"):
        command.add_argument("--port", default=str(DEFAULT_PORT), help="port on 127.0.0.1 (default %(default)s)")
    if name == "owner-link":
        command.add_argument("--household", help="its name or id, where there are several")
    if name == "serve":
        command.add_argument("--example", action="store_true", help="load the invented household first")
    if name == "backup":
        command.add_argument("file", type=Path, metavar="FILE", help="where to; it must not exist yet")
    if name == "restore":
        command.add_argument("file", type=Path, metavar="FILE", help="a copy that `holdwatch backup` made")
    if name == "forecast":
        command.add_argument("file", metavar="FILE", help="one brood as JSON")
        command.add_argument("--json", action="store_true", help="for machines")


if __name__ == "__main__":
    sys.exit(main())
