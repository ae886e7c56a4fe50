"""Bind the socket and serve the page until it is stopped."""

from __future__ import annotations

import logging
import socket
import threading
from typing import Final

import click

from analyzer.errors import OptionError
from dashboard.security import Exposure

THREADS: Final = 8
"""A browser opens six connections at once, each for one part of a page; analysis itself is bound by the processor."""


def serve(host: str, port: int, logbook: str | None) -> None:
    """Serve until interrupted; says on the terminal where to point the browser.

    Raises
    ------
    OptionError
        When the address cannot be bound.
    LogbookError
        When the logbook named cannot be opened: better now than when a flight is to be kept.
    """
    from waitress import create_server

    from dashboard.app import create_app
    from dashboard.workbench import Workbench

    workbench = Workbench(logbook)
    if logbook is not None:
        with workbench.logbook():
            pass
    listener = _bind(host, port)
    exposure = Exposure.of(host, listener.getsockname()[1])
    app = create_app(exposure, workbench)
    server = create_server(
        app.server,
        sockets=[listener],
        threads=THREADS,
        max_request_body_size=app.server.config["MAX_CONTENT_LENGTH"],
        ident="climbledger",
    )
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a page asks for many parts at once, which is no news
    click.echo(f"climbledger is at {exposure.url}  (Ctrl+C stops it)", err=True)
    if exposure.token is not None:
        click.echo(
            "Others on this network can reach it: the address holds a token; give it only to people you trust.",
            err=True,
        )
    threading.Thread(target=workbench.read_samples, daemon=True).start()  # ready before the browser asks for them
    server.run()


def _bind(host: str, port: int) -> socket.socket:
    if not host:  # to a socket, every address of the machine
        raise OptionError("names no address", source="--host", remedy="give 127.0.0.1 for this machine alone")
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    try:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((host, port))
    except OSError as error:
        listener.close()
        raise OptionError(
            f"cannot listen on {host} port {port} ({error.strerror or error})",
            source="--host/--port",
            remedy="choose another port, such as --port 8051, or --port 0 for any free one",
        ) from error
    return listener
