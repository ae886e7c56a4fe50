"""Take the README's pictures of the dashboard anew, from the invented flights, into sample_logs/pictures.

    python tests/house/take_pictures.py

Wants Chromium; look at the pictures before they are committed.
"""

from __future__ import annotations

import shutil
import tempfile
import threading
from pathlib import Path

from playwright.sync_api import Page, sync_playwright
from waitress import create_server

from dashboard.app import create_app
from dashboard.workbench import Workbench

FOLDER = Path(__file__).resolve().parents[2] / "sample_logs" / "pictures"
DESK = {"viewport": {"width": 1280, "height": 900}}
PHONE = {"viewport": {"width": 390, "height": 844}, "device_scale_factor": 1.5, "is_mobile": True, "has_touch": True}
PAGES = {
    "flight": ("/", "#beside-others:has-text('per Ah')"),
    "compare": ("/compare", "table.ledger:has-text('15x10')"),
    "candidates": ("/next", "table.ledger:has-text('risk')"),
}
SETTLED_MS = 2000


def picture(page: Page, name: str, drawn: str) -> None:
    page.wait_for_selector(drawn, timeout=60_000)
    page.wait_for_timeout(SETTLED_MS)
    page.screenshot(path=FOLDER / f"{name}.png")


def take(address: str) -> None:
    with sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        page = chromium.new_context(**DESK).new_page()
        page.goto(address)
        page.wait_for_selector(".sample-flag")
        for name, (path, drawn) in PAGES.items():
            page.locator(f"nav a[href='{path}']").click()
            picture(page, name, drawn)
        phone = chromium.new_context(**PHONE).new_page()
        phone.goto(address)
        picture(phone, "phone", PAGES["flight"][1])
        chromium.close()


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        app = create_app(workbench=Workbench(logbook=str(Path(folder) / "flights.sqlite")))
        server = create_server(app.server, host="127.0.0.1", port=0, threads=8)
        threading.Thread(target=server.run, daemon=True).start()
        take(f"http://127.0.0.1:{server.effective_port}")
        server.close()


if __name__ == "__main__":
    main()
