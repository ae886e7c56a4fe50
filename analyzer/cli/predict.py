"""``climbledger predict``: what a propeller will do, before it is bought."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import click

from analyzer.cli import options
from analyzer.cli.streams import show, write_out

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from analyzer.display import System
    from analyzer.match import Ranking
    from analyzer.power_system.prediction_records import Prediction
    from analyzer.power_system.propeller import Propeller
    from analyzer.setup_file import Setup

EPILOG: Final = """\b
Examples:
  climbledger predict --setup my_model.toml
  climbledger predict --setup my_model.toml --propeller 16x10 --propeller 14x8
  climbledger predict --setup my_model.toml --json - | another_program
  climbledger predict --setup as_flown.toml --propeller-range 12x6:16x10
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
    "--propeller-range",
    "size_range",
    metavar="12x6:17x12",
    help="Rank every whole inch of diameter and pitch between two sizes, the setup's own propeller beside them.",
)
@click.option(
    "--aim",
    "aim_text",
    metavar="AIM",
    help="Rank by climb_per_ah (default), climb_per_wh, climb_rate, level_speed or climbs_per_pack; "
    "or by a trade, as climb_per_ah=2,level_speed=1.",
)
@click.option(
    "--max-diameter",
    "max_diameter_in",
    type=options.Number(2.0, 40.0),
    metavar="INCH",
    help="Largest diameter that fits the model; ranks without larger ones.",
)
@click.option(
    "--throttle",
    type=options.Number(0.0, 100.0, min_open=True),
    default=100.0,
    show_default=True,
    metavar="PERCENT",
    help="Throttle of climb and level flight.",
)
@click.option(
    "--climb-height",
    "climb_height_m",
    type=options.Number(1.0, 5000.0),
    default=150.0,
    show_default=True,
    metavar="METRES",
    help="Height of one climb, for climbs per pack.",
)
@click.option(
    "--pack-temperature",
    "pack_temperature_c",
    type=options.Number(-20.0, 70.0),
    metavar="CELSIUS",
    help="Temperature of the cells; the setup's pack resistance then counts as measured at 25 C.",
)
@options.json_option
@options.report_option
@options.units_option
def command(
    setup_path: Path | None,
    sizes: tuple[str, ...],
    size_range: str | None,
    aim_text: str | None,
    max_diameter_in: float | None,
    throttle: float,
    climb_height_m: float,
    pack_temperature_c: float | None,
    json_target: str | None,
    report_target: str | None,
    units: System,
) -> int:
    """Say what propellers will do on an airframe and its power system, each value with its 95 % interval.

    Static rpm, current and thrust; the best climb and what it costs; level speed; climbs per pack; room below every
    limit of the setup, with the chance that it is not there. With a range of sizes or an aim: which to try next, those
    that pass a limit left out. A calibrated setup (analyze --calibrate) predicts as the model flies.
    """
    setup = options.read_setup_option(setup_path)
    if setup_path is None or setup is None:
        raise click.UsageError("Missing option '--setup'.")
    targets = {"--json": json_target, "--report": report_target}
    options.check_targets(targets, inputs=options.setup_files(setup_path, setup))

    from analyzer.match import parse_aim, rank
    from analyzer.power_system.prediction import predict

    is_ranked = any(option is not None for option in (size_range, aim_text, max_diameter_in, report_target))
    prediction = predict(
        setup,
        _candidates(setup, sizes, size_range, is_ranked=is_ranked),
        throttle=throttle / 100.0,
        climb_height_m=climb_height_m,
        pack_temperature_c=pack_temperature_c,
    )
    aim = parse_aim(aim_text or "climb_per_ah")
    ranking = rank(prediction, aim, setup, max_diameter_in) if is_ranked else None
    _write(prediction, ranking, targets, units)
    if "-" not in targets.values():
        from analyzer.export.prediction_text import prediction_text
        from analyzer.export.ranking_text import ranking_text

        text = prediction_text(prediction, units) if ranking is None else ranking_text(ranking, prediction, units)
        show(text)
    return 0


def _candidates(
    setup: Setup, sizes: Sequence[str], size_range: str | None, *, is_ranked: bool
) -> tuple[Propeller, ...]:
    """The propellers asked for, each once; for a ranking also those flown: the setup's own, and the calibration's."""
    from analyzer.power_system.coefficients import setup_propeller
    from analyzer.power_system.propeller import parse_propeller, propeller_range

    asked = [*(parse_propeller(size) for size in sizes), *(propeller_range(size_range) if size_range else ())]
    if is_ranked:
        if setup.value("propeller.diameter_in") is not None and setup.value("propeller.pitch_in") is not None:
            asked.append(setup_propeller(setup))
        if setup.calibration is not None:
            asked += [parse_propeller(one.propeller) for one in setup.calibration.flown]
    return tuple(dict.fromkeys(asked))


def _write(prediction: Prediction, ranking: Ranking | None, targets: dict[str, str | None], units: System) -> None:
    """Write the documents asked for."""
    json_target, report_target = targets["--json"], targets["--report"]
    if json_target is not None:
        from analyzer.export.json_document import json_document
        from analyzer.export.prediction_json import prediction_plain

        write_out(json_target, json_document(prediction_plain(prediction, ranking)))
    if report_target is not None and ranking is not None:
        from analyzer.export.ranking_html import ranking_page

        write_out(report_target, ranking_page(ranking, prediction, units))
