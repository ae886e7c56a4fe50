"""How the dashboard bears many pilots at once and a long day: browsers that upload together, and a soak of uploads.

Run by hand, on a quiet machine with Chromium::

    python tests/benchmarks/dashboard_load.py [--browsers 8] [--each 5] [--processes] [--soak 500] [--minutes 20]

It starts `climbledger dashboard` as a pilot does, in a process of its own. First so many browsers (contexts of one
Chromium, or with --processes a Chromium each) upload logs at the same moment, each its own, one after another, and
read name and greatest height from the page: a height that is not that log's own is an error. Then the soak: three
tabs at once send uploads over HTTP as the page does, and every tenth upload goes through a browser. Printed: uploads
a second, the time from the upload to the flight shown (median, 95th percentile), errors, and the server's resident
memory, threads and files left open or in the temporary folder. Exit status 1 when anything was lost or mixed up.
"""

from __future__ import annotations

import argparse
import asyncio
import base64
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from playwright.async_api import Browser, Page, Playwright, async_playwright

BROWSER_FLAGS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]
PATIENCE_S = 60
HANDS = 3
"""Tabs of the soak that send at once."""
BATCH = 10
"""Uploads of the soak between two looks at the server; one of them goes through the browser."""
HEIGHTS_M = 300
"""So many heights tell the logs apart."""
RATE_HZ = 5.0


def log_of(number: int, minutes: float) -> bytes:
    """A log whose greatest height tells its number: one climb to it, and the glide down."""
    time_s = np.arange(0.0, 60.0 * minutes, 1.0 / RATE_HZ)
    top_m, climb_s = height_of(number), 30.0
    sink_m_s = top_m / (60.0 * minutes - 90.0)
    gliding_m = np.maximum(0.0, top_m - sink_m_s * (time_s - 30.0 - climb_s))
    height_m = np.where(time_s < 30.0, 0.0, np.minimum(top_m * (time_s - 30.0) / climb_s, gliding_m))
    motor = (time_s >= 30.0) & (time_s < 30.0 + climb_s)
    random = np.random.default_rng(number)
    current_a = np.where(motor, 28.0, 0.3) + random.normal(0.0, 0.05, time_s.size)
    columns = {
        "Time (s)": time_s,
        "Altitude (m)": height_m + random.normal(0.0, 0.1, time_s.size),
        "Pack voltage (V)": 12.4 - 0.03 * current_a,
        "Current (A)": current_a,
        "Motor rpm": np.where(motor, 30_000.0, 0.0),
    }
    return pd.DataFrame(columns).round(3).to_csv(index=False).encode()


def height_of(number: int) -> float:
    """Greatest height of a log, in metres."""
    return 100.0 + number % HEIGHTS_M


@dataclass
class Tally:
    """What became of the uploads of one part of the study."""

    seconds: list[float] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    def add(self, name: str, number: int, seconds: float, shown: str) -> None:
        """Note an upload, and hold the page's words against the log."""
        self.seconds.append(seconds)
        found = re.search(r"highest\D*(\d+) m", shown)
        if found is None or abs(float(found[1]) - height_of(number)) > 3.0:
            self.errors.append(f"{name} shows {found and found[0]}, not {height_of(number):.0f} m")

    def report(self, title: str, took_s: float) -> None:
        """One line: how many, how quick, what failed."""
        median, late = np.percentile(self.seconds or [np.nan], [50, 95])
        print(
            f"{title}: {len(self.seconds)} uploads in {took_s:.0f} s ({len(self.seconds) / took_s:.2f} a second), "
            f"shown after: median {median:.2f} s, 95th percentile {late:.2f} s; errors: {len(self.errors)}"
        )
        print(*self.errors[:10], sep="\n", end="\n" if self.errors else "")


@dataclass(frozen=True)
class Server:
    """The running dashboard, and what it holds of the machine."""

    url: str
    pid: int
    temporary: Path

    def resident_mb(self) -> float:
        """Resident memory."""
        pages = int(Path(f"/proc/{self.pid}/statm").read_text().split()[1])
        return pages * os.sysconf("SC_PAGE_SIZE") / 1e6

    def threads(self) -> int:
        """Threads that run."""
        return len(list(Path(f"/proc/{self.pid}/task").iterdir()))

    def files_left(self) -> int:
        """Files in the temporary folder, and deleted ones that are still open."""
        places = [str(link.readlink()) for link in Path(f"/proc/{self.pid}/fd").iterdir()]
        return sum("(deleted)" in place for place in places) + len(list(self.temporary.iterdir()))


