"""What can stand in the way of coming in, each with a message for people."""

from __future__ import annotations

from collections.abc import Mapping


class SignedOut(Exception):
    """Nobody is signed in, or no longer."""

    def __init__(self) -> None:
        super().__init__("You are signed out. What you log stays on this device; sign in to send it.")


class NoLongerMember(SignedOut):
    """Whoever asks was signed in here, and has left the household since."""

    def __init__(self, person_id: str, household: str, owners: str) -> None:
        self.person_id = person_id
        Exception.__init__(
            self,
            f"You are no longer in the household {household}. To come back, ask {owners} for an invitation. "
            "Nothing on this device was taken away; what is not yet with the household can be exported.",
        )


class WrongLogin(Exception):
    """The same for an unknown login and for a wrong password."""

    def __init__(self) -> None:
        super().__init__("This sign-in name and this password do not go together.")


class WrongPassword(Exception):
    """Somebody who is signed in named a password that is not theirs (any more)."""

    def __init__(self) -> None:
        said = "This is not your present password."
        self.where = {"current": [said]}
        super().__init__(said)


class TooManyAttempts(Exception):
    """There were too many failed attempts."""

    def __init__(self, wait_seconds: int) -> None:
        self.wait_seconds = wait_seconds
        super().__init__(f"Too many attempts. Try again in {wait_seconds} s.")


class NotAllowed(Exception):
    """Who asks may not do this."""


class NotFound(Exception):
    """There is no such thing, or it belongs to somebody else."""


class NotUsable(Exception):
    """It was there, but it cannot be used (any more)."""

    def __init__(self, message: str, where: Mapping[str, list[str]] | None = None) -> None:
        self.where = where
        super().__init__(message)
