"""Results on their way to a person or a program: JSON, CSV, text and HTML, and the units they are shown in."""