@contextmanager
def served(folder: Path) -> Iterator[Server]:
    """Run `climbledger dashboard` on a free port, with a logbook and a temporary folder of its own."""
    temporary, terminal = folder / "temporary", folder / "terminal"
    temporary.mkdir()
    words = [str(Path(sys.executable).with_name("climbledger")), "dashboard", "--port", "0"]
    words += ["--logbook", str(folder / "book.sqlite")]
    # A file, not a pipe: a pipe that nobody reads would stop the server when it is full.
    with (
        terminal.open("w") as said,
        subprocess.Popen(words, stderr=said, env={**os.environ, "TMPDIR": str(temporary)}) as run,
    ):
        yield Server(_address(terminal), run.pid, temporary)
        run.terminate()
    _, _, more = terminal.read_text().partition("\n")
    print(
        f"the server said on its terminal:\n{more[-3000:]}" if more else "the server said nothing more on its terminal"
    )


def _address(terminal: Path) -> str:
    """Where the server says that it listens, once it does."""
    for _ in range(10 * PATIENCE_S):
        found = re.search(r"http://\S+/", terminal.read_text())
        if found:
            return found[0]
        time.sleep(0.1)
    raise TimeoutError("the dashboard did not start")


class PlainTab:
    """A tab without a browser: it sends the requests that the page would send."""

    def __init__(self, url: str) -> None:
        self._url = url
        with urllib.request.urlopen(f"{url}_dash-dependencies", timeout=PATIENCE_S) as answer:
            self._callbacks = [entry for entry in json.load(answer) if not entry["clientside_function"]]
        with urllib.request.urlopen(f"{url}_dash-layout", timeout=PATIENCE_S) as answer:
            store = re.search(r'\{[^{}]*"tab-key"[^{}]*\}', answer.read().decode())
        self._values: dict[str, Any] = {"revision": 0, "tab-key": json.loads(store[0])["data"] if store else None}

    def upload(self, name: str, data: bytes) -> str:
        """Send a log and ask for its flight; gives the page's content as JSON."""
        contents = "data:text/csv;base64," + base64.b64encode(data).decode()
        self._values["dropped"] = {"names": [name], "contents": [contents]}
        answer = self._ask("dropped")
        if answer["message"]["children"]:
            return json.dumps(answer["message"])
        self._values["current-flight"] = answer["current-flight"]["data"]
        return json.dumps(self._ask("flight-details")["flight-details"])

    def _ask(self, wanted: str) -> dict[str, Any]:
        """Make the request whose answer holds an element."""
        callback = next(entry for entry in self._callbacks if f"{wanted}." in entry["output"])
        outputs = [output.rpartition(".") for output in callback["output"].strip(".").split("...")]
        body = {
            "output": callback["output"],
            "outputs": [{"id": name, "property": prop} for name, _, prop in outputs],
            "changedPropIds": [".".join(callback["inputs"][0].values())],
            "inputs": [{**entry, "value": self._values.get(entry["id"])} for entry in callback["inputs"]],
            "state": [{**entry, "value": self._values.get(entry["id"])} for entry in callback["state"]],
        }
        request = urllib.request.Request(
            f"{self._url}_dash-update-component", json.dumps(body).encode(), {"Content-Type": "application/json"}
        )
        with urllib.request.urlopen(request, timeout=PATIENCE_S) as answer:
            return dict(json.load(answer)["response"])


async def opened(browser: Browser, url: str) -> Page:
    """A page in a context of its own, with the invented flights drawn."""
    page = await (await browser.new_context()).new_page()
    page.set_default_timeout(1000 * PATIENCE_S)
    await page.goto(url)
    await page.wait_for_selector("#flight-graph .scatterlayer path")
    return page


async def upload(page: Page, number: int, minutes: float, tally: Tally) -> None:
    """Drop a log on a page and read what it then shows."""
    name, data = f"log {number}.csv", log_of(number, minutes)
    start = time.perf_counter()
    try:
        files = [{"name": name, "mimeType": "text/csv", "buffer": data}]
        await page.set_input_files("#drop input[type=file]", files)  # type: ignore[arg-type]
        await page.wait_for_selector(f"h1:has-text('{name}')")
        seconds = time.perf_counter() - start
        tally.add(name, number, seconds, await page.locator("#flight-details").inner_text())
    except Exception as error:  # noqa: BLE001 - whatever goes wrong is what is counted
        tally.errors.append(f"{name}: {error}")


