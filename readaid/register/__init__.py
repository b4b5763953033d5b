"""The register: every record of a piece, every change to it, who made it and why.

Rank 3. ``store`` opens it, ``frames`` gives DataFrames, ``bag`` archives it; ``copies`` sends it to a second reader
and merges what comes back. pandas loads only when a frame is asked for.
"""
