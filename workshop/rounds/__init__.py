"""Owns the walk-round list of the business, and each walk-round on a card with its rows.
Does not own findings (inspections).
Read models.py first."""
