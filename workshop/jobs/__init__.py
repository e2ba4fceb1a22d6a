"""Owns the job card: complaints, roles, lines of work, access steps, holds.
Does not own findings (inspections), prices shown to a customer (quotes).
Read models.py first."""
