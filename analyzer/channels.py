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
        Header words, lower case, that mean this channel; where a log has several columns for one channel, the word
        named first here is preferred. Blanks, underscores, case and accents do not matter. A word may stand with two
        channels: then the unit or the values decide, or the column is reported as ambiguous.
    refuses : tuple of str
        Words beside which a header means something else ("wind" speed, "transmitter" voltage).
    marks : tuple of str
        Words beside which the quantity is this channel's, and no other's of its dimension ("GPS" speed, "receiver"
        voltage); the first named are preferred.
    several : bool
        Whether a log may hold more than one (numbered then: "temperature_c_2").
    """

    name: str
    dimension: str
    unit: str
    kind: Kind
    low: float
    high: float
    title: str
    words: tuple[str, ...]
    refuses: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()
    several: bool = False


REFUSED_WORDS: Final = (
    "max", "maximum", "min", "minimum", "peak", "highest", "lowest", "target", "setpoint", "set", "desired", "demand", "demanded",
    "limit", "alarm", "warn", "warning", "threshold", "error", "err", "accuracy", "acc", "status", "valid", "quality", "health", "flag",
    "remaining", "remain", "left", "home", "takeoff", "delta", "diff", "std", "sigma", "variance", "noise", "offset", "count", "age",
    "soll", "ziel", "tenths", "hundredths", "zehntel", "hundertstel", "time", "zeit", "dbm", "db", "ohm", "mohm", "resistance", "grenze", "mittel", "rest", "reste", "nenn", "maximal", "minimal", "start", "over", "under", "lade", "charging", "cycles", "zyklen", "hdop", "vdop", "pdop", "dop", "eph", "epv", "rssi", "snr", "lq", "acceleration", "accel", "drop", "sag", "lost", "loss",
)  # fmt: skip
"""Words beside which no header means a channel: it is a peak, a wanted value, a quality or a rest."""

_SPEED: Final = ("speed", "geschw", "spd", "vel", "velocity", "geschwindigkeit", "vitesse", "velocidad", "velocità", "velocidade", "snelheid", "rychlost", "prędkość", "hastighet", "速度")  # fmt: skip
"""Airspeed or ground speed: the word alone does not say."""

_NO_FLIGHT_SPEED: Final = ("wind", "motor", "prop", "propeller", "rotor", "fan", "servo", "stall", "dreh", "winkel", "angular", "x", "y", "n", "e", "d", "north", "east")  # fmt: skip
"""Words beside which a speed is of something else, or a component."""

_RECEIVER: Final = ("rx", "receiver", "bec", "servo", "servos", "empfänger", "empfaenger", "empf", "récepteur", "ricevente", "receptor", "bord")  # fmt: skip
"""The supply of receiver and servos: its voltage is a channel, its current and power are none."""

CHANNELS: Final[tuple[Channel, ...]] = (
    Channel("time_s", "time", "s", "time", -1e12, 1e12, "time", (
        "time", "timestamp", "log time", "elapsed time", "elapsed", "flight time", "run time", "datetime",
        "clock", "time of day", "tod", "local time", "utc time", "utc", "gps time", "unix time", "unix", "epoch", "date", "gps date", "t", "millis",
        "ticks", "uptime", "zeit", "uhrzeit", "zeitstempel", "datum", "temps", "heure", "horodatage", "tiempo", "hora", "fecha", "tempo", "ora",
        "tijd", "čas", "czas", "tid", "время", "时间", "時間", "時刻",
    ), refuses=("motor", "engine", "timer", "latency", "interval", "period", "frame", "loop", "cycle", "empty", "zone", "week", "leap", "dt")),
    Channel("altitude_m", "length", "m", "continuous", -500.0, 12_000.0, "altitude", (
        "barometric altitude", "baro altitude", "baro alt", "barometer altitude", "baro height", "pressure altitude", "pressure alt", "press alt", "vario altitude", "vario alt",
        "relative altitude", "rel altitude", "rel alt", "altitude relative", "height above ground", "altitude above ground", "height over ground", "altitude over ground", "höhe über grund", "höhe über boden", "height above launch", "altitude agl", "agl altitude", "height agl", "alt agl",
        "altitude", "alt", "height", "hgt", "alti", "agl", "elevation", "elev", "ele", "baro", "relativhöhe", "höhe", "hoehe", "hauteur", "altitud", "altura",
        "quota", "altezza", "hoogte", "výška", "wysokość", "höjd", "высота", "高度", "altitude msl", "msl altitude", "alt msl", "amsl", "galt",
    ), refuses=(
        "distance", "dist", "range", "radius", "terrain", "travel", "travelled", "odometer", "length", "path", "position", "north", "east", "south",
        "west", "x", "y", "z", "d", "down", "ground", "density", "energy", "wind", "gain", "rate", "entfernung", "distanz", "strecke", "weg", "visibility", "geoid", "undulation",
    ), marks=("relative", "relativ", "relativa", "rel", "agl")),
    Channel("vertical_speed_m_s", "speed", "m/s", "continuous", -60.0, 60.0, "vertical speed", (
        "vertical speed", "vario", "variometer", "vspeed", "vspd", "vsi", "climb rate", "rate of climb", "taux de montée", "roc", "climb",
        "baro vario", "baro climb", "vs", "sink rate", "sink", "steigen", "steigrate", "sinken",
        "variómetro", "stijgen", "stoupání", "wznoszenie", "вариометр", "vz",
    ), refuses=("wind", "average", "avg", "mean", "netto", "mc", "maccready", "tone", "volume"),
        marks=("vertical", "vert", "vertikal", "verticale", "ascensional", "ascensionnelle", "vario", "climb", "steig", "sink", "z", "down", "up", "montée", "salita", "stijg", "daal", "stig", "pionowa")),
    Channel("airspeed_m_s", "speed", "m/s", "continuous", -5.0, 120.0, "airspeed", (
        "airspeed", "air speed", "aspd", "pitot", "indicated airspeed", "ias", "true airspeed", "tas", "calibrated airspeed", "cas",
        "fahrt", "vit air", "fluggeschwindigkeit", "eigengeschwindigkeit", *_SPEED,
    ), refuses=_NO_FLIGHT_SPEED, marks=("air", "aire", "aria", "luft", "lucht", "pitot", "stau", "staudruck", "indicated", "true", "calibrated")),
    Channel("ground_speed_m_s", "speed", "m/s", "continuous", -1.0, 150.0, "ground speed", (
        "ground speed", "gspd", "gspeed", "gs", "speed over ground", "sog", "geschwindigkeit über grund", "vit sol", *_SPEED,
    ), refuses=_NO_FLIGHT_SPEED, marks=("gps", "gnss", "ground", "grund", "grond", "sol", "suelo", "horizontal")),
    Channel("voltage_v", "voltage", "V", "continuous", 0.0, 120.0, "pack voltage", (
        "pack voltage", "battery voltage", "voltage", "volts", "volt", "vbat", "vbatt", "ubat", "ubatt", "vpack", "vfas", "battery", "batt", "pack",
        "controller voltage", "input voltage", "bus voltage", "u", "v", "akkuspannung", "spannung", "spg", "akkuspg", "vin", "akku", "tension batterie", "tension", "batterie",
        "voltaje", "tensión", "batería", "tensione", "batteria", "spanning", "napětí", "napięcie", "spänning", "напряжение", "电压", "電圧",
    ), refuses=(
        "cell", "cells", "per", "zelle", "zellen", "zell", "ripple", "lvc", "tx", "transmitter", "sender", "remote", "internal", "cpu", "board", "backup", "reference",
    )),
    Channel("current_a", "current", "A", "continuous", -50.0, 500.0, "current", (
        "pack current", "battery current", "batt current", "bat current", "main current", "current battery", "current", "curr", "cur", "amps", "amp", "amperage",
        "amperes", "current draw", "draw", "iin", "imot", "ibat", "ibatt", "esc current", "esc amps", "controller current", "motor current", "motor amps", "i", "a",
        "strom", "akkustrom", "motorstrom", "courant", "intensité", "corriente", "corrente", "stroom", "proud", "prąd", "ström", "ток", "电流", "電流",
    ), refuses=(*_RECEIVER, "phase", "phasen", "tot", "charge", "cpu", "gps", "charger", "position", "mode", "state", "time")),
    Channel("rpm", "rotation", "rpm", "continuous", 0.0, 500_000.0, "rpm", (  # of the motor's field, counted by speed controllers
        "rpm", "rpms", "rps", "motor rpm", "esc rpm", "engine rpm", "motor speed", "motor revs", "prop rpm", "propeller rpm", "prop speed", "propeller speed", "revs",
        "rev", "revolutions", "rotations", "rotation", "rotation speed", "rotational speed", "erpm", "electrical rpm", "drehzahl", "drehz", "motordrehzahl", "umdrehungen",
        "tours", "régime", "revoluciones", "giri", "toerental", "toeren", "otáčky", "obroty", "varvtal", "turtall", "omdrejninger", "kierrosluku", "fordulatszám", "devir",
        "okretaji", "vrtljaji", "turație", "revolucions", "pöörded", "apsukos", "apgriezieni", "στροφές", "обороты", "оберти", "обороти", "обртаји", "转速", "回転数", "회전수",
    ), refuses=("fan", "servo")),
    Channel("throttle", "ratio", "", "continuous", -0.05, 1.05, "throttle", (
        "throttle", "throttle position", "throttle output", "throttle out", "throttle command", "throttle stick", "thr", "thro",
        "motor command", "motor output", "motor out", "motor power", "power setting", "motor percent", "gas", "gashebel", "motorstellung", "gaz", "manette",
        "acelerador", "acceleratore", "plyn", "manetka", "gass", "kaasu", "gaas", "gáz", "plin", "przepustnica", "drosele", "droselis", "γκάζι", "газ", "油门", "スロットル", "스로틀",
    ), refuses=("curve", "cut", "hold", "trim", "pressure", "sensor")),
    Channel("charge_ah", "charge", "Ah", "counter", -1.0, 1000.0, "charge used", (
        "charge used", "used charge", "capacity used", "used capacity", "consumed capacity", "capacity consumed", "battery consumption", "consumption", "consumed",
        "mah used", "used mah", "ah used", "curr tot", "mah consumed", "mah drawn", "drawn", "discharged", "battery cap", "batt cap", "charge", "capacity", "cap", "used", "fuel", "mah", "ah",
        "verbrauch", "verbr", "kap", "kapacita", "conso", "kapazität", "kapazitaet", "entnommen", "capa", "capacité", "consommation", "capacidad", "consumo", "capacità", "capaciteit", "verbruik",
    ), refuses=("nominal", "rated", "design", "total", "percent", "bec", "rate", "state", "rem")),
    Channel("power_w", "power", "W", "continuous", -1000.0, 50_000.0, "electrical power", (
        "electrical power", "battery power", "pack power", "power", "watts", "watt", "pwr", "esc power", "motor power", "leistung", "puissance", "potencia",
        "potenza", "vermogen", "výkon", "moc", "effekt", "мощность", "功率", "電力",
    ), refuses=("tx", "transmit", "transmitter", "sende", "radio", "rf", "bm", "signal", "setting", "supply", *_RECEIVER)),
    Channel("temperature_c", "temperature", "°C", "continuous", -60.0, 250.0, "temperature", (
        "temperature", "temp", "tmp", "controller temperature", "controller temp", "fet temp", "outside temperature", "outside air temperature", "air temperature",
        "air temp", "ambient temperature", "oat", "vario temp", "temperatur", "température", "temperatura", "temperatuur", "teplota", "температура", "温度",
    ), refuses=("humidity", "compensation", "comp"), several=True),
    Channel("receiver_voltage_v", "voltage", "V", "continuous", 0.0, 20.0, "receiver voltage", (
        "receiver voltage", "receiver supply", "rx supply", "rx bt", "vbec", "ubec", "vrx", "receiver", "rx v", "rx", "bec", "empfänger", "empf",
    ), refuses=("tx", "transmitter", "cell", "cells"), marks=_RECEIVER),
    Channel("pressure_pa", "pressure", "Pa", "continuous", 1_000.0, 120_000.0, "static pressure", (
        "static pressure", "air pressure", "barometric pressure", "absolute pressure", "atmospheric pressure", "pressure", "press", "baro", "barometer",
        "luftdruck", "druck", "pression", "presión", "pressione", "luchtdruk", "tlak", "ciśnienie", "lufttryck", "давление", "气压", "気圧",
    ), refuses=("dynamic", "dyn", "differential", "stau", "pitot", "total", "qnh", "qfe", "reference", "tyre", "tire", "oil")),
    Channel("latitude_deg", "angle", "deg", "continuous", -90.0, 90.0, "latitude", (
        "latitude", "lat", "breitengrad", "breite", "latitud", "latitudine", "широта", "纬度", "緯度",
    )),
    Channel("longitude_deg", "angle", "deg", "continuous", -180.0, 180.0, "longitude", (
        "longitude", "lon", "lng", "long", "längengrad", "laengengrad", "länge", "laenge",
        "longitud", "longitudine", "долгота", "经度", "経度",
    )),
    Channel("heading_deg", "angle", "deg", "angle", -360.0, 720.0, "heading", (
        "heading", "hdg", "yaw", "compass", "course over ground", "cog", "course", "track", "bearing", "true heading", "true track",
        "kurs", "steuerkurs", "cap", "rumbo", "rotta", "koers",
    ), refuses=("wind", "rate", "distance", "length", "battery", "batt", "pack", "used")),
    Channel("flight_mode", "", "", "label", 0.0, 0.0, "flight mode", (
        "flight mode", "flight phase", "flight condition", "flight state", "mode", "fm", "phase", "condition", "flugphase", "flugmodus", "flugzustand", "modus",
        "mode de vol", "phase de vol", "modo de vuelo", "fase", "vliegfase", "режим",
    ), refuses=("gps", "fix", "log", "esc", "motor", "radio", "power")),
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
