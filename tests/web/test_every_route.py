"""The sweep: every route and method, asked by a stranger for the first household's things, and signed out.

A route that is not in the table fails; so does an answer that is not the one in the table, and any
answer or any change that touches the first household.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask

from holdwatch.app import photo_cabinet
from holdwatch.config import Settings, load_profiles
from holdwatch.domain.duties import Duty
from holdwatch.services import access, duties, temperature
from holdwatch.services.duties.kept import Kept, write_kept
from holdwatch.services.duties.links import make_link
from holdwatch.services.forecasts import issue_asked
from holdwatch.store.database import reading, writing
from holdwatch.store.tables import attempt, metadata
from measured import TANK as TANK_ID
from measured import measured_tank
from people import PASSWORD, Clock, Neighbours, Visitor, Visitors
from pictures import name_of, photo
from services.notebook import Notebook, hold
from services.photographs import send

RECORD = "018f6d2a-7c3e-7000-8000-0123456789ab"
STAMP = "1764101400000.0000.ab12cd34"
SECRET = ("household", "session", "invitation", "token")
OWN = 200
GONE = 404
OUT = 401


@dataclass(frozen=True)
class Expected:
    """What a stranger gets (their own things, or not found) and what somebody signed out gets."""

    stranger: int
    signed_out: int
    body: Any = None


TANK = {"name": {"value": "Reef by the stairs", "stamp": STAMP, "was": None}}
CHANGE = {"id": RECORD, "kind": "tank", "author": "{person}", "device": "ab12cd34", "fields": TANK}
PUSH = {"schema": 1, "device": "ab12cd34", "cursor": 0, "epoch": None, "changes": [CHANGE]}
ENDPOINT = {"endpoint": "https://push.example/one"}
KEYS = {"keys": {"p256dh": "BA", "auth": "AA"}}
TOKEN = {"token": "{household}.{invitation}." + "A" * 43}
NEWCOMER = {"login": "newcomer", "password": PASSWORD}
FOUNDING = {"code": "A" * 32, "household": "Lower Mill", "name": "Eva"} | NEWCOMER
CHOSEN = dict.fromkeys(("delimiter", "has_header", "time_columns", "value_column", "order")) | {"unit": "C"}
FORM = {"encoding": "utf-8", "delimiter": ",", "has_header": False, "time_columns": [0], "value_column": 1}
SPOT = {"offset": 0, "line": 1, "last_ms": None, "steps_ms": []}
PIECE = {"piece": "MjAyNi0xMS0yNVQyMDowMFosMjYuMQo=", "is_last": True}
PREVIEW = PIECE | {"chosen": CHOSEN}
IMPORT = PIECE | {
    "thermometer": "probe",
    "form": FORM | {"unit": "C", "order": None, "clock": "tank"},
    "spot": SPOT,
}
PHOTO = photo(64, 48)
PHOTO_PIECE = {"bytes": len(PHOTO), "offset": 0, "piece": "AAAA"}
MEASURED = {"at": "2026-11-25T20:00:00Z", "temperature_c": 26.1}
WISH = {"quiet": {"from": "22:00", "until": "07:00"}, "zone": "UTC", "catch_breaks_quiet": True, "email": None}
SIGNING_IN = {"login": "ilka@reedmarsh.example", "password": "not the password"}

# Public by design: they say nothing of any household, or want a secret of their own.
PUBLIC: dict[tuple[str, str], Expected] = {
    ("GET", "/"): Expected(200, 200),
    ("GET", "/<client:path>"): Expected(200, 200),
    ("GET", "/api/v1/health"): Expected(200, 200),
    ("GET", "/api/v1/openapi.json"): Expected(200, 200),
    ("POST", "/api/v1/setup"): Expected(409, 409, FOUNDING),
    ("POST", "/api/v1/sign-in"): Expected(401, 401, SIGNING_IN),
    ("POST", "/api/v1/invitations/look"): Expected(GONE, GONE, TOKEN),
    ("POST", "/api/v1/join"): Expected(GONE, GONE, TOKEN | NEWCOMER),
    ("POST", "/api/v1/recovery/look"): Expected(GONE, GONE, TOKEN),
    ("POST", "/api/v1/recovery"): Expected(GONE, GONE, TOKEN | {"password": PASSWORD}),
    # A sensor holds a token and nothing else: a cookie does not help.
    ("POST", "/api/v1/readings"): Expected(OUT, OUT, MEASURED),
    # Whoever has the whole address may read it.
    ("GET", "/api/v1/calendar/<string:token>.ics"): Expected(200, 200),
    # So with a link to one duty. This one is done already, so that the button does nothing more.
    ("GET", "/d/style.css"): Expected(200, 200),
    ("GET", "/d/<string:link>"): Expected(200, 200),
    ("POST", "/d/<string:link>"): Expected(200, 200),
}
HOUSEHOLDS: dict[tuple[str, str], Expected] = {
    ("GET", "/api/v1/me"): Expected(OWN, OUT),
    ("POST", "/api/v1/sign-out"): Expected(204, OUT),
    ("POST", "/api/v1/password"): Expected(403, OUT, {"current": "not the password", "password": PASSWORD}),
    ("GET", "/api/v1/broods/<uuid:brood_id>/forecasts"): Expected(GONE, OUT),
    ("GET", "/api/v1/broods/<uuid:brood_id>/assumptions"): Expected(GONE, OUT),
    ("GET", "/api/v1/broods/<uuid:brood_id>/history"): Expected(GONE, OUT),
    ("GET", "/api/v1/records/<uuid:record_id>/history"): Expected(GONE, OUT),
    ("GET", "/api/v1/invitations"): Expected(OWN, OUT),
    ("POST", "/api/v1/invitations"): Expected(201, OUT, {"name": "Wim", "role": "helper"}),
    ("DELETE", "/api/v1/invitations/<uuid:invitation_id>"): Expected(GONE, OUT),
    ("GET", "/api/v1/devices"): Expected(OWN, OUT),
    ("DELETE", "/api/v1/devices/<uuid:session_id>"): Expected(GONE, OUT),
    ("DELETE", "/api/v1/people/<uuid:person_id>"): Expected(GONE, OUT),
    ("POST", "/api/v1/sync"): Expected(OWN, OUT, PUSH),
    # Keys that are none: nothing is looked up or written, yet who asks is asked first.
    ("POST", "/api/v1/push/subscriptions"): Expected(422, OUT, ENDPOINT | KEYS),
    ("DELETE", "/api/v1/push/subscriptions"): Expected(204, OUT, ENDPOINT),
    ("GET", "/api/v1/reminders"): Expected(OWN, OUT),
    ("PUT", "/api/v1/reminders"): Expected(OWN, OUT, WISH),
    # The stranger's phone gets none.
    ("POST", "/api/v1/reminders/test"): Expected(409, OUT),
    ("GET", "/api/v1/calendar"): Expected(OWN, OUT),
    ("POST", "/api/v1/calendar"): Expected(201, OUT, {"names": True}),
    ("DELETE", "/api/v1/calendar"): Expected(204, OUT),
    ("GET", "/api/v1/tanks/<uuid:tank_id>/thermometers"): Expected(GONE, OUT),
    ("GET", "/api/v1/tanks/<uuid:tank_id>/tokens"): Expected(GONE, OUT),
    ("POST", "/api/v1/tanks/<uuid:tank_id>/tokens"): Expected(GONE, OUT, {"name": "probe"}),
    ("DELETE", "/api/v1/tokens/<uuid:token_id>"): Expected(GONE, OUT),
    ("POST", "/api/v1/tanks/<uuid:tank_id>/readings/preview"): Expected(GONE, OUT, PREVIEW),
    ("POST", "/api/v1/tanks/<uuid:tank_id>/readings/import"): Expected(GONE, OUT, IMPORT),
    ("GET", "/api/v1/photos/<sha256:sha256>"): Expected(GONE, OUT),
    ("GET", "/api/v1/photos/<sha256:sha256>/thumbnail"): Expected(GONE, OUT),
    # The same photo of another household is another photo, and says nothing of the first.
    ("GET", "/api/v1/photos/<sha256:sha256>/upload"): Expected(OWN, OUT),
    ("POST", "/api/v1/photos/<sha256:sha256>/upload"): Expected(OWN, OUT, PHOTO_PIECE),
}
TABLE = PUBLIC | HOUSEHOLDS


@pytest.fixture
def ids(
    engine: sa.Engine, settings: Settings, clock: Clock, neighbours: Neighbours, request: pytest.FixtureRequest
) -> dict[str, str]:
    """Everything that names something of the first household; a brood is forecast where a route asks of one."""
    owner = neighbours.owner.who
    route = getattr(request.node, "callspec", None) and request.node.callspec.params["route"]
    brood = forecast_brood(engine, owner, clock.now()) if route and "brood_id" in route[1] else RECORD
    with writing(engine) as db:
        invited = access.invite(db, owner, "Eva", "keeper", clock.now())
        token = measured_tank(db, owner, clock.now())
        calendar = duties.new_feed(db, owner, True, clock.now())
        link = done_duty(db, owner, clock.now()) if route and route[1].startswith("/d/") else "no link"
        temperature.take_readings(db, temperature.sensor_of(db, token), [MEASURED], clock.now())
    if route and "photos" in route[1]:
        send(photo_cabinet(settings, engine), owner, PHOTO, clock.now())
    return {
        "household": owner.household_id,
        "person": neighbours.helper.who.person_id,
        "session": neighbours.helper.who.session_id,
        "invitation": invited.id,
        "tank": TANK_ID,
        "record": TANK_ID,
        "brood": brood,
        "token": token.split(".")[1],
        "calendar": str(calendar),
        "link": link,
        "sha256": name_of(PHOTO),
    }


def done_duty(db: sa.Connection, owner: access.Who, now: datetime) -> str:
    """A link to a duty of the first household that is done."""
    done = Duty(f"warm:{TANK_ID}", "too_warm", TANK_ID, now.date(), now, now, now + timedelta(days=9), done_at=now)
    write_kept(db, owner.household_id, [Kept(done, 1, "Europe/Copenhagen")])
    return make_link(db, owner.household_id, owner.person_id, done, now).removeprefix("/d/")


def forecast_brood(engine: sa.Engine, owner: access.Who, now: datetime) -> str:
    """A brood of the first household with a forecast; its id."""
    brood = hold(Notebook(engine, owner), now)
    issue_asked(engine, load_profiles(), now)
    return brood


def routes(app: Flask) -> set[tuple[str, str]]:
    """Every method of every rule; HEAD and OPTIONS are the framework's own shadows of GET."""
    return {
        (method, rule.rule)
        for rule in app.url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    }


