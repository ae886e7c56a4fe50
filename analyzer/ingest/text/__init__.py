"""From the bytes of a text table to columns of numbers, times and labels.

Encoding, dialect, header, rows and cells: what is written, whatever it means.
"""
