"""The page that a link to one duty opens: the duty in words and one button. It needs no script and no signing in."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import get_args

from flask import Blueprint, Flask, Response, make_response, render_template, request, send_from_directory

from ..channels.words import amount_words, message_of
from ..services.duties import links
from ..store.database import reading, writing
from .house import house

FOLDER = Path(__file__).parent / "static"
POLICY = "default-src 'none'; style-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
HEADERS = {
    "Content-Security-Policy": POLICY,
    "Cache-Control": "private, no-store",
    # Not `no-referrer`: then a browser names `null` as the Origin of the form (Fetch, "append a request Origin
    # header"), and our own page could not be told from another. Nobody but this server learns of the address.
    "Referrer-Policy": "same-origin",
}
# What the button says and does, before it is due and from then on.
TAKE, DONE = ("taken", "I’ll do it"), ("done", "It is done")
STANDING = {
    "open": "",
    "yours": "You have taken it on.",
    "anothers": "Somebody of your household has taken it on.",
    "done": "This is done. Nothing is left to do.",
    "withdrawn": "This need not be done any more: the plan has changed.",
}
WRITTEN = {"taken": "Written down: you do it.", "done": "Written down: it is done.", "later": "Written down: later."}
UNCHANGED = "Nothing was changed: it had been written down already, or is no longer to be done."

blueprint = Blueprint("duty_links", __name__, template_folder="templates")


@blueprint.get("/d/style.css")
def style() -> Response:
    """How the page looks, by day and by night."""
    response = send_from_directory(FOLDER, "duty_link.css", mimetype="text/css")
    response.headers["Cache-Control"] = "no-cache"
    return response


@blueprint.get("/d/<string:link>")
def show(link: str) -> Response:
    """The duty and one button; to look at it changes nothing."""
    here = house()
    with reading(here.engine) as db:
        linked = links.read_link(db, link, here.now())
    return _page(linked)


@blueprint.post("/d/<string:link>")
def act(link: str) -> Response:
    """Do what the button says, once; nobody is signed in by it."""
    asked, here = request.args.get("what", DONE[0]), house()
    what: links.What | None = next((one for one in get_args(links.What) if one == asked), None)
    if what is None:
        return _refusal()
    with writing(here.engine) as db:
        linked, changed = links.act_by_link(db, link, what, here.now())
    if changed:
        here.nudge()
    return _page(linked, WRITTEN[what] if changed else UNCHANGED)


def register(app: Flask) -> None:
    """Answer these addresses, and a link that opens nothing with one and the same page."""
    app.register_blueprint(blueprint)
    app.register_error_handler(links.NoLink, lambda _: _refusal())


def _page(linked: links.Linked, said: str = "") -> Response:
    now, kept = house().now(), linked.kept
    # How much stands on a line of its own here, in the house's own measure.
    message = message_of(replace(kept.duty, amount=None), kept.zone, now)
    is_over = linked.state in ("done", "withdrawn")
    takes_on = linked.state == "open" and now < kept.duty.due_at and said == ""
    return _html(
        "duty_link.html",
        200,
        skin="night" if linked.is_dark else "day",
        title=message.title,
        amount="" if is_over else amount_words(kept.duty.amount),
        body="" if is_over else message.body,
        said=said,
        standing=STANDING[linked.state],
        button=None if is_over else TAKE if takes_on else DONE,
    )


def _refusal() -> Response:
    """In red at any hour: of which tank it was is not known, and red by day does no harm."""
    return _html("no_link.html", 404, skin="night")


def _html(template: str, status: int, **words: object) -> Response:
    response = make_response(render_template(template, **words), status)
    response.headers.update(HEADERS)
    return response
