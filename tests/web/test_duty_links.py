"""The page of a link: to look at it changes nothing, its one button acts once, and what is no link tells nothing."""

from __future__ import annotations

import logging
import re
from dataclasses import replace
from datetime import date, timedelta
from html.parser import HTMLParser

import pytest
import sqlalchemy as sa
from flask import Flask

from holdwatch.channels import words
from holdwatch.domain.duties import Amount, Duty
from holdwatch.services import access
from holdwatch.services.duties import links
from holdwatch.services.duties.kept import Kept, withdraw, write_kept
from holdwatch.store.database import reading, writing
from holdwatch.store.tables import metadata, record
from people import ORIGIN, START, Clock, Visitor, Visitors

BROOD = "018f6d2a-7c3e-7000-8000-0123456789ab"
DUE = START + timedelta(hours=2)
CATCH = Duty(f"catch:{BROOD}", "catch_tonight", BROOD, date(2026, 11, 25), DUE, START, DUE + timedelta(hours=9))
# As a browser sends a form without fields.
AS_A_FORM = {"content_type": "application/x-www-form-urlencoded", "data": b""}


class Page(HTMLParser):
    """What a page of ours is made of."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.words += data

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for name, attrs in self.tags if name == tag]


@pytest.fixture
def path(engine: sa.Engine, visitors: Visitors, clock: Clock) -> str:
    """A link of the helper's to a duty that is due in two hours; his lamps go out at 21:00 in Copenhagen."""
    who = visitors.helper.who
    with writing(engine) as db:
        write_kept(db, who.household_id, [Kept(CATCH, 1, "Europe/Copenhagen")])
        return links.make_link(db, who.household_id, who.person_id, CATCH, clock.now())


def everything(engine: sa.Engine) -> list[str]:
    """All rows of all tables."""
    with reading(engine) as db:
        return [f"{table.name}: {row}" for table in metadata.sorted_tables for row in db.execute(sa.select(table))]


def marks(engine: sa.Engine) -> list[str]:
    with reading(engine) as db:
        return list(db.scalars(sa.select(record.c.author).filter_by(kind="mark")))


def test_the_page_says_how_much_once_in_the_houses_own_measure_until_it_is_done(
    engine: sa.Engine, visitors: Visitors, path: str
):
    assert "×" not in Page(visitors.stranger.get(path).text).words
    much = replace(CATCH, amount=Amount(8.0, "L", 4.0, "white jug"))
    with writing(engine) as db:
        write_kept(db, visitors.helper.who.household_id, [Kept(much, 1, "Europe/Copenhagen")])
    said = Page(visitors.stranger.get(path).text).words
    assert "4 × white jug (8 L)" in said and said.count("8 L") == 1
    press(visitors.stranger, path)
    assert "It is done" in Page(visitors.stranger.get(path).text).words
    press(visitors.stranger, path)
    assert "white jug" not in Page(visitors.stranger.get(path).text).words


def press(visitor: Visitor, path: str) -> Page:
    """Open the page and press its one button, as a browser does."""
    (form,) = Page(visitor.get(path).text).all("form")
    assert form["method"] == "post"
    answer = visitor.ask("POST", f"{path}{form['action']}", **AS_A_FORM)
    assert answer.status_code == 200, answer.text
    return Page(answer.text)


def test_it_shows_the_duty_in_words_and_one_button(visitors: Visitors, path):
    answer = visitors.signed_out.get(path)
    page = Page(answer.text)
    assert answer.mimetype == "text/html"
    assert "Catch him tonight, 23:10" in page.words
    assert "Under dim red light. Nursery ready, pumps off" in page.words
    assert len(page.all("form")) == len(page.all("button")) == 1
    assert page.all("script") == page.all("a") == page.all("input") == []
    for name in ("Joris", "Reedmarsh", BROOD, path):
        assert name not in answer.text


def test_a_look_at_any_link_changes_nothing(engine, visitors: Visitors, clock, path):
    before = everything(engine)
    for at in (START, DUE, CATCH.until_at, CATCH.until_at + timedelta(hours=13)):
        clock.instant = at
        for visitor in (visitors.signed_out, visitors.helper, visitors.owner, visitors.stranger):
            for asked in (path, f"{path}?what=done", f"{path}x", f"{path}?what=nothing"):
                for method in ("GET", "HEAD", "OPTIONS"):
                    answer = visitor.ask(method, asked)
                    assert answer.status_code in (200, 404)
                    assert "Set-Cookie" not in answer.headers
    assert everything(engine) == before


def test_the_button_acts_once_in_the_persons_name_and_signs_nobody_in(engine, visitors: Visitors, clock, path):
    assert "Written down: you do it." in press(visitors.signed_out, path).words
    clock.instant = DUE
    page = press(visitors.signed_out, path)
    assert "Written down: it is done." in page.words
    assert page.all("button") == []
    assert marks(engine) == [visitors.helper.who.person_id] * 2
    before = everything(engine)
    again = visitors.signed_out.ask("POST", path, **AS_A_FORM)
    assert "Nothing was changed" in again.text
    assert "Set-Cookie" not in again.headers
    assert everything(engine) == before
    assert visitors.signed_out.get("/api/v1/me").status_code == 401


def test_it_acts_for_its_person_whoever_is_signed_in_there(engine, visitors: Visitors, path):
    visitors.owner.ask("POST", path, **AS_A_FORM)
    assert marks(engine) == [visitors.helper.who.person_id]


