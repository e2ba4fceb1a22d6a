"""Owns joints to tighten with their sourced value, and what the tool showed.
Does not own the values (specifications).
Read models.py first."""
