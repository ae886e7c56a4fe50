"""Writes the invented flights of sample_logs/ anew.

python tests/simulator/make_sample_logs.py [FOLDER]
"""

from __future__ import annotations

import sys
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]


def main() -> None:
    """Write all of them."""
    sys.path.insert(0, str(TESTS))
    from simulator.samples import write_all

    write_all(Path(sys.argv[1]) if len(sys.argv) > 1 else TESTS.parent / "sample_logs")


if __name__ == "__main__":
    main()
