"""How fast the dashboard is in a real browser, and whether its memory stays flat.

Run by hand, on a quiet machine::

    python tests/benchmarks/dashboard_speed.py [--uploads 50]

Prints: from the end of choosing a file to the curve drawn, for a log of 1 h at 10 Hz with 12 channels; zoom and pan
redraw of a log of 1,000,000 samples; and the server's resident memory over many uploads.
"""

from __future__ import annotations

import argparse
import os
import shutil
import statistics
import sys
import tempfile
import threading
import time
from pathlib import Path

import numpy as np
import pandas as pd
from playwright.sync_api import Page, sync_playwright
from waitress import create_server

from analyzer.analysis import analyze_bytes
from dashboard.app import create_app
from dashboard.session import OpenFlight
from dashboard.workbench import Workbench

BROWSER_FLAGS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]
DRAWN = "#flight-graph .scatterlayer path"
ZOOMS_S = [(0.1, 0.9), (0.3, 0.6), (0.42, 0.47), (0.44, 0.49), (0.0, 1.0)]


def invented_log(seconds: float, rate_hz: float, seed: int) -> bytes:
    """A saw-tooth of climbs and glides with twelve channels; only its size matters here."""
    random = np.random.default_rng(seed)
    time_s = np.arange(0.0, seconds, 1.0 / rate_hz)
    phase = time_s % 400.0
    motor = (phase > 20.0) & (phase < 50.0)
    height = np.where(
        motor, 8.0 * (phase - 20.0), np.where(phase < 20.0, 0.0, np.maximum(0.0, 240.0 - 0.7 * (phase - 50)))
    )
    noise = {name: random.normal(0.0, scale, time_s.size) for name, scale in (("h", 0.2), ("i", 0.3), ("v", 0.02))}
    current = np.where(motor, 30.0, 0.2) + noise["i"]
    frame = pd.DataFrame(
        {
            "Time (s)": time_s,
            "Altitude (m)": height + noise["h"],
            "Pack voltage (V)": 12.4 - 0.03 * current + noise["v"],
            "Current (A)": current,
            "Motor rpm": np.where(motor, 30_000.0, 0.0),
            "Throttle (%)": np.where(motor, 100.0, 0.0),
            "Controller temperature (C)": 40.0 + 5.0 * np.sin(time_s / 200.0),
            "Receiver voltage (V)": 5.4 + noise["v"],
            "Airspeed (m/s)": 9.0 + noise["h"],
            "Pressure (hPa)": 1013.25 * (1.0 - 2.2558e-5 * height) ** 5.256,
            "Heading (deg)": (10.0 * time_s) % 360.0,
            "Latitude (deg)": 45.0 + 1e-5 * np.sin(time_s / 60.0),
        }
    )
    return frame.round(4).to_csv(index=False).encode()


def resident_mb() -> float:
    """Memory of this process, which is the server's."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def upload_seconds(page: Page, path: Path) -> float:
    """Time from choosing the file to its curve on screen."""
    start = time.perf_counter()
    page.set_input_files("#drop input[type=file]", str(path))
    page.wait_for_selector(f"h1:has-text('{path.name}')", timeout=60_000)
    page.wait_for_selector(DRAWN)
    return time.perf_counter() - start


def zoom_seconds(page: Page) -> list[float]:
    """Time of each zoom, from asking for a range to the finer curve drawn."""
    script = """([low, high]) => new Promise(resolve => {
        const plot = document.querySelector('#flight-graph .js-plotly-plot');
        const range = plot._fullLayout.xaxis.range;
        const all = plot._zoomAll || (plot._zoomAll = range.map(value => +new Date(value + 'Z')));
        const date = share => new Date(all[0] + share * (all[1] - all[0])).toISOString();
        const place = share => date(share).replace('T', ' ').slice(0, 23);
        const start = performance.now();
        let changes = 0;
        plot.on('plotly_afterplot', () => { changes += 1; if (changes === 2) resolve(performance.now() - start); });
        window.Plotly.relayout(plot, {'xaxis.range': [place(low), place(high)]});
    })"""
    return [page.evaluate(script, list(share)) / 1000.0 for share in ZOOMS_S]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--uploads", type=int, default=50)
    uploads = parser.parse_args().uploads
    bench = Workbench(logbook=str(Path(tempfile.mkdtemp()) / "book.sqlite"))
    app = create_app(workbench=bench)
    server = create_server(app.server, host="127.0.0.1", port=0, threads=8)
    threading.Thread(target=server.run, daemon=True).start()
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=BROWSER_FLAGS)
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.goto(f"http://127.0.0.1:{server.effective_port}")
        page.wait_for_selector(DRAWN, timeout=60_000)
        report_uploads(page, Path(folder), uploads)
        report_zoom(page, bench)
        browser.close()
    server.close()


def report_uploads(page: Page, folder: Path, uploads: int) -> None:
    """An hour at 10 Hz, again and again; each file is another one."""
    seconds, memory = [], []
    for number in range(uploads):
        path = folder / f"hour {number}.csv"
        path.write_bytes(invented_log(3600.0, 10.0, number))
        seconds.append(upload_seconds(page, path))
        path.unlink()
        memory.append(resident_mb())
    kept = min(30, uploads - 1)
    print(
        f"1 h, 10 Hz, 12 channels, drawn after: median {statistics.median(seconds):.2f} s, worst {max(seconds):.2f} s"
    )
    marks = ", ".join(f"{memory[at]:.0f} after {at + 1}" for at in (0, kept, uploads - 1))
    print(f"server memory (MB), by uploads: {marks}")


def report_zoom(page: Page, bench: Workbench) -> None:
    """A million samples, put on the tab's shelf directly: they would be too large to upload."""
    tab = page.evaluate("JSON.parse(sessionStorage.getItem('tab-key'))")
    analysis = analyze_bytes(invented_log(100_000.0, 10.0, 7), "million.csv")
    for flight in bench.shelf.of_tab(tab)[-1:]:
        bench.shelf.put(OpenFlight(flight.key, tab, "million.csv", analysis))
    page.locator("#units-switch").click()  # draws everything anew
    page.get_by_role("option", name="feet").click()
    page.wait_for_selector("h1:has-text('million.csv')", timeout=60_000)
    page.wait_for_selector(DRAWN)
    page.wait_for_timeout(2000)
    seconds = zoom_seconds(page)
    shown = ", ".join(f"{one * 1000:.0f}" for one in seconds)
    print(
        f"1,000,000 samples, zoom and pan redrawn after (ms): {shown}; median {statistics.median(seconds) * 1000:.0f}"
    )


if __name__ == "__main__":
    sys.exit(main())
