"""Owns joints to tighten with their sourced value and what the tool showed; parts that sit in a vehicle, deviations, follow-ups, old parts.
Does not own the values (specifications).
Read models.py first."""
