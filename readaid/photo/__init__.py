"""Photographs: open, tile, scale, square up, views, relief from lights, columns and zones, tracing, aligning.

Conventions: arrays in, arrays out. Images are (height, width, 3) RGB, uint8 or uint16; points and boxes are (x, y)
and (x, y, width, height) in full-size image pixels after EXIF rotation, origin top-left.
"""
