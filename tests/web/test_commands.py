"""The commands say what is wrong in one line and end with 2; they never show the inside of the program."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from freezegun import freeze_time

from holdwatch import cli
from holdwatch.app import utc_now
from holdwatch.config import BadSetting, check_contact, check_origin
from holdwatch.services import access
from holdwatch.services.identity import new_identity
from holdwatch.store.database import open_database, reading, writing
from holdwatch.store.migrate import migrate
from people import START, settle


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine where nothing has been set yet."""
    for name in ("DATABASE", "ORIGIN", "CONTACT", "CLIENT", "PLAIN_HTTP_PRIVATE", "TRUST_FORWARDED", "PUSH_LOOPBACK"):
        monkeypatch.delenv(f"HOLDWATCH_{name}", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))


def told(capsys: pytest.CaptureFixture[str], *command: str) -> str:
    """The one line of a command that cannot do what was asked."""
    assert cli.main(command) == 2
    printed = capsys.readouterr()
    (line,) = printed.err.splitlines()
    assert printed.out == ""
    return line


def test_the_clock_of_the_commands_is_this_machines_in_utc():
    with freeze_time("2026-11-25 21:10:00+01:00"):
        assert utc_now() == datetime(2026, 11, 25, 20, 10, tzinfo=UTC)


@pytest.mark.parametrize("port", ["0", "-1", "65536", "99999", "abc", "", "8790.0", "١٢", "1" * 5000])
def test_a_port_that_is_none_is_told_of(capsys, port: str):
    assert (
        told(capsys, "serve", f"--port={port}") == f"holdwatch: --port must be a number from 1 to 65535, not {port!r}"
    )


def test_a_negative_port_is_told_of_however_it_is_written(capsys):
    assert "not '-1'" in told(capsys, "serve", "--port", "-1")


@pytest.mark.parametrize(
    "command", ["serve", "work", "migrate", "example", "owner-link", "backup", "restore", "new-epoch"]
)
@pytest.mark.parametrize(
    ("database", "says"),
    [
        ("nonsense", "cannot be read; it must be like sqlite:////path/to/file"),
        ("oracle://db", "oracle is not known here"),
    ],
)
def test_every_command_tells_of_a_database_that_it_cannot_use(
    capsys, monkeypatch, tmp_path, command: str, database: str, says: str
):
    monkeypatch.setenv("HOLDWATCH_DATABASE", database)
    target = [str(tmp_path / "copy")] if command in ("backup", "restore") else []
    assert says in told(capsys, command, *target)


@pytest.mark.parametrize("command", ["serve", "work", "migrate", "example", "owner-link", "new-epoch"])
def test_every_command_tells_of_a_folder_that_cannot_be_written(capsys, monkeypatch, command: str):
    monkeypatch.setenv("XDG_DATA_HOME", "/proc/nowhere")
    assert told(capsys, command).startswith("holdwatch: The database /proc/nowhere/holdwatch/holdwatch.sqlite3 cannot")


@pytest.mark.parametrize("contact", ["mailto:ilka@reedmarsh.example", "https://reedmarsh.example/holdwatch"])
def test_a_contact_as_push_services_want_it_is_taken(contact: str):
    check_contact(contact)


@pytest.mark.parametrize(
    "contact",
    ["", "ilka@reedmarsh.example", "mailto:", "mailto:ilka", "mailto:a@b@c", "mailto:ilka @reedmarsh.example"]
    + ["http://reedmarsh.example", "https://", "https://[", "https://a:b", "https://reedmarsh.example/ x", "tel:+45"]
    + ["mailto:ilka@reedmarsh.example\nX", "mailto:ilkå@reedmarsh.example"],
)
def test_a_contact_that_a_push_service_would_refuse_is_refused_at_the_start(capsys, monkeypatch, contact: str):
    with pytest.raises(BadSetting, match="HOLDWATCH_CONTACT must be like mailto:"):
        check_contact(contact)
    monkeypatch.setenv("HOLDWATCH_CONTACT", contact)
    assert "HOLDWATCH_CONTACT" in told(capsys, "work")