async def send(tab: PlainTab, numbers: Sequence[int], minutes: float, tally: Tally) -> None:
    """Send logs one after another from a tab without a browser."""
    for number in numbers:
        name, data = f"log {number}.csv", log_of(number, minutes)
        start = time.perf_counter()
        try:
            shown = await asyncio.to_thread(tab.upload, name, data)
            tally.add(name, number, time.perf_counter() - start, shown)
        except Exception as error:  # noqa: BLE001 - whatever goes wrong is what is counted
            tally.errors.append(f"{name}: {error}")


async def together(driver: Playwright, server: Server, options: argparse.Namespace) -> Tally:
    """Upload from many browsers at once."""
    launch = {"executable_path": shutil.which("chromium"), "args": BROWSER_FLAGS}
    count = options.browsers if options.processes else 1
    running = [await driver.chromium.launch(**launch) for _ in range(count)]
    start = time.perf_counter()
    pages = await asyncio.gather(*[opened(running[n % count], server.url) for n in range(options.browsers)])
    print(f"{len(pages)} browsers opened the page in {time.perf_counter() - start:.1f} s")
    tally = Tally()

    async def work(page: Page, first: int) -> None:
        for number in range(first, first + options.each):
            await upload(page, number, options.minutes, tally)

    start = time.perf_counter()
    await asyncio.gather(*[work(page, number * options.each) for number, page in enumerate(pages)])
    tally.report(f"{len(pages)} browsers at once", time.perf_counter() - start)
    for browser in running:
        await browser.close()
    return tally


async def soak(driver: Playwright, server: Server, options: argparse.Namespace) -> Tally:
    """Upload all day, and look at the server in between."""
    browser = await driver.chromium.launch(executable_path=shutil.which("chromium"), args=BROWSER_FLAGS)
    page = await opened(browser, server.url)
    tabs = [await asyncio.to_thread(PlainTab, server.url) for _ in range(HANDS)]
    plain, drawn, memory_mb, threads = Tally(), Tally(), [server.resident_mb()], set()
    start = time.perf_counter()
    for first in range(0, options.soak, BATCH):
        numbers = range(first + 1, first + BATCH)
        hands = [send(tab, numbers[hand::HANDS], options.minutes, plain) for hand, tab in enumerate(tabs)]
        await asyncio.gather(upload(page, first, options.minutes, drawn), *hands)
        memory_mb.append(server.resident_mb())
        threads.add(server.threads())
    took_s = time.perf_counter() - start
    plain.report("soak, over HTTP", took_s)
    drawn.report("soak, in a browser", took_s)
    await browser.close()
    report_memory(memory_mb)
    print(f"threads: {min(threads)} to {max(threads)}; temporary files left: {server.files_left()}")
    return Tally(errors=plain.errors + drawn.errors)


def report_memory(memory_mb: Sequence[float]) -> None:
    """Memory over the soak, and how much it still grew in its last third."""
    marks = np.linspace(0, len(memory_mb) - 1, min(11, len(memory_mb))).round().astype(int)
    course = ", ".join(f"{memory_mb[mark]:.0f} after {mark * BATCH}" for mark in marks)
    last = np.asarray(memory_mb[-max(2, len(memory_mb) // 3) :])
    slope = np.polyfit(np.arange(last.size), last, 1)[0] * 100 / BATCH
    print(f"server memory (MB), by uploads: {course}; last third: {slope:+.1f} MB for 100 uploads")


async def study(options: argparse.Namespace) -> int:
    """Both parts against one server; 1 when an upload was lost or mixed up."""
    with tempfile.TemporaryDirectory() as folder, served(Path(folder)) as server:
        async with async_playwright() as driver:
            tallies = [await together(driver, server, options)]
            if options.soak:
                tallies.append(await soak(driver, server, options))
    return int(any(tally.errors for tally in tallies))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--browsers", type=int, default=8)
    parser.add_argument("--each", type=int, default=5, help="uploads of each browser")
    parser.add_argument("--processes", action="store_true", help="a Chromium process for each browser")
    parser.add_argument("--soak", type=int, default=500, help="uploads of the soak; 0 leaves it out")
    parser.add_argument("--minutes", type=float, default=20.0, help="length of each log")
    return asyncio.run(study(parser.parse_args()))


if __name__ == "__main__":
    sys.exit(main())
