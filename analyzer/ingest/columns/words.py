"""Words of headers that are no channel's own: of places, sources, single cells, positions, and of long tables.

Words of channels stand in `analyzer.channels`, spellings of units in `analyzer.units`. All are folded (lower case, no
accents), as `headers.words_of` gives them.
"""

from __future__ import annotations

import re
from typing import Final

UNHEADED: Final = re.compile(r"column \d+")
"""What a column without a header is called."""

NEUTRAL: Final = frozenset((
    "sensor", "value", "val", "measured", "actual", "log", "logged", "data", "main", "esc", "motor", "mot", "prop",
    "propeller", "gps", "gnss", "baro", "fc", "telemetry", "tel", "channel", "ch", "the", "of", "and", "filtered",
    "filt", "smoothed", "raw", "est", "estimated", "fused", "instant", "now", "sensorwert", "messwert", "wert",
    "der", "die", "das", "le", "la", "el", "ges", "gesamt", "antrieb", "antriebs", "drive", "flug",
))  # fmt: skip
"""Words that say where a value comes from, not what it is."""

PACKS: Final = frozenset(
    ("battery", "batt", "bat", "pack", "flight", "main", "akku", "accu", "batterie", "bateria", "batteria")
)
"""Places of which a model may have two, A and B."""

FIRST_AND_SECOND: Final = frozenset(("a", "b"))
"""Letters that count packs and receivers; any other letter is a quantity ("rx_q")."""

PLACES: Final = PACKS | {"receiver", "rx", "bec", "empfanger", "empf", "baro"}
"""Words that name a place, and its voltage or height only where the header names no other quantity ("battery curr")."""

MEASURED_THERE: Final = frozenset(("voltage", "current", "charge", "power", "rotation", "temperature"))
"""What is measured at a place or a device, and may so be named by its unit alone."""

ABBREVIATIONS: Final = ("GPS", "GNSS", "ESC", "BEC", "RX", "TX")
"""Capitals behind which the next word may follow without a gap: "GPSVel", "TXBatt"."""

DEVICES: Final = frozenset(("motor", "mot", "engine", "esc", "controller", "regler", "prop", "propeller"))
"""Words beside which a unit alone says the quantity ("motor A", "ESC \u00b0C")."""

AVERAGES: Final = frozenset(("avg", "average", "mean"))
"""Words of values over the recorder's own step."""

SYMBOLS: Final = {
    "h": ("altitude_m",), "n": ("rpm",), "p": ("power_w", "pressure_pa"), "v": ("airspeed_m_s", "ground_speed_m_s"),
    "w": ("vertical_speed_m_s",), "air": ("airspeed_m_s",), "motor": ("throttle",), "esc": ("throttle",),
    "pwm": ("throttle",),
}  # fmt: skip
"""Letters of physics and words that mean a channel beside a unit of its dimension only."""

LETTERS_OF_DEVICES: Final = {"t": "temperature_c", "n": "rpm", "p": "power_w"}
"""Letters of physics that mean a channel beside a device or a pack ("T ESC"), where no time is measured."""

ABOVE: Final = frozenset(("above", "over", "uber", "ueber"))
"""Words before what a height is measured from ("height above launch")."""

COMPOUND_ENDS: Final = (
    "hohe", "hoehe", "spannung", "strom", "drehzahl", "temperatur", "geschwindigkeit", "leistung", "kapazitat",
    "verbrauch", "druck", "akku", "hoogte", "spanning", "stroom", "toerental", "snelheid", "hastighet", "voltage",
    "volts", "volt", "current", "amps", "rpm", "erpm", "krpm", "altitude", "temperature", "temp", "speed",
)  # fmt: skip
"""Terms that stand at the end of a word: "Antriebsspannung", "batteryvoltage"."""

COUNTERS: Final = frozenset((
    "frame", "frames", "sample", "samples", "no", "nr", "num", "number", "index", "idx", "row", "line", "record", "rec",
    "count", "counter", "packet", "seq", "sequence", "id", "n", "nummer", "zeile", "messung", "ligne", "muestra",
))  # fmt: skip
"""What headers call a count of rows, which is no time."""

TICKS: Final = frozenset(("tick", "ticks"))
"""A count of a clock's own steps, of any length."""

COUNTED: Final = COUNTERS | TICKS | {"time", "zeit"}
"""What a rate may stand beside: a count that goes up so often a second is a time."""

SENSORS: Final = frozenset(("sensor", "module", "probe"))
"""Words behind which a quantity is the name of a device ("current sensor voltage")."""

SATELLITE: Final = frozenset(("gps", "gnss", "galt", "wgs", "wgs84", "msl", "amsl", "ellipsoid"))
"""Words of altitudes from satellites, which are known about three times worse than those from pressure."""

ELECTRICAL: Final = frozenset(("erpm", "electrical"))
"""Words of an rpm that counts the motor's magnetic field."""

POSITION: Final = frozenset((
    "gps", "gnss", "position", "coordinates", "coordinate", "coords", "location", "latlon", "lat", "lon",
))  # fmt: skip
"""Words of columns that may hold latitude and longitude together."""

CELL: Final = frozenset(("cell", "zelle", "cella", "celda", "cellule", "lipo"))
"""What headers call one cell of a pack; a number follows."""

LONG_NAME: Final = frozenset((
    "channel", "sensor", "name", "type", "typ", "parameter", "signal", "measurement", "variable", "quantity", "key",
    "item", "field", "kanal", "messgrosse", "messgroesse", "bezeichnung", "canal", "capteur", "nom", "nombre", "canale",
    "kanaal", "voie", "parametre", "parametro", "grandeur", "magnitud", "grandezza", "grootheid", "velicina",
    "wielkosc",
))  # fmt: skip
"""Headers of a long table's column of channel names."""

LONG_OWNER: Final = LONG_NAME | {"device", "module", "source", "node", "gerat", "geraet", "appareil", "dispositivo"}
"""Headers of its column of devices, where several devices have a channel of one name."""

LONG_VALUE: Final = frozenset((
    "value", "values", "reading", "data", "val", "wert", "messwert", "valeur", "valor", "valore", "waarde", "hodnota",
    "wartosc",
))  # fmt: skip
"""Headers of its column of values."""

LONG_UNIT: Final = frozenset(("unit", "units", "einheit", "unite", "unidad", "unita", "eenheid", "jednotka", "uom"))
"""Headers of its column of units."""

NO_UNIT: Final = frozenset((
    "-", "#", "none", "text", "string", "date", "time", "mode", "int", "float", "bool",
))  # fmt: skip
"""What rows of units write under columns that have none."""
