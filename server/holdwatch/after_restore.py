"""What whoever set a database back is told: what it holds now, who can come in, and what happens next."""

from __future__ import annotations

from collections.abc import Iterator

from .services.restoring import SetBack


def told_of(done: SetBack) -> Iterator[str]:
    """The lines to print."""
    if done.heard_at is None:
        yield "The database holds what the copy held. No phone had been heard in it yet."
    else:
        heard = f"{done.heard_at:%d %B %Y at %H:%M} UTC"
        yield f"The database holds what the copy held. A phone was heard in it last on {heard}."
    if done.kept is not None:
        yield f"What stood there before is kept as {done.kept}."
    if done.carried:
        yield (
            "People, what others' writing replaced, and temperatures of sensors and files are as they stood last; "
            "records are those of the copy."
        )
    yield "These can sign in now; remove in Household whoever should not:" if done.people else "Nobody can sign in."
    yield from (f"  {person}" for person in done.people)
    yield "Everybody has to sign in again. Each phone then brings back what it holds and the database lacks."
