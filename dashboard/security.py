"""Who may talk to the dashboard: loopback by default, no foreign pages, a token beyond loopback.

A page of another site can make a browser send requests to 127.0.0.1. Three checks stop it: the Host header
must name this server (against DNS rebinding), a request that changes anything must come from this server's
own pages (Origin and Sec-Fetch-Site), and beyond loopback every request must carry the token. The response
headers forbid the page to load from, or send to, any other host.
Source of the checks: OWASP Cross-Site Request Forgery Prevention Cheat Sheet (origin verification).
"""

from __future__ import annotations

import hmac
import ipaddress
import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final
from urllib.parse import urlsplit

from flask import Response, abort, redirect, request

if TYPE_CHECKING:
    from flask import Flask
    from werkzeug.wrappers import Response as BaseResponse

TOKEN_COOKIE: Final = "climbledger_token"
LOOPBACK_NAMES: Final = frozenset({"localhost", "127.0.0.1", "::1"})
MAX_UPLOAD_BYTES: Final = 48_000_000
"""Largest log accepted: some 15 hours at 10 Hz with 12 channels. The browser sends it as base64, a third larger."""
MAX_REQUEST_BYTES: Final = 2 * MAX_UPLOAD_BYTES
MAX_TOGETHER_BYTES: Final = MAX_REQUEST_BYTES * 7 // 10
"""Logs dropped together: what of a request is left without base64's third, and some room for the rest of it."""

CONTENT_POLICY: Final = "; ".join(
    (
        "default-src 'self'",
        "script-src 'self' 'unsafe-inline'",  # the page framework starts itself with inline scripts
        "style-src 'self' 'unsafe-inline'",
        "img-src 'self' data: blob:",
        "font-src 'self' data:",
        "connect-src 'self'",
        "frame-ancestors 'none'",
        "form-action 'self'",
        "base-uri 'none'",
        "object-src 'none'",
    )
)


@dataclass(frozen=True, slots=True)
class Exposure:
    """Where the server listens, and the token asked for when that is more than this machine.

    Attributes
    ----------
    host : str
        Address to bind to.
    port : int
        TCP port.
    token : str or None
        None on loopback, where only this machine's users can connect.
    """

    host: str = "127.0.0.1"
    port: int = 8050
    token: str | None = None

    @classmethod
    def of(cls, host: str, port: int) -> Exposure:
        """Choose a fresh token when the host is not loopback."""
        return cls(host, port, None if is_loopback(host) else secrets.token_urlsafe(16))

    @property
    def url(self) -> str:
        """Address to open, token included."""
        name = f"[{self.host}]" if ":" in self.host else self.host
        return f"http://{name}:{self.port}/" + (f"?token={self.token}" if self.token else "")


def is_loopback(host: str) -> bool:
    """Whether an address or name is this machine's loopback."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host in LOOPBACK_NAMES


def host_is_ours(host_header: str, exposure: Exposure) -> bool:
    """Whether a Host header names this server.

    A browser that was led here by a foreign name sends that name. On loopback only loopback names pass. Beyond it
    the own name and bare addresses pass: a bare address cannot be rebound.
    """
    name = (urlsplit(f"//{host_header}").hostname or "").lower()
    if name in LOOPBACK_NAMES or name == exposure.host.lower():
        return True
    return exposure.token is not None and _is_address(name)


def origin_is_ours(origin: str | None, fetch_site: str | None, host_header: str) -> bool:
    """Whether a changing request comes from this server's own page.

    A program that is no browser sends neither header, and passes.
    """
    if fetch_site is not None and fetch_site not in ("same-origin", "none"):
        return False
    return origin is None or urlsplit(origin).netloc == host_header


def guard(server: Flask, exposure: Exposure) -> None:
    """Put the checks before every request, and the policy headers on every response."""
    server.config["MAX_CONTENT_LENGTH"] = MAX_REQUEST_BYTES

    @server.before_request
    def check() -> BaseResponse | None:
        if not host_is_ours(request.host, exposure):
            abort(403, "this dashboard answers to its own address only")
        if request.method not in ("GET", "HEAD") and not origin_is_ours(
            request.headers.get("Origin"), request.headers.get("Sec-Fetch-Site"), request.host
        ):
            abort(403, "requests from other pages are refused")
        return _check_token(exposure)

    @server.after_request
    def forbid_leaving(response: Response) -> Response:
        response.headers["Content-Security-Policy"] = CONTENT_POLICY
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["Referrer-Policy"] = "no-referrer"
        response.headers["Cross-Origin-Opener-Policy"] = "same-origin"
        return response


def _check_token(exposure: Exposure) -> BaseResponse | None:
    """Let pass who shows the token; move it from the address to a cookie, so that it stays out of the history."""
    if exposure.token is None:
        return None
    if _same(request.cookies.get(TOKEN_COOKIE), exposure.token):
        return None
    if not _same(request.args.get("token"), exposure.token):
        abort(401, "open the address, token included, that the terminal shows")
    response = redirect(request.path)
    response.set_cookie(TOKEN_COOKIE, exposure.token, httponly=True, samesite="Strict")
    return response


def _same(given: str | None, token: str) -> bool:
    return given is not None and hmac.compare_digest(given.encode(), token.encode())


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True
