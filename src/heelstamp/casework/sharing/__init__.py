"""Who may do what when the shop's network is let in: accounts, sessions, pairing, throttling."""

from heelstamp.casework.sharing.accounts import (
    Account,
    Passwords,
    Role,
    check_name,
    check_password,
    role_named,
)
from heelstamp.casework.sharing.keeping import AccountStore
from heelstamp.casework.sharing.pairing import Offer, Pairings
from heelstamp.casework.sharing.rights import Hand, NotPermittedError
from heelstamp.casework.sharing.second_factor import SecondFactor
from heelstamp.casework.sharing.sessions import Session, new_session, refreshed, stands
from heelstamp.casework.sharing.throttle import Throttle
from heelstamp.casework.sharing.tokens import Token, acting, new_token

__all__ = [
    "Account",
    "AccountStore",
    "Hand",
    "NotPermittedError",
    "Offer",
    "Pairings",
    "Passwords",
    "Role",
    "SecondFactor",
    "Session",
    "Throttle",
    "Token",
    "acting",
    "check_name",
    "check_password",
    "new_session",
    "new_token",
    "refreshed",
    "role_named",
    "stands",
]
