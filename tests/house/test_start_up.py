"""Starting costs what is used and no more."""

from __future__ import annotations

import subprocess
import sys

HEAVY = ("pandas", "numpy", "scipy", "plotly", "pydantic", "sqlalchemy", "dash", "jinja2")
HELP_S = 0.3


def loaded_after(code: str) -> set[str]:
    script = f"{code}\nimport sys; print(' '.join(sys.modules))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, timeout=60)
    return set(done.stdout.splitlines()[-1].split())


def test_help_of_every_command_loads_nothing_heavy() -> None:
    loaded = loaded_after(
        "from importlib.metadata import entry_points\n"
        "from analyzer.cli.main import run\n"
        "run(['--help'])\n"
        "for name in entry_points(group='climbledger.commands').names: run([name, '--help'])"
    )
    assert not loaded & set(HEAVY)


def test_the_library_loads_nothing_before_it_is_used() -> None:
    assert not loaded_after("import analyzer") & set(HEAVY)


def test_help_appears_at_once() -> None:
    # processor time of the whole process, because the machine may be busy with something else
    script = "import time; from analyzer.cli.main import run; run(['--help']); print(time.process_time())"
    times = [
        float(subprocess.run([sys.executable, "-c", script], check=True, capture_output=True).stdout.split()[-1])
        for _ in range(3)
    ]
    assert min(times) <= HELP_S
