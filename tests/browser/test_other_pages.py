"""Setup, comparison, air, logbook and candidates in a real browser."""

from __future__ import annotations

from pathlib import Path

import pytest
import simulator
from accessibility import AT_REST, serious

pytestmark = pytest.mark.browser

PATHS = {
    "/next": "table.ledger:has-text('risk')",
    "/compare": ".answers li, #page .message",  # or that the logbook holds too little, where another test kept a flight
    "/air": "#page .main-svg",
    "/logbook": "#logbook-search",
    "/setup": "input[value]",
}
"""Each page beside the flight's, and what stands on it once it is filled."""
SEED = 78


@pytest.fixture(scope="session")
def plain_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("logs") / "evening.csv"
    simulator.simulate(simulator.scenario_for("normal", SEED), SEED).log.to_csv(path, index=False)
    return path


def arrived(watched, path: str):
    """Open the flight page first, so that a flight is on screen, then go where the link leads."""
    page = watched.start()
    page.locator(f"nav a[href='{path}']").click()
    page.wait_for_selector(f"nav a.here[href='{path}']")
    return page


@pytest.mark.parametrize("path", PATHS)
def test_a_page_fits_a_phone_is_clear_to_a_screen_reader_and_asks_nobody_else(watched, until, path: str) -> None:
    watched.page.set_viewport_size({"width": 360, "height": 740})
    page = arrived(watched, path)
    page.wait_for_selector(PATHS[path])
    page.wait_for_load_state("networkidle")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.set_viewport_size({"width": 1280, "height": 900})
    until(page, AT_REST)
    assert serious(page) == []
    assert watched.foreign == []
    assert watched.errors == []


def test_propellers_are_compared_with_a_verdict(watched) -> None:
    page = arrived(watched, "/compare")
    page.get_by_role("textbox", name="Flights of").click()  # the logbook, where another test has kept a flight
    page.get_by_role("option", name="the invented flights").click()
    page.wait_for_selector("table.ledger:has-text('15x10')", timeout=60_000)
    assert "invented" in page.locator(".sample-flag").inner_text()
    assert page.locator(".answers li").count() >= 1


def test_candidates_show_limits_and_odds(watched) -> None:
    page = arrived(watched, "/next")
    page.wait_for_selector("table.ledger:has-text('risk')")
    page.locator("#candidate-sizes").fill("12x6 nonsense")
    page.wait_for_selector(".message:has-text('nonsense')")


def test_a_setup_is_used_kept_and_saved_as_toml(watched) -> None:
    page = arrived(watched, "/setup")
    page.wait_for_selector("input[value]")
    button = page.get_by_role("button", name="Use this setup").bounding_box()
    assert button is not None
    assert button["y"] + button["height"] <= 900, "in sight however long the form is"
    page.get_by_label("Name", exact=False).first.fill("Heron, evening")
    mass = page.get_by_label("Mass (kg)")
    mass.fill("1900")
    page.get_by_role("button", name="Use this setup").click()
    page.wait_for_selector(".message.problem:has-text('0.05 to 50')")
    mass.fill("1.9")
    page.get_by_role("button", name="Use this setup").click()
    page.wait_for_selector(".message.done:has-text('Heron')")
    with page.expect_download() as download:
        page.get_by_role("button", name="Save as TOML").click()
    text = Path(download.value.path()).read_text()
    assert 'name = "Heron, evening"' in text
    assert "mass_kg = 1.9" in text


def test_a_setup_file_fills_the_form_and_what_is_left_out_is_said(watched, tmp_path: Path) -> None:
    path = tmp_path / "heron.toml"
    table = 'diameter_in = 14\npitch_in = 8\ncoefficients_csv = "table.csv"\n'
    path.write_text(f'name = "Heron, morning"\n[airframe]\nmass_kg = 1.85\n[propeller]\n{table}')
    page = arrived(watched, "/setup")
    page.get_by_label("Load a setup file").set_input_files(path)
    page.wait_for_selector(".message.done:has-text('Heron, morning')")
    assert "propeller table is left out" in page.locator(".message.done").inner_text()
    assert page.get_by_label("Mass (kg)").input_value() == "1.85"


