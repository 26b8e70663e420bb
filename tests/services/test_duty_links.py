"""Links to one duty: they act once, in one person's name, for so long, and open nothing else."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
import sqlalchemy as sa

from domain.hold import HOUR, local
from holdwatch.domain.duties import Duty
from holdwatch.records.instants import instant_text
from holdwatch.services import access
from holdwatch.services.duties import links
from holdwatch.services.duties.kept import withdraw
from holdwatch.services.duties.links import NoLink, act_by_link, make_link, read_link
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from services.notebook import DEVICE, Notebook
from services.reminding import keep

NOW = local(25, 18, 30)
BREEDING = "018f6d2a-7c3e-7000-8000-0123456789ab"
NIGHT = date(2026, 11, 25)
CATCH = Duty(f"catch:{BREEDING}", "catch_tonight", BREEDING, NIGHT, local(25, 22, 30), NOW, local(26, 9))
LOOSE = Duty(f"loose:{BREEDING}:2026-11-25", "fry_loose", BREEDING, NIGHT, NOW, NOW, NOW + 12 * HOUR)


@pytest.fixture
def who(neighbours):
    """The helper, who may do duties and little else."""
    return neighbours.helper.who


def new_link(engine, who, duty: Duty = CATCH) -> str:
    """The token in a fresh link, to a duty as a plan leaves it."""
    keep(engine, who.household_id, duty)
    with writing(engine) as db:
        path = make_link(db, who.household_id, who.person_id, duty, NOW)
    assert path.startswith("/d/")
    return path.removeprefix("/d/")


def read(engine, token: str, now=NOW) -> links.Linked:
    with reading(engine) as db:
        return read_link(db, token, now)


def act(engine, token: str, what, now=NOW) -> tuple[str, bool]:
    with writing(engine) as db:
        linked, changed = act_by_link(db, token, what, now)
    return linked.state, changed


def marks(engine) -> list[tuple[str, dict]]:
    """Author and values of all marks."""
    with reading(engine) as db:
        rows = db.execute(sa.select(tables.record).filter_by(kind="mark").order_by(tables.record.c.revision)).all()
    return [(row.author, links.stored(row).values) for row in rows]


def test_it_opens_the_duty_in_the_name_of_its_person(engine, who):
    linked = read(engine, new_link(engine, who))
    assert (linked.kept.duty.key, linked.state) == (CATCH.key, "open")
    assert (linked.who.person_id, linked.who.role) == (who.person_id, "helper")


def test_the_secret_is_kept_only_as_a_hash(engine, who):
    secret = new_link(engine, who).split(".")[2]
    with reading(engine) as db:
        (row,) = db.execute(sa.select(tables.duty_link)).all()
    # 256 bits, as base64url.
    assert len(secret) == 43
    assert secret not in str(row)


def test_done_is_written_once_by_whoever_it_was_for(engine, who):
    token = new_link(engine, who)
    assert act(engine, token, "done", NOW + HOUR) == ("done", True)
    expected = {"about": BREEDING, "at": instant_text(NOW + HOUR), "what": "done", "duty": CATCH.key}
    assert marks(engine) == [(who.person_id, expected)]
    assert act(engine, token, "done", NOW + 2 * HOUR) == ("done", False)
    assert len(marks(engine)) == 1


def test_another_link_of_the_same_duty_changes_nothing_more(engine, neighbours):
    first, second = new_link(engine, neighbours.helper.who), new_link(engine, neighbours.keeper.who)
    assert act(engine, first, "done") == ("done", True)
    assert act(engine, second, "done") == ("done", False)
    assert act(engine, second, "taken") == ("done", False)


def test_taken_then_done(engine, neighbours):
    mine, others = new_link(engine, neighbours.helper.who), new_link(engine, neighbours.keeper.who)
    assert act(engine, mine, "taken") == ("yours", True)
    assert act(engine, mine, "taken") == ("yours", False)
    assert act(engine, others, "taken") == ("anothers", False)
    assert act(engine, others, "done") == ("done", True)
    assert [values["what"] for _, values in marks(engine)] == ["taken", "done"]


def test_later_is_said_again_only_when_it_is_later(engine, who):
    token = new_link(engine, who)
    assert act(engine, token, "later") == ("open", True)
    assert act(engine, token, "later", NOW + timedelta(minutes=29)) == ("open", False)
    assert act(engine, token, "later", NOW + timedelta(minutes=30)) == ("open", True)
    assert [values["until"] for _, values in marks(engine)] == [
        instant_text(NOW + timedelta(minutes=30)),
        instant_text(NOW + timedelta(minutes=60)),
    ]


def test_what_was_said_on_a_phone_counts_before_the_plan_knows_of_it(engine, neighbours, who):
    token = new_link(engine, who)
    Notebook(engine, neighbours.owner.who).write("mark", NOW, about=BREEDING, at=NOW, what="done", duty=CATCH.key)
    assert act(engine, token, "done") == ("done", False)


def test_a_mark_that_was_taken_away_does_not_count(engine, neighbours, who):
    token = new_link(engine, who)
    phone = Notebook(engine, neighbours.owner.who)
    made = phone.write("mark", NOW, about=BREEDING, at=NOW, what="done", duty=CATCH.key)
    phone.edit(made, NOW, gone=True)
    assert act(engine, token, "done") == ("done", True)


def test_its_stamp_is_never_behind_what_was_said_before(engine, who, neighbours):
    """The phone's clock is four minutes ahead; what the link writes afterwards still comes afterwards."""
    token = new_link(engine, who)
    phone, ahead = Notebook(engine, who), NOW + timedelta(minutes=4)
    for what in ("taken", "handed_back"):
        phone.write("mark", ahead, about=BREEDING, at=NOW, what=what, duty=CATCH.key)
    assert act(engine, token, "taken", NOW + timedelta(minutes=1)) == ("yours", True)
    stamps = [mark.stamp for mark in read(engine, token).marks]
    assert max(stamps).endswith(links.DEVICE) and DEVICE in min(stamps)


