"""What could not be measured, and for want of which channel."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from analyzer.records import Notice

if TYPE_CHECKING:
    from collections.abc import Collection

    from analyzer.measures.draw import Draws
    from analyzer.measures.traces import Traces

_WANTED: Final = (
    ("rpm", "rpm", "mean rpm and a check of the motor and gear against it are missing"),
    (
        "airspeed_m_s",
        "airspeed",
        "total energy, the polar and airspeeds are missing, and zooms are told from lift by height alone",
    ),
)

_GOOD_TO_HAVE: Final = (
    ("throttle", "throttle", "motor_run", "mean throttle"),
    ("latitude_deg", "position", "thermal_climb", "drift"),
    ("flight_mode", "flight mode", "glide", "glides by mode"),
)
"""Channel, its name, the kind of segment that it says more of, and what."""


def missing_notices(traces: Traces, draws: Draws, kinds: Collection[str], has_mass: bool) -> tuple[Notice, ...]:
    """Say which results are missing for want of which channel."""
    notices = [
        Notice(f"no-{title}", f"No {title} is logged: {results}.")
        for name, title, results in _WANTED
        if traces.get(name) is None
    ]
    has_runs = "motor_run" in kinds
    if has_runs and traces.get("current_a") is None:
        notices.append(_no_current(draws))
    elif has_runs and draws.current is None:
        notices.append(
            Notice(
                "no-current",
                "The current shows nothing while the motor runs: charge, energy, climb per Ah and per Wh are missing.",
            )
        )
    lost_energy = draws.power is None and draws.current is not None and traces.get("current_a") is not None
    if has_runs and (lost_energy or traces.get("voltage_v") is None):
        lost = "energy, climb per Wh, lowest voltage" if lost_energy else "lowest voltage"
        notices.append(Notice("no-voltage", f"No pack voltage is logged: {lost} and pack resistance are missing."))
    if has_runs and not has_mass:
        notices.append(Notice("no-mass", "No flying mass is given (in a setup): climb efficiency is missing."))
    logged = traces.channels.keys() | traces.labels.keys()
    absent = [(title, result) for name, title, kind, result in _GOOD_TO_HAVE if kind in kinds and name not in logged]
    if absent:
        titles, results = (", ".join(words) for words in zip(*absent, strict=True))
        notices.append(Notice("not-logged", f"Not logged: {titles}; missing for want of that: {results}."))
    return tuple(notices)


def _no_current(draws: Draws) -> Notice:
    if draws.current is None and draws.power is None:
        lost = "charge, energy, climb per Ah and per Wh and pack resistance"
        return Notice("no-current", f"No current is logged: {lost} are missing.")
    if draws.current is None:
        return Notice("no-current", "No current is logged: charge, climb per Ah and pack resistance are missing.")
    if draws.power is None:
        return Notice(
            "no-current", "No current is logged: charge is the counter's; energy and highest current are missing."
        )
    return Notice("no-current", "No current is logged: it is worked out from power and voltage.")
