"""Owns a vehicle, its owners over time, its meters and readings.
Does not own what is done to it (jobs).
Read models.py first."""
