"""Shapes: candidate characters for a crop, and the forms of monograms and signatures compared."""
