"""Owns the index of the search box and hand-overs with their paper. Shows the vehicle book, the customer's sheet and the sheets on
which things are put right. Does not own anything else: it reads every room, and the verbs live in the rooms that own the records.
Read queries/visits.py first, then actions/index.py for the index and queries/hand_over.py for what the sheet says."""
