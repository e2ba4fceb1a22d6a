"""Owns the index of the search box. Shows the vehicle book, the customer's sheet and the sheets on which things are put right.
Does not own anything else: it reads every room, and the verbs that put things right live in the rooms that own the records.
Read queries/visits.py first, then actions.py for the index."""
