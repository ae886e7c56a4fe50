"""Studies that score the analysis on simulated flights with known truth. Run by hand; see main_job.py."""
