"""Parts that pages share; each builds components from plain data."""
