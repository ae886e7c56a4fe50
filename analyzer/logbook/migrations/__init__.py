"""Migrations of the logbook's tables, run by `analyzer.logbook.upgrade`."""
