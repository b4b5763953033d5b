"""Plain frozen values that cross rooms, and the error family.

Rank 0: nothing here imports another room or a third-party package (so that
``import readaid`` stays light). Each module owns one noun.
"""
