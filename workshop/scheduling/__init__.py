"""Owns stops (appointments of a card), the real kilometres of a day's round, and the calendar link.
Does not own the run sheet's page (driveway), the call-out rule (company), the sum (calc/travel.py).
Read models.py first."""