def test_a_duty_that_is_done_or_withdrawn_is_told_as_such(engine, visitors: Visitors, path):
    with writing(engine) as db:
        withdraw(db, visitors.helper.who.household_id, [CATCH.key], START)
    page = Page(visitors.signed_out.get(path).text)
    assert "the plan has changed" in page.words and page.all("button") == []
    assert "Nothing was changed" in visitors.signed_out.ask("POST", path, **AS_A_FORM).text
    assert marks(engine) == []


def test_what_opens_nothing_is_answered_alike_and_changes_nothing(engine, visitors: Visitors, clock, path):
    who, token = visitors.helper.who, path.removeprefix("/d/")
    household, link, secret = token.split(".")
    forged = [f"{household}.{link}.{'A' * 43}", f"{household}.{who.person_id}.{secret}", "x", f"{token}x", "%00"]
    forged += [f"{visitors.stranger.who.household_id}.{link}.{secret}", who.household_id, "%22%3E%3Cscript%3E"]
    before = everything(engine)
    answers = {answer_of(visitors.signed_out, method, f"/d/{one}") for one in forged for method in ("GET", "POST")}
    answers.add(answer_of(visitors.signed_out, "POST", f"{path}?what=handed_back"))
    clock.instant = CATCH.until_at + timedelta(hours=12)
    answers |= {answer_of(visitors.signed_out, method, path) for method in ("GET", "POST")}
    assert everything(engine) == before
    clock.instant = START
    with writing(engine) as db:
        access.remove_person(db, visitors.owner.who, who.person_id, START)
    answers |= {answer_of(visitors.signed_out, method, path) for method in ("GET", "POST")}
    ((status, text, _),) = answers
    assert status == 404 and "This link opens nothing" in text
    assert marks(engine) == []


def answer_of(visitor: Visitor, method: str, path: str) -> tuple[int, str, str]:
    """Status, body and headers of an answer."""
    answer = visitor.ask(method, path, **(AS_A_FORM if method == "POST" else {}))
    return answer.status_code, answer.text, str(sorted(answer.headers))


def test_another_site_cannot_press_the_button(engine, visitors: Visitors, path):
    for headers in ({"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "", "Origin": "https://quarry.example"}):
        assert visitors.helper.ask("POST", path, headers=headers, **AS_A_FORM).status_code == 403
    assert marks(engine) == []
    # A browser that says no more than where the form came from.
    own = {"Sec-Fetch-Site": "", "Origin": ORIGIN}
    assert visitors.helper.ask("POST", path, headers=own, **AS_A_FORM).status_code == 200


def test_its_policy_lets_nothing_in_and_nobody_keeps_it(visitors: Visitors, path):
    for asked in (path, f"{path}x"):
        headers = visitors.signed_out.get(asked).headers
        assert headers["Content-Security-Policy"] == (
            "default-src 'none'; style-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
        )
        assert headers["Cache-Control"] == "private, no-store"
        assert headers["Referrer-Policy"] == "same-origin"
        assert headers["X-Content-Type-Options"] == "nosniff"
    assert visitors.signed_out.get("/household").headers["Referrer-Policy"] == "no-referrer"


@pytest.mark.parametrize(
    # The tank says nothing of its lamps, so they are out from 21:00 to 9:00 by its zone: an hour before UTC.
    ("utc_hour", "skin"),
    [(19, "day"), (20, "night"), (24 + 7, "night"), (24 + 8, "day")],
)
def test_it_is_red_on_black_while_the_lamps_are_out(visitors: Visitors, clock, path, utc_hour, skin):
    clock.instant = START.replace(hour=0, minute=0) + timedelta(hours=utc_hour)
    (html,) = Page(visitors.signed_out.get(path).text).all("html")
    assert html["class"] == skin


def test_what_opens_nothing_is_red_too(visitors: Visitors):
    (html,) = Page(visitors.signed_out.get("/d/x").text).all("html")
    assert html["class"] == "night"


def test_the_style_by_night_is_pure_red_on_black_with_a_large_button(visitors: Visitors):
    answer = visitors.signed_out.get("/d/style.css")
    assert (answer.status_code, answer.mimetype) == (200, "text/css")
    (night,) = re.findall(r"\.night \{([^}]*)\}", answer.text)
    named = dict(re.findall(r"--(\w+): ([^;]+);", night))
    assert named == {"ground": "#000000", "ink": "#ff3b30", "tap": "72px"}
    rest = re.sub(r"(:root|\.night) \{[^}]*\}", "", answer.text)
    assert "#" not in rest and "rgb" not in rest and "min-height: var(--tap)" in rest


def test_no_log_holds_the_link(app: Flask, monkeypatch, caplog, visitors: Visitors, path):
    def fail(*_: object) -> None:
        raise RuntimeError("out of order")

    monkeypatch.setattr(links, "read_link", fail)
    app.testing = False
    with caplog.at_level(logging.DEBUG):
        assert visitors.signed_out.get(path).status_code == 500
    assert "out of order" in caplog.text
    assert path.removeprefix("/d/") not in caplog.text


def test_words_are_escaped(monkeypatch, visitors: Visitors, path):
    monkeypatch.setitem(words.WORDS, "catch_tonight", ('<b>Now</b> & "then"', "<script>alert(1)</script>"))
    text = visitors.signed_out.get(path).text
    assert "&lt;b&gt;Now&lt;/b&gt; &amp;" in text and "&lt;script&gt;" in text
    assert Page(text).all("b") == Page(text).all("script") == []
