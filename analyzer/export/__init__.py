"""Results on their way to a person or a program: JSON, CSV, text, HTML and PDF."""
