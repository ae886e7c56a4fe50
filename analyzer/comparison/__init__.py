"""Which propeller (motor, pack, airframe, tag) is better, by how much, and whether that is real or today's air.

The unit is one motor run (one glide, for the sink rate). Runs that cannot be compared are set aside with a reason; the
others are corrected to common mass, air density and pack voltage; a mixed model with the flight (and the day) as
random effects gives means, and differences that hold together; and the verdict is put into words::

    flights -> candidates -> screening -> common conditions -> outliers -> mixed model -> differences -> verdict

`compare.compare_flights` does all of it, `compare.compare_runs` begins at the plain table of runs. The package itself
imports none of its modules: the command line reads the table of `metrics` without the time to load the others.
"""
