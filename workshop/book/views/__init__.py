"""Pages: `books` of vehicles and customers and the search box, `handing` a vehicle over, `mending` of a card."""

from workshop.book.views.books import (
    party,
    party_details,
    party_merger,
    reading,
    reading_new,
    search,
    vehicle,
    vehicle_details,
    vehicle_merger,
)
from workshop.book.views.handing import hand_over, hand_over_paper, old_parts
from workshop.book.views.mending import cancellation, complaint, corrections, finding_move, offer_again, photo_move, strike

__all__ = [
    "cancellation",
    "complaint",
    "corrections",
    "finding_move",
    "hand_over",
    "hand_over_paper",
    "offer_again",
    "old_parts",
    "party",
    "party_details",
    "party_merger",
    "photo_move",
    "reading",
    "reading_new",
    "search",
    "strike",
    "vehicle",
    "vehicle_details",
    "vehicle_merger",
]
