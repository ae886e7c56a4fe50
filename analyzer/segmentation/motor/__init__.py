"""Motor runs: when the motor drew power, from spool-up to stop.

Order of work (`runs`): what the log shows of the motor (`evidence`, from `signals` and `shaft`); the rows in which it
is told to stand (`standing`); the stretches in which it runs (`candidates`, `cruise`), made one over gaps in which it
did not stop (`gaps`); their edges between the samples (`edges`). Where these channels are missing, the pack's voltage
shows it (`sag`), or the climb alone (`shape`).
"""

from __future__ import annotations

from analyzer.segmentation.motor.runs import motor_runs

__all__ = ["motor_runs"]
