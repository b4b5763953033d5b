"""Timings and measures, printed, never asserted: ``python -m tests.bench [module ...]``."""
