"""Owns pictures: taken in, turned upright, cleaned, two sizes; and clips, cleaned of notes.
Does not own what they show (inspections, vehicles).
Read actions.py first."""
