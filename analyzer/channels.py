"""The channel table: what each canonical channel is called, measured in, ranged, sampled and headed.

Ingest, conditioning, plots and documentation all read this one table.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Kind = Literal["time", "continuous", "counter", "angle", "label"]
"""How a channel behaves between samples: interpolated, monotonic, wrapping at 360 degrees, or held."""


@dataclass(frozen=True, slots=True)
class Channel:
    """One canonical channel.

    Attributes
    ----------
    name : str
        Column name in a log's frame; carries the unit.
    dimension : str
        Dimension in `analyzer.units`; the base unit of that dimension is the channel's unit. Empty for labels.
    unit : str
        Symbol shown to a person.
    kind : Kind
        Behaviour between samples.
    low, high : float
        Physically possible range, in the channel's unit; values outside are dropped and counted.
    title : str
        What a plot or a message calls it.
    words : tuple of str
        Header words, lower case, that mean this channel: full phrases first. A header is split into words at
        blanks, underscores, dots, hyphens and changes of case before it is compared.
    """

    name: str
    dimension: str
    unit: str
    kind: Kind
    low: float
    high: float
    title: str
    words: tuple[str, ...]


CHANNELS: Final[tuple[Channel, ...]] = (
    Channel("time_s", "time", "s", "time", -1e12, 1e12, "time", (
        "time", "timestamp", "time stamp", "elapsed", "elapsed time", "clock", "date time", "datetime", "date", "utc", "t",
        "zeit", "uhrzeit", "datum", "temps", "heure", "tiempo", "hora", "tempo", "epoch", "unix time", "gps time", "millis",
    )),
    Channel("altitude_m", "length", "m", "continuous", -500.0, 12_000.0, "altitude", (
        "altitude", "alt", "height", "hgt", "baro altitude", "baro alt", "barometric altitude", "relative altitude", "rel alt",
        "pressure altitude", "alti", "elevation", "höhe", "hoehe", "altitud", "altura", "quota", "hauteur", "agl", "gps altitude",
        "gps alt", "gps height", "msl altitude", "altitude msl", "altitude agl",
    )),
    Channel("vertical_speed_m_s", "speed", "m/s", "continuous", -60.0, 60.0, "vertical speed", (
        "vertical speed", "vspeed", "vspd", "vario", "climb", "climb rate", "vertical velocity", "vs", "sinkrate", "steigen",
        "variometer", "vario speed", "vertspeed", "vert speed", "velocity z",
    )),
    Channel("airspeed_m_s", "speed", "m/s", "continuous", -5.0, 120.0, "airspeed", (
        "airspeed", "air speed", "aspd", "pitot", "pitot speed", "ias", "tas", "true airspeed", "indicated airspeed", "fahrt",
    )),
    Channel("ground_speed_m_s", "speed", "m/s", "continuous", -1.0, 150.0, "ground speed", (
        "ground speed", "groundspeed", "gspd", "gps speed", "gps spd", "speed over ground", "sog", "gspeed", "gnss speed",
    )),
    Channel("voltage_v", "voltage", "V", "continuous", 0.0, 120.0, "pack voltage", (
        "voltage", "volt", "volts", "pack voltage", "battery voltage", "batt voltage", "batt", "vbat", "vbatt", "vfas", "pack",
        "battery", "esc voltage", "main voltage", "flight battery", "spannung", "akku", "tension", "voltaje", "vpack",
        "pack volts", "batt volts", "bus voltage", "input voltage", "controller voltage", "u", "v",
    )),
    Channel("current_a", "current", "A", "continuous", -50.0, 500.0, "current", (
        "current", "curr", "amps", "amp", "amperage", "esc current", "pack current", "battery current", "batt current", "strom",
        "courant", "corriente", "motor current", "i", "ibat", "controller current", "draw", "current draw", "a",
    )),
    Channel("rpm", "rotation", "rpm", "continuous", 0.0, 150_000.0, "rpm", (
        "rpm", "rpms", "motor rpm", "engine rpm", "esc rpm", "prop rpm", "propeller rpm", "revs", "rev", "drehzahl", "speed motor",
        "motor speed", "rotations", "tours", "erpm",
    )),
    Channel("throttle", "ratio", "", "continuous", -0.05, 1.05, "throttle", (
        "throttle", "thr", "thro", "gas", "motor command", "motor output", "throttle output", "throttle position", "motor throttle",
        "power setting", "throttle stick", "motor power", "esc throttle", "gaz", "acelerador",
    )),
    Channel("charge_ah", "charge", "Ah", "counter", -1.0, 1000.0, "charge used", (
        "charge", "capacity", "consumption", "consumed", "used", "capacity used", "charge used", "mah", "ah", "mah used",
        "used capacity", "fuel", "consumed capacity", "kapazität", "kapazitaet", "verbrauch", "drawn", "discharged",
    )),
    Channel("power_w", "power", "W", "continuous", -1000.0, 50_000.0, "electrical power", (
        "power", "watts", "watt", "leistung", "puissance", "electrical power", "pwr", "esc power", "battery power",
    )),
    Channel("temperature_c", "temperature", "°C", "continuous", -60.0, 250.0, "temperature", (
        "temperature", "temp", "tmp", "esc temperature", "esc temp", "motor temperature", "motor temp", "controller temperature",
        "pack temperature", "battery temperature", "batt temp", "outside temperature", "air temperature", "oat", "tmp1", "tmp2",
        "temp1", "temp2", "temperatur", "température", "temperatura", "fet temp", "bec temp", "baro temp",
    )),
    Channel("receiver_voltage_v", "voltage", "V", "continuous", 0.0, 20.0, "receiver voltage", (
        "receiver voltage", "rx voltage", "rx volt", "rx volts", "rx batt", "rx battery", "rxbt", "rxbat", "receiver battery", "bec voltage",
        "bec volt", "rx v", "receiver volts", "receiver supply", "empfängerspannung", "empfaengerspannung", "receiver", "bec",
    )),
    Channel("pressure_pa", "pressure", "Pa", "continuous", 1_000.0, 120_000.0, "static pressure", (
        "pressure", "static pressure", "baro pressure", "air pressure", "baro", "barometer", "luftdruck", "druck", "pression", "press",
        "absolute pressure", "qfe",
    )),
    Channel("latitude_deg", "angle", "deg", "continuous", -90.0, 90.0, "latitude", (
        "latitude", "lat", "gps latitude", "gps lat", "breite", "breitengrad",
    )),
    Channel("longitude_deg", "angle", "deg", "continuous", -180.0, 180.0, "longitude", (
        "longitude", "lon", "lng", "long", "gps longitude", "gps lon", "gps long", "länge", "laenge", "längengrad",
    )),
    Channel("heading_deg", "angle", "deg", "angle", -360.0, 720.0, "heading", (
        "heading", "course", "hdg", "track", "cog", "bearing", "course over ground", "kurs", "yaw", "gps course", "gps heading",
    )),
    Channel("flight_mode", "", "", "label", 0.0, 0.0, "flight mode", (
        "flight mode", "flightmode", "mode", "fm", "phase", "flight phase", "flugphase", "flight condition", "condition", "modus",
    )),
)  # fmt: skip
"""Canonical channels. `time_s` and `altitude_m` are required; the rest add results where they are logged."""

BY_NAME: Final[dict[str, Channel]] = {channel.name: channel for channel in CHANNELS}


def channel_of(column: str) -> Channel:
    """The table's row for a frame column; further columns of one channel carry a number ("temperature_c_2").

    Raises
    ------
    KeyError
        When the column is no canonical channel.
    """
    name, _, number = column.rpartition("_")
    return BY_NAME[name] if number.isdigit() and name in BY_NAME else BY_NAME[column]


def numbered(name: str, count: int) -> str:
    """Column name for the count-th column (from 1) of one channel."""
    return name if count == 1 else f"{name}_{count}"
