"""Coverage-guided fuzzing of the text and IGC readers; run by hand, for as long as patience lasts.

    pip install atheris
    python tests/ingest/fuzz_ingest.py -max_total_time=3600 -max_len=20000 -timeout=20 -rss_limit_mb=1024 CORPUS

CORPUS is a folder of our choice, which the run fills; the files of tests/dialects and one flight recorder's are its
first entries. Whatever is no log has to end in a `ClimbledgerError`; anything else stops the run and leaves the input
beside it. Each such input becomes a test in test_found_by_fuzzing.py.
"""

from __future__ import annotations

import sys
import warnings
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["analyzer"]):
    from analyzer.errors import ClimbledgerError
    from analyzer.ingest import read_log_bytes

DIALECTS = Path(__file__).resolve().parents[1] / "dialects"
RECORDER = (
    b"AXXX001\r\nHFDTE160701\r\nI023638FXA3941GSP\r\nB1602405407121N00249342WA0028000421205099\r\nK16024800090\r\n"
)


def one_input(data: bytes) -> None:
    """Read one input; only the errors meant for the user may come out."""
    try:
        log = read_log_bytes(data, "fuzzed.csv")
    except ClimbledgerError as error:
        assert str(error).isprintable()
    else:
        seconds = log.frame["time_s"].to_numpy()
        assert seconds[0] == 0.0
        assert (seconds[1:] > seconds[:-1]).all()


def main() -> None:
    """Seed the corpus and fuzz."""
    warnings.simplefilter("error")
    corpus = Path(sys.argv[-1])
    corpus.mkdir(parents=True, exist_ok=True)
    seeds = {path.name: path.read_bytes()[:3000] for path in DIALECTS.iterdir() if path.suffix in (".csv", ".txt")}
    for name, seed in (seeds | {"recorder.igc": RECORDER}).items():
        (corpus / name).write_bytes(seed)
    atheris.Setup(sys.argv, one_input)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
