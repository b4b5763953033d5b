"""Signs by their shape: candidate characters for a crop, with reference forms, parts, look-alikes and own examples."""
