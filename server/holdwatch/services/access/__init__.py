"""Who may come in: setting up, signing in, inviting, joining, and the phones that are signed in."""

from .errors import NotAllowed, NotFound, NotUsable, SignedOut, TooManyAttempts, WrongLogin
from .invitations import (
    INVITED_ROLES,
    Invited,
    invitation_for,
    invite,
    join,
    open_invitations,
    withdraw_invitation,
)
from .passwords import hash_password
from .people import household_name, myself, remove_person, tell_people
from .sessions import (
    SESSION_DAYS,
    Opened,
    Phone,
    Who,
    close_session,
    devices,
    note_seen,
    require_owner,
    revoke_device,
    seen_long_ago,
    still_here,
    whoever,
)
from .setup import Founding, check_setup_code, found_household, has_owner, new_setup_code
from .signing_in import Knock, check_password, knock, sign_in

__all__ = [
    "INVITED_ROLES",
    "SESSION_DAYS",
    "Founding",
    "Invited",
    "Knock",
    "NotAllowed",
    "NotFound",
    "NotUsable",
    "Opened",
    "Phone",
    "SignedOut",
    "TooManyAttempts",
    "Who",
    "WrongLogin",
    "check_password",
    "check_setup_code",
    "close_session",
    "devices",
    "found_household",
    "has_owner",
    "hash_password",
    "household_name",
    "invitation_for",
    "invite",
    "join",
    "knock",
    "myself",
    "new_setup_code",
    "note_seen",
    "open_invitations",
    "remove_person",
    "require_owner",
    "revoke_device",
    "seen_long_ago",
    "sign_in",
    "still_here",
    "tell_people",
    "whoever",
    "withdraw_invitation",
]
