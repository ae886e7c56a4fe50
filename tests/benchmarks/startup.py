"""What starting costs, in processor time, and what an installation weighs.

    python tests/benchmarks/startup.py

Each time is the least of several fresh processes. Targets: `climbledger --help` in at most 0.3 s; `import analyzer` in
at most 1.5 times `import pandas`. That import loads nothing heavy, so what the library costs once every public name is
used stands beside it. The size counts the files of the runtime dependencies, without extras.
"""

from __future__ import annotations

import resource
import subprocess
import sys
from importlib.metadata import distribution

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

RUNS = 7


def processor_s(code: str) -> float:
    """Least processor time of a process that runs the code."""
    times = []
    for _ in range(RUNS):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, "-c", code], check=True, stdout=subprocess.DEVNULL)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        times.append(after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime)
    return min(times)


def weights_mb() -> dict[str, float]:
    """Installed size of every package that climbledger needs to run."""
    waiting, found = ["climbledger"], {}
    while waiting:
        package = distribution(waiting.pop())
        name = canonicalize_name(package.name)
        if name in found:
            continue
        files = (package.locate_file(file) for file in package.files or [])
        found[name] = sum(path.stat().st_size for path in files if path.is_file()) / 1e6
        needs = map(Requirement, package.requires or [])
        waiting += [need.name for need in needs if need.marker is None or need.marker.evaluate({"extra": ""})]
    return found


def main() -> None:
    pandas = processor_s("import pandas")
    help_s = processor_s("from analyzer.cli.main import run; run(['--help'])")
    print(f"climbledger --help: {help_s:.2f} s (at most 0.3)")
    print(f"import pandas: {pandas:.2f} s")
    print(f"import analyzer: {processor_s('import analyzer') / pandas:.2f} of it (at most 1.5)")
    print(f"every public name of analyzer: {processor_s('from analyzer import *') / pandas:.2f} of it")
    weights = weights_mb()
    largest = sorted(weights.items(), key=lambda entry: -entry[1])[:6]
    print(f"installed: {sum(weights.values()):.0f} MB in {len(weights)} packages; largest:", end=" ")
    print(", ".join(f"{name} {size:.0f}" for name, size in largest))


if __name__ == "__main__":
    main()
