"""The flight page in a real browser: drop, read, select, correct, and nothing leaves the machine."""

from __future__ import annotations

from pathlib import Path

import pytest
import simulator
from accessibility import AT_REST, CONTRAST, serious
from playwright.sync_api import Browser, Page, Request, Route

from analyzer.analysis import analyze_log

pytestmark = pytest.mark.browser

SEED = 77


@pytest.fixture(scope="session")
def messy_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A simulated flight in a dialect with semicolons and decimal commas, with a preamble and a cut last row."""
    path = tmp_path_factory.mktemp("logs") / "messy flight.csv"
    flight = simulator.simulate(simulator.scenario_for("normal", SEED), SEED)
    columns = ["time_s", "altitude_m", "voltage_v", "current_a"]
    body = flight.log[columns].to_csv(sep=";", decimal=",", index=False)
    body = body.replace("time_s;altitude_m;voltage_v;current_a", "Time (s);Alt (m);Pack (V);Current (A)", 1)
    path.write_bytes(("# recorded by an invented logger\r\n" + body.replace("\n", "\r\n"))[:-9].encode("utf-8-sig"))
    return path


def open_log(page: Page, path: Path) -> None:
    page.set_input_files("#drop input[type=file]", str(path))
    page.wait_for_selector(f"h1:has-text('{path.name}')")
    page.wait_for_selector("#flight-graph .scatterlayer path")


def select(page: Page, kind: str) -> None:
    """Select the first segment of a kind in the list, and wait for its editor."""
    page.locator(".segments .kind label", has_text=kind).first.click()
    page.wait_for_selector(f"#segment-editor h3:has-text('{kind.capitalize()}')")


def said(page: Page, question: str) -> str:
    return page.locator(".answer", has_text=question).locator(".said").inner_text()


def test_first_start_shows_the_invented_flights_labelled(watched) -> None:
    page = watched.start()
    assert "invented" in page.locator(".sample-flag").inner_text()
    page.wait_for_selector("#flight-graph .scatterlayer path")
    assert watched.foreign == []
    assert watched.errors == []


def test_a_messy_log_gives_the_command_lines_numbers(watched, messy_log: Path) -> None:
    page = watched.start()
    open_log(page, messy_log)
    summary = analyze_log(messy_log).summary
    assert f"{summary.totals.motor_gain_m:.0f} m" in said(page, "What did the climbs cost?")
    runs = page.locator("table.ledger", has_text="per Ah").locator("tbody tr")
    assert runs.count() == len(summary.motor_runs)
    assert watched.foreign == []


def test_a_flight_that_arrives_is_drawn_once_so_that_nothing_done_meanwhile_is_lost(watched, messy_log: Path) -> None:
    page = watched.start()
    page.wait_for_load_state("networkidle")
    draws: list[str] = []
    page.on("request", lambda request: draws.append(request.url) if "flight-details" in drawn_by(request) else None)
    open_log(page, messy_log)
    select(page, "thermal climb")
    page.wait_for_load_state("networkidle")
    assert len(draws) == 1
    assert page.locator(".segments input:checked").count() == 1


def test_a_log_dropped_before_the_page_knows_its_tab_is_opened(watched, messy_log: Path) -> None:
    """The invented flights are slow to come while the program is cold; a log may be dropped before."""
    page, held = watched.page, []

    def hold(route: Route) -> None:
        if drawn_by(route.request) == "..open-flights.data...current-flight.data..":
            held.append(route)
        else:
            route.continue_()

    page.route(lambda url: "_dash-update-component" in url, hold)
    page.goto(watched.url)
    page.wait_for_selector("#drop input[type=file]", state="attached")
    watched.drop(messy_log)
    page.wait_for_selector("#drop .busy")
    (route,) = held
    route.continue_()
    page.wait_for_selector(f"h1:has-text('{messy_log.name}')")
    assert watched.errors == []


def test_a_log_dropped_beside_the_box_is_opened_too(watched, messy_log: Path) -> None:
    page = watched.open()
    page.wait_for_selector("#flight-graph .scatterlayer path")
    page.evaluate(DROP_ON_THE_PAGE, [messy_log.name, messy_log.read_text("utf-8-sig")])
    page.wait_for_selector(f"h1:has-text('{messy_log.name}')")
    page.locator("nav a[href='/air']").click()
    page.wait_for_selector("h1:has-text('Air')")
    page.evaluate(DROP_ON_THE_PAGE, [messy_log.name, "lost"])
    page.wait_for_selector("#trouble:has-text('Flight')")


DROP_ON_THE_PAGE = """([name, text]) => {
    const dataTransfer = new DataTransfer();
    dataTransfer.items.add(new File([text], name, { type: "text/csv" }));
    const event = new DragEvent("drop", { dataTransfer, bubbles: true, cancelable: true });
    document.querySelector("footer").dispatchEvent(event);
    if (!event.defaultPrevented) throw new Error("the browser would leave the page for the file");
}"""


def drawn_by(request: Request) -> str:
    """What a request of the page asks the server to draw."""
    return str(request.post_data_json["output"]) if "_dash-update-component" in request.url else ""


def test_a_segment_chosen_in_one_flight_is_none_of_the_next(watched, messy_log: Path) -> None:
    page = watched.open()
    page.wait_for_selector("#flight-graph .scatterlayer path")
    select(page, "thermal climb")
    open_log(page, messy_log)
    assert page.locator(".segments input:checked").count() == 0
    assert page.locator("#segment-editor h3").count() == 0


def test_selecting_in_the_list_marks_it_and_opens_its_editor(watched, messy_log: Path) -> None:
    page = watched.start()
    open_log(page, messy_log)
    select(page, "motor run")
    assert page.locator(".segments input:checked").count() == 1


def test_a_click_in_the_plot_selects_the_segment_in_the_list(watched) -> None:
    page = watched.open()
    page.wait_for_selector("#flight-graph .scatterlayer path")
    box = page.locator("#flight-graph .nsewdrag").first.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + 100)
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + 100)
    page.wait_for_selector(".segments input:checked")
    page.wait_for_selector("#segment-editor h3")


def test_an_edge_dragged_in_the_plot_changes_the_measures(watched, messy_log: Path, until) -> None:
    page = watched.start()
    open_log(page, messy_log)
    select(page, "glide")
    end = page.locator("#segment-end")
    before = float(end.input_value())
    edge = page.locator("#flight-graph .shapelayer path[data-index]").last
    edge.scroll_into_view_if_needed()
    box = edge.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + 200
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 10, y, steps=4)
    page.mouse.move(x + 24, y, steps=4)
    page.mouse.up()
    until(page, f"Number(document.querySelector('#segment-end').value) > {before} + 1")


def test_an_edge_typed_in_is_the_keyboards_way_to_the_same(watched, messy_log: Path, until) -> None:
    page = watched.start()
    open_log(page, messy_log)
    page.locator(".segments .kind.glide input").first.press("Space")
    page.wait_for_selector("#segment-editor h3:has-text('Glide')")
    start = page.locator("#segment-start")
    moved = float(start.input_value()) + 3.0
    start.focus()
    page.keyboard.press("Control+A")
    page.keyboard.type(f"{moved:.2f}")
    page.keyboard.press("Tab")
    page.locator("#segment-apply").focus()
    page.keyboard.press("Enter")
    until(page, f"Math.abs(Number(document.querySelector('#segment-start').value) - {moved}) < 0.02")


def test_a_correction_is_taken_back(watched, messy_log: Path) -> None:
    page = watched.start()
    open_log(page, messy_log)
    rows = page.locator(".segments .kind")
    before = rows.all_inner_texts()
    rows.nth(1).locator("label").click()
    page.wait_for_selector("#segment-end")
    assert not page.locator("#segment-undo").is_visible()
    end = page.locator("#segment-end")
    near = float(end.input_value()) - 2.0
    end.fill("99999")
    page.locator("#segment-apply").click()
    page.wait_for_selector("#message .problem:has-text('this edge can stand from')")
    assert rows.all_inner_texts() == before
    end.fill(f"{near:.2f}")
    page.locator("#segment-apply").click()
    page.wait_for_selector("#segment-undo", state="visible")
    page.wait_for_selector("#message .problem", state="detached")
    assert rows.all_inner_texts() != before
    page.locator("#segment-undo").click()
    page.wait_for_selector("#segment-undo", state="hidden")
    assert rows.all_inner_texts() == before
    assert watched.errors == []


def test_two_tabs_keep_their_own_flight(watched, messy_log: Path) -> None:
    one, two = watched.start(), watched.page.context.new_page()
    two.goto(watched.url)
    two.wait_for_selector(".sample-flag")
    open_log(one, messy_log)
    assert "messy" not in two.locator("h1").inner_text()
    two.locator("#units-switch").click()
    assert "messy" in one.locator("h1").inner_text()
    two.close()


def test_a_hostile_name_and_header_are_shown_as_text(watched, tmp_path: Path) -> None:
    path = tmp_path / "<img src=x onerror=alert(1)>.csv"
    header = 'time (s),altitude (m),"<script>alert(2)</script>"\n'
    rows = "".join(f"{t},{max(0, 3 * (t - 20)) if t < 80 else 180 - (t - 80)},1\n" for t in range(200))
    path.write_text(header + rows)
    page = watched.start()
    alerts: list[str] = []
    page.on("dialog", lambda dialog: (alerts.append(dialog.message), dialog.dismiss()))
    watched.drop(path)
    page.wait_for_selector("h1:has-text('<img src=x')")
    assert alerts == []
    assert page.locator("img[src=x]").count() == 0


def test_a_page_loaded_elsewhere_leads_to_the_flight_without_complaint(watched) -> None:
    page = watched.open("/logbook")
    page.wait_for_selector("#logbook-search")
    page.reload()
    page.wait_for_selector("#logbook-search")
    page.wait_for_load_state("networkidle")
    page.locator("nav a[href='/']").click()
    page.wait_for_selector("#flight-graph .scatterlayer path")
    assert watched.errors == []


def test_a_broken_file_gets_one_line_and_the_flight_on_screen_stays(watched, tmp_path: Path) -> None:
    path = tmp_path / "holiday.csv"
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 20)
    page = watched.start()
    page.wait_for_selector("#flight-graph .scatterlayer path")
    title = page.locator("h1").inner_text()
    watched.drop(path)
    page.wait_for_selector(".message.problem:has-text('holiday.csv')")
    assert page.locator("h1").inner_text() == title


def test_fifty_megabytes_get_a_clear_word(watched, tmp_path: Path) -> None:
    path = tmp_path / "long.csv"
    path.write_bytes(b"time_s,altitude_m\n" + b"1.0,2.0\n" * 6_300_000)
    page = watched.start()
    sent: list[int] = []
    page.on("request", lambda request: sent.append(len(request.post_data or "")))
    watched.drop(path)
    page.wait_for_selector(".message.problem:has-text('50 MB')")
    assert max(sent, default=0) < 1e6


def test_logs_that_are_too_large_together_get_a_clear_word(watched, tmp_path: Path) -> None:
    paths = [tmp_path / f"{number}.csv" for number in range(2)]
    for path in paths:
        path.write_bytes(b"time_s,altitude_m\n" + b"1.0,2.0\n" * 5_000_000)
    page = watched.start()
    page.set_input_files("#drop input[type=file]", paths)
    page.wait_for_selector(".message.problem:has-text('drop fewer')")


def test_a_server_that_does_not_answer_is_told_and_the_page_goes_on_when_it_does(watched, messy_log: Path) -> None:
    page = watched.open()
    page.wait_for_selector("#flight-graph .scatterlayer path")
    watched.page.context.set_offline(True)
    watched.drop(messy_log)
    page.wait_for_selector("#trouble:has-text('No answer')")
    watched.page.context.set_offline(False)
    page.set_input_files("#drop input[type=file]", [])  # as a click on the box empties it
    open_log(page, messy_log)
    page.wait_for_selector("#trouble", state="hidden")


def test_logs_dropped_together_are_all_opened_and_a_broken_one_is_named(
    watched, messy_log: Path, tmp_path: Path
) -> None:
    broken = tmp_path / "holiday.csv"
    broken.write_bytes(bytes(range(256)) * 20)
    second = tmp_path / "second.csv"
    second.write_bytes(messy_log.read_bytes())
    slow_first = """
        const read = FileReader.prototype.readAsDataURL;
        FileReader.prototype.readAsDataURL = function (file) {
            setTimeout(() => read.call(this, file), file.name.startsWith("messy") ? 500 : 0);
        };"""
    watched.page.add_init_script(slow_first)
    page = watched.start()
    page.set_input_files("#drop input[type=file]", [messy_log, broken, second])
    page.wait_for_selector("h1:has-text('second.csv')")
    page.wait_for_selector(".message.problem:has-text('holiday.csv')")
    page.locator("#flight-choice").click()
    page.get_by_role("option", name="messy flight.csv").wait_for()


def test_a_screen_reader_and_weak_eyes_find_nothing_in_their_way_in_any_theme(watched, until) -> None:
    page = watched.start()
    page.locator(".segments .kind label").nth(1).click()
    page.wait_for_selector("#segment-editor h3")
    for theme, rules in (("day", ()), ("night", CONTRAST), ("sun", CONTRAST)):  # a theme changes nothing but colours
        page.locator("#theme-switch").click()
        page.get_by_role("option", name=theme).click()
        page.wait_for_selector(f"html[data-theme={theme}]")
        page.wait_for_load_state("networkidle")
        until(page, AT_REST)
        assert serious(page, rules) == [], theme


def test_a_phones_width_needs_no_sideways_scrolling(browser: Browser, server_url: str, messy_log: Path, until) -> None:
    context = browser.new_context(viewport={"width": 360, "height": 740}, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.goto(server_url)
    page.wait_for_selector("#flight-graph .scatterlayer path")
    until(page, "document.documentElement.scrollWidth <= 360")
    named = {"name": f"{'a_long_name_of_a_log_' * 5}.csv", "mimeType": "text/csv", "buffer": messy_log.read_bytes()}
    page.set_input_files("#drop input[type=file]", named)
    page.wait_for_selector("h1:has-text('a_long_name')")
    until(page, "document.documentElement.scrollWidth <= 360")
    context.close()


MS_IN_SIGHT = """(([low, high]) => new Date(high) - new Date(low))(
    document.querySelector("#flight-graph .js-plotly-plot").layout.xaxis.range)"""


def test_a_swipe_over_the_plot_moves_the_page_and_a_tap_selects_and_leaves_the_zoom(
    browser: Browser, server_url: str, until
) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.goto(server_url)
    page.wait_for_selector("#flight-graph .scatterlayer path")
    page.wait_for_load_state("networkidle")
    page.evaluate("document.querySelector('#flight-graph').scrollIntoView()")
    whole_ms = page.evaluate(MS_IN_SIGHT)
    page.locator("#flight-graph [data-title='Zoom in']").tap()
    until(page, f"{MS_IN_SIGHT} < {0.6 * whole_ms}")
    page.touchscreen.tap(150, 250)
    page.wait_for_selector("#segment-editor h3")
    page.wait_for_load_state("networkidle")
    assert page.evaluate(MS_IN_SIGHT) < 0.6 * whole_ms
    touch = context.new_cdp_session(page)
    edge = page.locator("#flight-graph .shapelayer path[data-index='2']").bounding_box()
    assert edge is not None
    for x, y in ((200, 300), (200, 480), (200, 560), (edge["x"], 300)):  # height, a limit's line, current, an edge
        page.evaluate("document.querySelector('#flight-graph').scrollIntoView()")
        before = page.evaluate("scrollY")
        touch.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
        for step in range(1, 8):
            points = [{"x": x, "y": y - 20 * step}]
            touch.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": points})
        touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        until(page, f"scrollY > {before} + 50")
    context.close()


def test_on_a_phone_that_is_turned_the_legend_stays_above_the_plot(watched, until) -> None:
    page = watched.page
    page.set_viewport_size({"width": 390, "height": 844})
    watched.open()
    page.wait_for_selector("#flight-graph .scatterlayer path")
    bottom = "document.querySelector('#flight-graph .legend').getBoundingClientRect().bottom"
    top = "document.querySelector('#flight-graph .nsewdrag').getBoundingClientRect().top"
    page.set_viewport_size({"width": 844, "height": 390})
    until(page, "document.querySelector('#flight-graph .main-svg').getBoundingClientRect().width > 600")
    until(page, f"{bottom} <= {top} + 1")
    assert watched.errors == []


def test_on_paper_the_plot_is_as_wide_as_the_page_and_afterwards_as_the_screen(watched, until) -> None:
    page = watched.open()
    page.wait_for_selector("#flight-graph .scatterlayer path")
    width = "document.querySelector('#flight-graph .main-svg').getBoundingClientRect().width"
    until(page, f"{width} > 720")  # the library draws 700 px first, then what the page has room for
    on_screen = page.evaluate(width)
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    until(page, f"{width} <= 700")
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    until(page, f"Math.abs({width} - {on_screen}) < 2")
    page.evaluate("document.documentElement.dataset.theme = 'night'")
    page.emulate_media(media="print")
    assert page.evaluate("getComputedStyle(document.querySelector('h1')).color") == "rgb(0, 0, 0)"
    assert watched.errors == []


def test_what_needs_the_logbook_follows_and_the_other_answers_do_not_wait_for_it(watched) -> None:
    page = watched.page
    held: list[Route] = []

    def hold(route: Route) -> None:
        if "beside-others.children" in (route.request.post_data or ""):
            held.append(route)
        else:
            route.continue_()

    page.route(lambda url: "_dash-update-component" in url, hold)
    with page.expect_request(lambda request: "beside-others.children" in (request.post_data or "")):
        watched.open()
    page.wait_for_selector(".answer:has-text('What did the climbs cost?')")
    page.wait_for_timeout(1000)  # longer than the page waits before it says that it works
    assert held
    assert page.locator(".answer:has-text('What did the climbs cost?')").is_visible()
    assert page.locator("#beside-others").inner_text().endswith("…")
    held.pop().continue_()
    page.wait_for_selector("#beside-others:has-text('further per Ah than 12x6')", timeout=60_000)