@pytest.mark.parametrize("origin", ["http://[", "http://127.0.0.1:port", "http://127.0.0.1:99999"])
def test_an_origin_that_cannot_be_taken_apart_is_refused(origin: str):
    with pytest.raises(BadSetting, match="HOLDWATCH_ORIGIN"):
        check_origin(origin, plain_http_private=False)


def test_the_owner_link_names_whose_it_is_and_an_address_on_this_machine(capsys, monkeypatch, tmp_path):
    monkeypatch.setenv("HOLDWATCH_DATABASE", f"sqlite:///{tmp_path / 'house.sqlite3'}")
    monkeypatch.setenv("HOLDWATCH_ORIGIN", "https://holdwatch.example")
    engine = open_database(f"sqlite:///{tmp_path / 'house.sqlite3'}")
    migrate(engine, new_identity)
    assert "Nobody was set up yet." in told(capsys, "owner-link")
    with writing(engine) as db:
        settle(db, "a hash", START)
    line = told(capsys, "owner-link")
    assert "Name one of these households" in line and "'Reedmarsh Lane' (" in line and "'Quarry Cottage' (" in line
    assert "Name one" in told(capsys, "owner-link", "--household", "Elsewhere")
    with freeze_time("2026-11-25 21:10:00+01:00"):
        assert cli.main(["owner-link", "--household", "Reedmarsh Lane", "--port", "9000"]) == 0
    (line,) = capsys.readouterr().out.splitlines()
    assert line.startswith("Ilka, the owner of Reedmarsh Lane, signs in as ilka@reedmarsh.example.")
    token = line.partition(": http://127.0.0.1:9000/recover#")[2]
    with reading(engine) as db:
        assert access.recovery_for(db, token, True, START + timedelta(minutes=59)).login == "ilka@reedmarsh.example"
        with pytest.raises(access.NotUsable):
            access.recovery_for(db, token, True, START + timedelta(minutes=60))
    engine.dispose()


def test_a_restore_says_what_the_database_holds_who_can_come_in_and_what_happens_next(capsys, monkeypatch, tmp_path):
    stands = tmp_path / "house.sqlite3"
    monkeypatch.setenv("HOLDWATCH_DATABASE", f"sqlite:///{stands}")
    engine = open_database(f"sqlite:///{stands}")
    migrate(engine, new_identity)
    with writing(engine) as db:
        settle(db, "a hash", START)
    engine.dispose()
    assert cli.main(["backup", str(tmp_path / "copy")]) == 0
    capsys.readouterr()
    with freeze_time("2026-11-27 02:10:00"):
        assert cli.main(["restore", str(tmp_path / "copy")]) == 0
    first, kept, carried, *people, last = capsys.readouterr().out.splitlines()
    assert first.endswith("A phone was heard in it last on 25 November 2026 at 20:10 UTC.")
    assert kept == f"What stood there before is kept as {stands}.before-20261127T021000Z."
    assert carried.startswith("People, what others' writing replaced, and temperatures")
    assert people[1:3] == ["  Bram, owner of Quarry Cottage", "  Ilka, owner of Reedmarsh Lane"]
    assert last.startswith("Everybody has to sign in again.")
    assert cli.main(["new-epoch"]) == 0
    first, *people, last = capsys.readouterr().out.splitlines()
    assert len(people) == 5 and last.startswith("Everybody has to sign in again.")


def test_a_restore_that_cannot_be_is_told_of_in_one_line(capsys, monkeypatch, tmp_path):
    monkeypatch.setenv("HOLDWATCH_DATABASE", f"sqlite:///{tmp_path / 'house.sqlite3'}")
    missing = tmp_path / "nothing"
    assert told(capsys, "restore", str(missing)) == f"holdwatch restore: There is no file {missing}."
    (tmp_path / "diary").write_text("dear diary")
    assert "is no sound copy of a database of Holdwatch's" in told(capsys, "restore", str(tmp_path / "diary"))
    monkeypatch.setenv("HOLDWATCH_DATABASE", "sqlite:////proc/nowhere/house.sqlite3")
    assert "Nothing was restored" in told(capsys, "restore", str(tmp_path / "diary"))
