"""From characters to ranked readings: search, layers, metre, reasons, known verses."""
