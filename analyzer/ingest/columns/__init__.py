"""What columns mean: words of headers, units, the user's map; and from a chosen column to a channel in SI units."""
