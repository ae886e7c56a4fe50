"""``climbledger predict``: what a propeller will do, before it is bought."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import click

from analyzer.cli import options
from analyzer.cli.streams import say

if TYPE_CHECKING:
    from pathlib import Path

    from analyzer.export.display import System

EPILOG: Final = """\b
Examples:
  climbledger predict --setup my_model.toml
  climbledger predict --setup my_model.toml --propeller 16x10 --propeller 14x8
  climbledger predict --setup my_model.toml --propeller 14x8 --json - | another_program
"""


@click.command(epilog=EPILOG, short_help="What a propeller will do on this model.")
@options.setup_option
@click.option(
    "--propeller",
    "sizes",
    multiple=True,
    metavar="14x8",
    help="Diameter x pitch in inches (14x8x3 for three blades); may be repeated. Default: the setup's own.",
)
@click.option(
    "--throttle",
    type=click.FloatRange(0.0, 100.0, min_open=True),
    default=100.0,
    show_default=True,
    metavar="PERCENT",
    help="Throttle of climb and level flight.",
)
@click.option(
    "--climb-height",
    "climb_height_m",
    type=click.FloatRange(1.0, 5000.0),
    default=150.0,
    show_default=True,
    metavar="METRES",
    help="Height of one climb, for climbs per pack.",
)
@click.option(
    "--pack-temperature",
    "pack_temperature_c",
    type=float,
    metavar="CELSIUS",
    help="Temperature of the cells; the setup's pack resistance then counts as measured at 25 C.",
)
@options.json_option
@options.units_option
def command(
    setup_path: Path | None,
    sizes: tuple[str, ...],
    throttle: float,
    climb_height_m: float,
    pack_temperature_c: float | None,
    json_target: str | None,
    units: System,
) -> int:
    """Say what propellers will do on an airframe and its power system, each value with its 95 % interval.

    Static rpm, current and thrust; the best climb and what it costs; level speed; climbs per pack; room below every
    limit of the setup, with the odds that it is not there.
    """
    setup = options.read_setup_option(setup_path)
    if setup_path is None or setup is None:
        raise click.UsageError("Missing option '--setup'.")
    options.check_targets({"--json": json_target}, inputs=[setup_path])

    from analyzer.power_system.prediction import predict
    from analyzer.power_system.propeller import parse_propeller

    propellers = [parse_propeller(size) for size in sizes]
    prediction = predict(
        setup,
        propellers,
        throttle=throttle / 100.0,
        climb_height_m=climb_height_m,
        pack_temperature_c=pack_temperature_c,
    )
    if json_target is not None:
        from analyzer.export.json_document import json_document
        from analyzer.export.prediction_json import prediction_plain
        from analyzer.export.writing import write_document

        write_document(json_target, json_document(prediction_plain(prediction)))
    if json_target != "-":
        from analyzer.export.prediction_text import prediction_text

        click.echo(prediction_text(prediction, units), nl=False)
        if json_target is not None:
            say(f"wrote {json_target}")
    return 0
