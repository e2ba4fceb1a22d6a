"""Owns verify, backup, restore, bench.
Does not own business records.
Read verify.py first."""