def filled(thing: Any, ids: dict[str, str]) -> Any:
    """`thing` with the first household's ids in the place of {household}, {person} and so on."""
    if isinstance(thing, dict):
        return {name: filled(value, ids) for name, value in thing.items()}
    if isinstance(thing, list):
        return [filled(value, ids) for value in thing]
    return thing.format(**ids) if isinstance(thing, str) else thing


def address(rule: str, ids: dict[str, str]) -> str:
    """The rule's path, with the first household's ids."""
    for name, value in ids.items():
        rule = rule.replace(f"<uuid:{name}_id>", value).replace(f"<sha256:{name}>", value)
    return (
        rule.replace("<client:path>", "household")
        .replace("<string:token>", ids["calendar"])
        .replace("<string:link>", ids["link"])
    )


def ask(visitor: Visitor, route: tuple[str, str], ids: dict[str, str], **more: Any) -> Any:
    method, rule = route
    return visitor.ask(method, address(rule, ids), filled(TABLE[route].body, ids), **more)


def rows_of(engine: sa.Engine, household_id: str) -> list[str]:
    """All rows of the first household."""
    with reading(engine) as db:
        tables = [table for table in metadata.sorted_tables if "household_id" in table.c]
        return [
            f"{table.name}: {row}"
            for table in tables
            for row in sorted(map(str, db.execute(sa.select(table).where(table.c.household_id == household_id))))
        ]


