"""Figures: records and frames in, a new Plotly figure out; nothing is read, nothing is built at import."""
