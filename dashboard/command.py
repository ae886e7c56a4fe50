"""`climbledger dashboard`: start the local page."""

from __future__ import annotations

import click


@click.command(
    "dashboard",
    short_help="Open the local page: from CSV to decision on one screen.",
    epilog="Example: climbledger dashboard --port 8050",
)
@click.option(
    "--host", default="127.0.0.1", show_default=True, help="Address to listen on; beyond loopback a token is asked for."
)
@click.option(
    "--port", default=8050, show_default=True, type=click.IntRange(0, 65535), help="TCP port; 0 takes any free one."
)
@click.option("--logbook", metavar="DB", help="Logbook file or database URL; default: your own logbook.")
def command(host: str, port: int, logbook: str | None) -> None:
    """Open a local page for logs, limits, climbs, propellers and the logbook.

    Nothing leaves this machine. Stop it with Ctrl+C.
    """
    from dashboard.server import serve

    serve(host, port, logbook)