def rows_of_nobody(engine: sa.Engine) -> list[str]:
    """All rows that belong to no household, but for counted attempts."""
    with reading(engine) as db:
        tables = [table for table in metadata.sorted_tables if "household_id" not in table.c and table is not attempt]
        return [f"{table.name}: {row}" for table in tables for row in db.execute(sa.select(table))]


def test_every_route_stands_in_the_table_and_no_other(app: Flask):
    assert routes(app) == set(TABLE)


def test_every_table_but_three_belongs_to_a_household():
    outside = {table.name for table in metadata.sorted_tables if "household_id" not in table.primary_key.columns}
    assert outside == {"server_identity", "setup_code", "attempt"}


@pytest.mark.parametrize("route", TABLE, ids=" ".join)
def test_a_stranger_gets_nothing_of_another_household(visitors: Visitors, ids, engine, route):
    before = rows_of(engine, ids["household"])
    answer = ask(visitors.stranger, route, ids)
    assert answer.status_code == TABLE[route].stranger, answer.text[:300]
    for word in ("Reedmarsh", "Ilka", "Tamsin", "Joris", "Eva", "probe", *(ids[name] for name in SECRET)):
        assert word not in answer.text
    assert rows_of(engine, ids["household"]) == before


@pytest.mark.parametrize("route", TABLE, ids=" ".join)
def test_somebody_signed_out_gets_nothing_at_all(visitors: Visitors, ids, engine, route):
    before = rows_of(engine, ids["household"]), rows_of_nobody(engine)
    answer = ask(visitors.signed_out, route, ids)
    assert answer.status_code == TABLE[route].signed_out, answer.text[:300]
    assert "Set-Cookie" not in answer.headers
    for word in ("Reedmarsh", "Ilka", *ids.values()):
        assert word not in answer.text
    assert (rows_of(engine, ids["household"]), rows_of_nobody(engine)) == before


