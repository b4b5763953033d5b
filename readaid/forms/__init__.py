"""Drawn forms - monograms, signatures, single signs - made ready, laid on each other, counted, traced and compared."""
