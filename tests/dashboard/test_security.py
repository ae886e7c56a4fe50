"""No foreign page, name or visitor gets an answer; every answer forbids the page to leave the machine."""

from __future__ import annotations

import pytest
from flask import Flask
from flask.testing import FlaskClient

from dashboard.security import Exposure, guard, is_loopback


def client_of(exposure: Exposure) -> FlaskClient:
    server = Flask("guarded")
    guard(server, exposure)
    server.add_url_rule("/", view_func=lambda: "page", methods=["GET", "POST"])
    return server.test_client()


@pytest.fixture
def local() -> FlaskClient:
    return client_of(Exposure("127.0.0.1", 8050))


@pytest.fixture
def open_to_network() -> FlaskClient:
    return client_of(Exposure("0.0.0.0", 8050, token="secret-token"))


@pytest.mark.parametrize("host", ["127.0.0.1:8050", "localhost:8050", "[::1]:8050"])
def test_own_addresses_are_answered(local: FlaskClient, host: str) -> None:
    assert local.get("/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example:8050", "192.168.1.20:8050", "localhost.evil.example"]
)
def test_a_foreign_host_header_is_refused(local: FlaskClient, host: str) -> None:
    assert local.get("/", headers={"Host": host}).status_code == 403


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://localhost:9999"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_a_post_from_another_page_is_refused(local: FlaskClient, headers: dict[str, str]) -> None:
    assert local.post("/", headers={"Host": "localhost:8050", **headers}).status_code == 403


def test_a_post_from_the_own_page_passes(local: FlaskClient) -> None:
    headers = {"Host": "localhost:8050", "Origin": "http://localhost:8050", "Sec-Fetch-Site": "same-origin"}
    assert local.post("/", headers=headers).status_code == 200


def test_beyond_loopback_the_token_is_demanded_and_moves_to_a_cookie(open_to_network: FlaskClient) -> None:
    host = {"Host": "192.168.1.20:8050"}
    assert open_to_network.get("/", headers=host).status_code == 401
    assert open_to_network.get("/?token=wrong", headers=host).status_code == 401
    first = open_to_network.get("/?token=secret-token", headers=host)
    assert first.status_code == 302
    assert "token" not in first.headers["Location"]
    cookie = first.headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie


def test_the_token_cookie_opens_the_page() -> None:
    client = client_of(Exposure("localhost", 8050, token="secret-token"))
    client.get("/?token=secret-token")
    assert client.get("/").status_code == 200


def test_responses_forbid_requests_to_other_hosts(local: FlaskClient) -> None:
    policy = local.get("/", headers={"Host": "localhost"}).headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "connect-src 'self'" in policy
    assert "http" not in policy


@pytest.mark.parametrize(
    ("host", "loopback"),
    [("127.0.0.1", True), ("::1", True), ("localhost", True), ("0.0.0.0", False), ("10.0.0.4", False)],
)
def test_only_loopback_goes_without_a_token(host: str, loopback: bool) -> None:
    assert is_loopback(host) is loopback
    assert (Exposure.of(host, 1).token is None) is loopback