def test_a_flight_is_kept_found_annotated_and_opened_again(watched, plain_log: Path) -> None:
    page = watched.start()
    watched.drop(plain_log)
    page.wait_for_selector("h1:has-text('evening.csv')")
    page.locator("#keep-place").fill("Larkmoor")
    page.locator("#keep").click()
    page.wait_for_selector(".message.done:has-text('logbook')")
    page.wait_for_selector("#kept-as:has-text('Larkmoor')")
    page.set_input_files("#drop input[type=file]", [])  # as a click on the box empties it
    watched.drop(plain_log)
    page.wait_for_selector("#kept-as:has-text('as dropped')")
    assert page.locator("#keep").inner_text() == "Add to its entry"
    page.locator("nav a[href='/logbook']").click()
    page.locator(".ag-row", has_text="evening.csv").click()
    page.wait_for_selector("#logbook-note")
    page.locator("#logbook-note").fill("smooth air")
    page.locator("#logbook-save").click()
    page.wait_for_selector(".ag-row:has-text('smooth air')")
    page.locator("#logbook-search").fill("nothing like it")
    page.wait_for_selector(".ag-row", state="detached")
    page.locator("#logbook-search").fill("smooth")
    page.locator(".ag-row", has_text="evening.csv").click()
    page.locator("#logbook-open").click()
    page.wait_for_selector("h1:has-text('evening.csv')")
    page.locator("nav a[href='/next']").click()
    page.wait_for_selector("#candidate-basis:has-text('No setup is in use')")
    assert not page.locator("#candidate-ask").is_visible(), "nothing is asked that cannot be answered"


def test_a_flight_is_taken_out_of_the_logbook_when_the_pilot_confirms_it(watched, plain_log: Path) -> None:
    page = watched.start()
    watched.drop(plain_log)
    page.wait_for_selector("h1:has-text('evening.csv')")
    page.locator("#keep-note").fill("gusty")
    page.locator("#keep").click()
    page.wait_for_selector(".message.done:has-text('logbook')")
    assert page.locator("#keep-note").input_value() == ""
    assert page.locator(".message.done").bounding_box()["y"] >= 0.0  # the button stands at the page's end
    page.locator("nav a[href='/logbook']").click()
    page.locator("#logbook-open").click()
    page.wait_for_selector("#message .problem:has-text('select one')")
    page.locator("nav a[href='/logbook']").click()
    page.locator(".ag-row", has_text="gusty").click()
    page.wait_for_selector("#logbook-note")
    assert page.locator("#message .message").count() == 0  # what was said of one page does not follow to the next
    for decide, state in (("dismiss", "visible"), ("accept", "detached")):
        page.once("dialog", lambda dialog, decide=decide: getattr(dialog, decide)())
        page.get_by_role("button", name="Remove from the logbook").click()
        page.wait_for_selector(".ag-row:has-text('gusty')", state=state)
    page.wait_for_selector(".message.done:has-text('no longer in the logbook')")
    assert watched.errors == []


def test_an_unreadable_column_is_asked_about_and_remembered(watched, tmp_path: Path) -> None:
    path = tmp_path / "odd.csv"
    rows = "".join(f"{t};{max(0, 3 * (t - 20)) if t < 80 else 180 - (t - 80)}\n" for t in range(200))
    path.write_text("Zt;Qx\n" + rows)
    page = watched.start()
    watched.drop(path)
    page.wait_for_selector(".question")
    for header, title in (("Zt", "time"), ("Qx", "altitude")):
        page.get_by_role("textbox", name=f"{header} is").click()
        page.get_by_role("option", name=title, exact=True).click()
    page.locator("#asked-answer").click()
    page.wait_for_selector("h1:has-text('odd.csv')")
    again = tmp_path / "odd again.csv"
    again.write_text(path.read_text())
    watched.drop(again)
    page.wait_for_selector("h1:has-text('odd again.csv')")
    page.get_by_role("button", name="What is in its columns?").click()
    page.wait_for_selector(".question:has-text('odd again.csv')")
    assert page.get_by_role("textbox", name="Qx is").input_value() == "altitude"
    page.get_by_role("textbox", name="unit of Qx").fill("ft")
    page.locator("#asked-answer").click()
    page.wait_for_selector("#flight-details td:text-is('55 m')")


def test_calibrating_leads_to_the_candidates_of_the_model_as_it_flies(watched) -> None:
    page = watched.start()
    page.locator("#calibrate").click()
    page.wait_for_selector(".message.done:has-text('as it flew')", timeout=60_000)
    page.wait_for_selector("nav a.here[href='/next']")
    page.wait_for_selector("table.ledger:has-text('risk')", timeout=60_000)
    page.locator("nav a[href='/setup']").click()
    page.wait_for_selector("#setup-save")
    with page.expect_download() as download:
        page.get_by_role("button", name="Save as TOML").click()
    assert "[calibration]" in Path(download.value.path()).read_text()


def test_the_page_of_candidates_offers_to_correct_the_data_sheets_by_the_flight(watched) -> None:
    page = watched.start()
    page.locator("nav a[href='/next']").click()
    page.wait_for_selector("#candidate-basis:has-text('from data sheets alone')")
    page.get_by_role("button", name="Correct the data sheets by the flight on screen").click()
    page.wait_for_selector(".message.done:has-text('as it flew')")
    page.wait_for_selector("#candidate-basis:has-text('as calibrated in flight')")
    page.wait_for_selector("#candidate-by-flight", state="hidden")
    assert not watched.errors