@pytest.mark.parametrize("route", HOUSEHOLDS, ids=" ".join)
def test_a_removed_person_is_as_good_as_signed_out(visitors: Visitors, ids, engine, clock, route):
    with writing(engine) as db:
        access.remove_person(db, visitors.owner.who, visitors.keeper.who.person_id, clock.now())
    assert ask(visitors.keeper, route, ids).status_code == OUT


@pytest.mark.parametrize("route", HOUSEHOLDS, ids=" ".join)
def test_a_name_without_its_cookie_opens_nothing(visitors: Visitors, ids, engine, route):
    """Whoever asks may say which of the phone's people he is, and nobody else."""
    before = rows_of(engine, ids["household"])
    for other in (visitors.owner.who.person_id, visitors.stranger.who.person_id, RECORD, ""):
        answer = ask(visitors.helper, route, ids, headers={"Holdwatch-Person": other})
        assert answer.status_code == OUT, other
    assert rows_of(engine, ids["household"]) == before


@pytest.mark.parametrize("route", [route for route in TABLE if route[0] == "GET"], ids=" ".join)
def test_reading_changes_nothing(visitors: Visitors, ids, engine, clock, route):
    clock.move(days=3)
    before = rows_of(engine, ids["household"]), rows_of_nobody(engine)
    for visitor in (visitors.owner, visitors.helper):
        assert ask(visitor, route, ids).status_code in (200, 403)
    assert (rows_of(engine, ids["household"]), rows_of_nobody(engine)) == before


def test_a_stranger_who_writes_under_anothers_id_writes_a_record_of_their_own(visitors: Visitors, ids, engine):
    mine = filled(PUSH, ids | {"person": visitors.owner.who.person_id})
    assert visitors.owner.post("/api/v1/sync", mine).json["verdicts"][0]["verdict"] == "taken"
    before = rows_of(engine, ids["household"])
    theirs = filled(PUSH, ids | {"person": visitors.stranger.who.person_id})
    answer = visitors.stranger.post("/api/v1/sync", theirs).json
    assert answer["verdicts"][0]["verdict"] == "taken"
    assert [row["author"] for row in answer["rows"]] == [visitors.stranger.who.person_id]
    assert rows_of(engine, ids["household"]) == before
