"""Owns pictures: taken in, turned upright, cleaned, two sizes.
Does not own what they show (inspections, vehicles).
Read actions.py first."""