def test_loose_fry_are_handled_once_an_alarm(engine, who):
    token = new_link(engine, who, LOOSE)
    phone = Notebook(engine, who)
    before = NOW - HOUR
    phone.write("mark", before, about=BREEDING, at=before, what="done", duty=LOOSE.key)
    assert act(engine, token, "done") == ("done", True)
    assert act(engine, token, "done") == ("done", False)


def test_a_duty_that_was_withdrawn_is_told_as_such(engine, who):
    token = new_link(engine, who)
    with writing(engine) as db:
        withdraw(db, who.household_id, [CATCH.key], NOW)
    assert read(engine, token).state == "withdrawn"
    assert act(engine, token, "done") == ("withdrawn", False)
    assert marks(engine) == []


def test_it_dies_twelve_hours_after_the_duty(engine, who):
    token = new_link(engine, who)
    dies = CATCH.until_at + 12 * HOUR
    assert act(engine, token, "done", dies - timedelta(milliseconds=1)) == ("done", True)
    with pytest.raises(NoLink):
        read(engine, token, dies)


def test_nobody_who_left_acts_by_one_nor_when_he_is_back(engine, neighbours):
    owner, keeper = neighbours.owner.who, neighbours.keeper.who
    token = new_link(engine, keeper)
    with writing(engine) as db:
        access.remove_person(db, owner, keeper.person_id, NOW)
    with pytest.raises(NoLink):
        act(engine, token, "done")
    with writing(engine) as db:
        back = access.invite(db, owner, "Tamsin", "keeper", NOW, keeper.person_id)
        access.join(db, str(back.token), "tamsin", "", access.Phone(None, "a test"), NOW)
    with pytest.raises(NoLink):
        act(engine, token, "done")
    assert marks(engine) == []


def test_a_restore_ends_every_link(engine, who):
    token = new_link(engine, who)
    with writing(engine) as db:
        access.end_everything(db, NOW)
    with pytest.raises(NoLink):
        read(engine, token)


def test_forged_links_open_nothing_and_are_not_told_apart(engine, neighbours, who):
    token = new_link(engine, who)
    household, link, secret = token.split(".")
    other = neighbours.stranger.who.household_id
    forged = ["", "x", f"{household}.{link}", f"{household}.{link}.{'A' * 43}", f"{other}.{link}.{secret}"]
    forged += [f"{household}.{who.person_id}.{secret}", f"{household}.{link}.{secret[:-1]}", token.upper()]
    forged += [f"{token}x", f" {token}", f"{token}\n"]
    said = set()
    for one in forged:
        with pytest.raises(NoLink) as refused:
            act(engine, one, "done")
        said.add(str(refused.value))
    assert len(said) == 1
    assert marks(engine) == []


def test_links_that_have_died_are_cleared_away_when_another_is_made(engine, who):
    new_link(engine, who)
    with writing(engine) as db:
        make_link(db, who.household_id, who.person_id, CATCH, CATCH.until_at + 12 * HOUR)
    with reading(engine) as db:
        assert len(db.execute(sa.select(tables.duty_link)).all()) == 1


@pytest.mark.parametrize(
    ("now", "dark"),
    # The notebook's tank has its lamps out from 21:30 to 08:30, by the zone of the duty's plan: Berlin.
    [(local(25, 21, 29), False), (local(25, 21, 30), True), (local(26, 8, 29), True), (local(26, 8, 30), False)],
)
def test_whether_the_lamps_of_its_tank_are_out(engine, neighbours, who, now, dark):
    phone = Notebook(engine, neighbours.owner.who)
    brood = phone.write("brood", NOW, about=phone.male(NOW), not_before=NOW - 24 * HOUR)
    tank = next(made for made, kind in phone.kinds.items() if kind == "tank")
    for about in (brood, tank):
        duty = Duty(f"catch:{about}", "catch_tonight", about, NIGHT, local(25, 22, 30), NOW, local(26, 9))
        assert read(engine, new_link(engine, who, duty), now).is_dark is dark
