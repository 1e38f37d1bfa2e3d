"""Who is let in, and what every answer tells the browser not to do."""

from __future__ import annotations

import hmac
import ipaddress
import logging
import os
import secrets
from typing import Any
from urllib.parse import parse_qsl, urlencode

from jupyter_server.auth.identity import PasswordIdentityProvider, User
from jupyter_server.base.handlers import JupyterHandler
from tornado.httputil import HTTPServerRequest
from tornado.web import HTTPError, RequestHandler

from dashboards.server.insides import replace

BALANCERS = frozenset(os.environ.get("WIRECALC_BALANCER", "").split())
# of everything but the pages with widgets, which say their own (pages.py): no script at all
STRICT = (
    "default-src 'none'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": STRICT,
    "Referrer-Policy": "same-origin",  # entries are in the address
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Resource-Policy": "same-origin",
}
_LOG = logging.getLogger("tornado.access")


class Later(HTTPError):
    """Not now: said in words, with when to ask again. [s]"""

    def __init__(self, status: int, words: str, seconds: float) -> None:
        super().__init__(status, words.replace("%", "%%"))
        self.seconds = max(1, round(seconds))


def put_before_every_page() -> None:
    """From now on every request passes here first."""
    replace(JupyterHandler, "prepare", _prepare)
    replace(JupyterHandler, "write_error", _said_when(JupyterHandler.write_error))
    replace(JupyterHandler, "get_template", lambda self, name: self.settings["voila_jinja2_env"].get_template(name))


class Nothing(JupyterHandler):
    """What is asked for where there is nothing."""

    async def prepare(self, **_how: Any) -> None:
        """Say so, to whoever asks."""
        self.current_user = self._jupyter_current_user = None
        raise HTTPError(404)


def is_stranger(request: HTTPServerRequest) -> bool:
    """Whether a page of another site asks for this, unseen: in a picture, a frame, a script, ahead of a visit.

    A visit by a link is none, nor is a program that is no browser. Browsers say so at addresses that they trust, which
    are this machine's own and those with encryption; at others a page of another site lacks the cookie (`SameSite`).
    """
    told = request.headers
    if "prefetch" in told.get("Sec-Purpose", told.get("Purpose", "")):
        return True
    if told.get("Sec-Fetch-Site", "none") in ("none", "same-origin"):
        return False
    visit = (told.get("Sec-Fetch-Mode"), told.get("Sec-Fetch-Dest")) == ("navigate", "document")
    return not (visit and request.method in ("GET", "HEAD"))


def client(request: HTTPServerRequest) -> str:
    """Whose request it is: an address, of IPv6 the network; behind our balancer, the one that it names."""
    address = request.remote_ip or ""
    if address in BALANCERS:
        address = request.headers.get("X-Forwarded-For", address).rpartition(",")[2].strip()
    try:
        ip = ipaddress.ip_address(address)
    except ValueError:
        return address
    return str(ip) if ip.version == 4 else str(ipaddress.ip_network((ip, 64), strict=False))


async def _prepare(self: Any, *, prepared: Any = JupyterHandler.prepare, **how: Any) -> Any:
    request = self.request
    if is_stranger(request):
        self.current_user = self._jupyter_current_user = None
        raise HTTPError(403, "Another site's page asked for this. Open it by its own address.")
    if request.remote_ip in BALANCERS and request.headers.get("X-Forwarded-Proto") == "https":
        request.protocol = "https"  # cookies are then for encrypted connections only
    with_token = "token" in request.query_arguments
    if with_token:  # what it let in is in a cookie from here on: neither log nor history nor login page gets it
        kept = [pair for pair in parse_qsl(request.query, keep_blank_values=True) if pair[0] != "token"]
        request.query = urlencode(kept)
        request.uri = request.path + (f"?{request.query}" if kept else "")
    result = await prepared(self, **how)
    if with_token and self.current_user and request.method == "GET" and "Upgrade" not in request.headers:
        self.redirect(request.uri)
    return result


def _said_when(write_error: Any) -> Any:
    def write(self: Any, status_code: int, **told: Any) -> None:
        why = told.get("exc_info", (None, None))[1]
        if not isinstance(why, Later):
            write_error(self, status_code, **told)
            return
        nonce = secrets.token_urlsafe(16)
        self.set_header("Retry-After", str(why.seconds))
        self.set_header("Content-Security-Policy", f"{STRICT}; script-src 'nonce-{nonce}'")
        write_error(self, status_code, **told)
        # a reload, which keeps what stands behind the #: the header Refresh would take that for a place in the page
        self.write(f"<script nonce={nonce}>setTimeout(() => location.reload(), {1000 * why.seconds})</script>")

    return write


class Visitors(PasswordIdentityProvider):
    """Those who have the token. A wrong one is logged, never what it was."""

    async def get_user_token(self, handler: RequestHandler) -> User | None:
        """One with the token in the address or in a header; None for others."""
        given = self.get_token(handler)
        if not self.token or not given:
            return None
        if not self._fits(given, handler):
            return None
        user = self.get_user_cookie(handler)
        return user if isinstance(user, User) else self.generate_anonymous_user(handler)

    def process_login_form(self, handler: RequestHandler) -> User | None:
        """One who typed the token. Nothing else can be set there."""
        if not self.token or self._fits(handler.get_argument("password", ""), handler):
            return self.generate_anonymous_user(handler)
        return None

    def _fits(self, given: str, handler: RequestHandler) -> bool:
        if hmac.compare_digest(given.encode(), self.token.encode()):
            return True
        self.log.warning("Login refused: a wrong token from %s", client(handler.request))
        return False


def log_request(handler: RequestHandler) -> None:
    """A line for each answer that is a fault: without the query, where entries and tokens are."""
    status = handler.get_status()
    if status >= 400:
        request, level = handler.request, logging.WARNING if status < 500 else logging.ERROR
        _LOG.log(level, "%d %s %s (%s)", status, request.method, request.path, client(request))
