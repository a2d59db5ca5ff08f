"""Who may call what: every view declares its role, and a view without a declaration is never reached."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import ParamSpec, TypeVar

from flask import Flask, current_app, g, request

from server.access.people import ROLES, Who
from server.services import signing_in
from server.services.workshop import Workshop

from .problems import Problem

P = ParamSpec("P")
R = TypeVar("R")

ANYBODY = "anybody"
DECLARED = "declared_role"
PAGE_HEADER = "Tinwright-Page"
PLAIN_COOKIE, SECURE_COOKIE = "tinwright_session", "__Host-tinwright_session"
CHANGING = frozenset({"POST", "PUT", "PATCH", "DELETE"})
THIS_COMPUTER = frozenset({"localhost", "127.0.0.1", "[::1]"})


def workshop() -> Workshop:
    """The workshop this application serves."""
    held: Workshop = current_app.extensions["workshop"]
    return held


def is_secure() -> bool:
    """Whether the request travels encrypted, by its own word or by the setting for a server behind a TLS proxy."""
    return request.is_secure or workshop().settings.secure_cookie


def cookie_name() -> str:
    """The session cookie's name: bound to its host wherever it travels encrypted."""
    return SECURE_COOKIE if is_secure() else PLAIN_COOKIE


def session_cookie(token: str, seconds: int) -> str:
    """The header that sets the session cookie, closed to scripts and to other sites.

    Raises: Problem for a sign-in that would travel in the clear over a network.
    """
    if not is_secure() and request.host.rsplit(":", 1)[0] not in THIS_COMPUTER and request.host not in THIS_COMPUTER:
        raise Problem(403, "needs-https", "Signing in needs https, except on this computer itself.")
    secure = "; Secure" if is_secure() else ""
    return f"{cookie_name()}={token}; Path=/; Max-Age={seconds}; HttpOnly; SameSite=Strict{secure}"


def undeclared(app: Flask) -> list[str]:
    """The endpoints whose views say no role."""
    return [name for name, view in app.view_functions.items() if not hasattr(view, DECLARED)]


def asker() -> Who:
    """Who is asking, in a view that a role guards."""
    who: Who = g.who
    return who


def role(least: str) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Declares the least role of a view, or that anybody may call it."""

    def guard(view: Callable[P, R]) -> Callable[P, R]:
        @wraps(view)
        def guarded(*args: P.args, **kwargs: P.kwargs) -> R:
            if least != ANYBODY:
                g.who = _known(least)
            return view(*args, **kwargs)

        setattr(guarded, DECLARED, least)
        return guarded

    if least != ANYBODY and least not in ROLES:
        raise ValueError(least)
    return guard


def _known(least: str) -> Who:
    token = request.cookies.get(cookie_name(), "")
    who = signing_in.known(workshop(), token) if token else None
    if who is None:
        raise Problem(401, "not-signed-in", "Please sign in.")
    if not who.may(least):
        raise Problem(403, "not-allowed", f"This is for the role {least}; you are signed in as {who.role}.")
    return who


def refuse_foreign_changes() -> None:
    """Refuses a change that another site could have sent: no own header, or sent across sites."""
    if request.method not in CHANGING:
        return
    if request.headers.get(PAGE_HEADER) != "1":
        raise Problem(403, "foreign-request", f"A change needs the header {PAGE_HEADER}: 1.")
    site, origin = request.headers.get("Sec-Fetch-Site"), request.headers.get("Origin")
    if site not in (None, "same-origin", "none") or (
        site is None and origin not in (None, request.host_url.rstrip("/"))
    ):
        raise Problem(403, "foreign-request", "A change comes from this page itself.")
